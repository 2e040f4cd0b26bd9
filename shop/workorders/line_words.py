"""Lines of an order as words: what is to be done and why, what it costs, what was issued."""

from shop.models import OrderLine
from shop.workorders.totals import cents_by_urgency, line_cents, spoken_money
from shop.workorders.words import named

Kind, State = OrderLine.Kind, OrderLine.State


def line_rows(lines) -> dict:
    """Tasks, parts and other lines as rows of paper."""
    tasks = [line for line in lines if line.kind == Kind.TASK]
    parts = [line for line in lines if line.kind == Kind.PART]
    others = [line for line in lines if line.kind not in (Kind.TASK, Kind.PART)]
    return {
        "tasks": [
            [mark_of(line), str(n), words_with_reason(line), line.get_urgency_display(), money_of(line)] for n, line in enumerate(tasks, 1)
        ],
        "parts": [part_row(line) for line in parts],
        "others": [
            [mark_of(line), line.get_kind_display(), words_with_reason(line), f"{line.quantity.normalize():f}", money_of(line)]
            for line in others
        ],
        "steps": [[line.pk, line.task.name] for line in tasks if line.task_id],
    }


def quote_rows(lines) -> dict:
    """The lines in the three groups of a quote, each with why and how much, and the sums."""
    asked = [line for line in lines if line.state != State.NOT_DONE]
    sums = cents_by_urgency(asked)
    groups = [
        {
            "label": label,
            "rows": [
                [line.words, line.evidence or "–", f"{line.quantity.normalize():f}", money_of(line)]
                for line in asked
                if line.urgency == key
            ],
            "sum": spoken_money(sums[key]),
        }
        for key, label in OrderLine.Urgency.choices
    ]
    return {"quote": groups, "quote_sum": spoken_money(sum(sums.values()))}


def mark_of(line) -> str:
    return {State.DONE: "☑", State.NOT_DONE: "☒"}.get(line.state, "☐")


def money_of(line) -> str:
    return spoken_money(line_cents(line)) if line.price_each_cents else ""


def words_with_reason(line) -> str:
    words = line.words
    if line.task_id and line.task.cautions:
        words += f"\nCautions {' '.join(line.task.cautions)}"
    if line.evidence:
        words += f"\nBecause: {line.evidence}"
    if line.is_forced:
        words += "\nMust be done: debris was found"
    if line.state == State.NOT_DONE:
        words += f"\nNot done, because: {line.why_not}" + (f" (waived by {named(line.waived_by)})" if line.waived_by else "")
    return words


def part_row(line) -> list:
    moves = list(line.stock_moves.all())
    issued = -sum(move.quantity for move in moves if move.kind == "issued")
    returned = sum(move.quantity for move in moves if move.kind == "returned")
    core = spoken_money(line.part.core_charge_cents) if line.part and line.part.core_charge_cents else ""
    return [
        mark_of(line),
        line.words,
        f"{line.quantity.normalize():f}",
        f"{issued.normalize():f}" if moves else "",
        f"{returned.normalize():f}" if returned else "",
        core,
        money_of(line),
    ]

"""What the pages of an order show."""

from django.db.models import Q, Sum

from fleet.judged_hours import life_h_at
from fleet.models.base import folded
from shop.models import LabourEntry, OrderLine, WorkOrder
from shop.workorders.frozen import kept_of
from shop.workorders.intake import answers_of
from shop.workorders.moves import open_moves
from shop.workorders.next_due import next_due_rows
from shop.workorders.reading_rows import rows_of_test
from shop.workorders.snapshot import released_words, snapshot_of
from shop.workorders.totals import hours_by_kind, line_cents, order_cents, spoken_money


def listed_orders(which: str, words: str = ""):
    orders = WorkOrder.objects.select_related("machine", "customer")
    if which == "open":
        orders = orders.open()
    elif which in WorkOrder.State.values:
        orders = orders.filter(state=which)
    if words.strip():
        holds = folded(words)
        orders = orders.filter(
            Q(number__icontains=words.strip()) | Q(machine__search_text__contains=holds) | Q(customer__search_text__contains=holds)
        )
    return orders


def orders_with_all():
    """Orders with what their page names."""
    return WorkOrder.objects.select_related(
        "machine__site",
        "machine__customer",
        "customer",
        "unit__drive_model",
        "failure",
        "comeback_of",
        "supersedes",
        "superseded_by",
        "released_by",
        "waived_by",
        "cautions_seen_by",
    )


def quote_groups(order: WorkOrder) -> list[dict]:
    """The lines that are asked for, in three groups, each with its sum."""
    lines = [line for line in order.lines.select_related("task", "part") if line.state != line.State.NOT_DONE]
    for line in lines:
        line.cents = line_cents(line)
    labels = dict(OrderLine.Urgency.choices)
    groups = [{"key": key, "label": labels[key], "lines": [line for line in lines if line.urgency == key]} for key in labels]
    return [group | {"cents": sum(line.cents for line in group["lines"])} for group in groups]


def kept_words(order: WorkOrder, user=None) -> dict:
    """What an order prints: as kept at its release, else as it stands, in the units of the person who asks."""
    if order.frozen:
        return kept_of(order.frozen)
    tests = rows_of_test(order.unit, order.machine, user, order) if order.unit else {}
    return snapshot_of(order, tests, next_due_rows(order.machine))


def quote_words(order: WorkOrder) -> dict:
    """What the quote of an order prints: its lines, without the sheet of a test."""
    return kept_of(order.frozen) if order.frozen else snapshot_of(order)


def label_words(order: WorkOrder) -> dict:
    """What the label of an order prints: what is due next, and the hours at release."""
    if order.frozen:
        return kept_of(order.frozen)
    return {"next_due": next_due_rows(order.machine), "released_h": released_words(order, life_h_at(order.machine))}


def order_page(order: WorkOrder) -> dict:
    """Everything the page of one order shows, in a fixed number of questions."""
    lines = list(order.lines.select_related("task", "part", "waived_by").annotate(issued=-Sum("stock_moves__quantity")))
    for line in lines:
        line.cents, line.issued = line_cents(line), line.issued or 0
    labour = list(order.labour.select_related("technician"))
    moves = list(order.moves.select_related("recorded_by"))
    for move in moves:
        move.to_label = WorkOrder.State(move.to_state).label.lower()
    order.intake_answers = answers_of(order.intake)
    sums = hours_by_kind(labour)
    return {
        "order": order,
        "lines": lines,
        "total": spoken_money(order_cents(lines)),
        "labour": labour,
        "labour_sums": [(LabourEntry.Kind(kind).label, hours) for kind, hours in sums.items()],
        "attended": sum(sums.values()),
        "moves": moves,
        "next_moves": open_moves(order.state),
        "approvals": order.approvals.select_related("contact"),
        "papers": order.papers.all(),
        "held_parts": order.held_parts.all(),
    }

"""Lines of an order: where each one comes from, the kit a task takes, and what may be changed on it."""

from django.db.models import Max, Q

from shop.acts import act
from shop.models import Finding, KitItem, OrderLine, Part, ServiceTask, WorkOrder
from shop.parts.numbers import standing_part
from shop.refusals import Refused
from shop.roles import has_right
from shop.workorders.evidence import CALLS_NOW, cut, label_of, verdict_of, words_of_finding, words_of_reading

CHANGEABLE = ("words", "quantity", "price_each_cents", "urgency", "evidence", "state", "why_not", "part", "task")


def refuse_if_ended(order) -> None:
    """Refuse to touch an order that has ended, also if it ended after it was opened here; inside an act it then stays as it is until the end."""
    now = WorkOrder.objects.select_for_update().only("state", "number").get(pk=order.pk)
    if now.has_ended:
        raise Refused(
            f"{now.number} is {now.get_state_display().lower()}: it is corrected by a new order that takes its place, not changed."
        )


def next_position(order) -> int:
    return (order.lines.aggregate(last=Max("position"))["last"] or 0) + 1


def put_line(order, **fields) -> OrderLine:
    """Put one more line at the end."""
    fields["words"], fields["evidence"] = cut(fields["words"], 300), cut(fields.get("evidence", ""), 400)
    return OrderLine.objects.create(order=order, position=next_position(order), **fields)


def put_finding(order, finding: Finding) -> OrderLine:
    return put_line(
        order,
        words=finding.words,
        finding=finding,
        unit=finding.unit or order.unit,
        urgency=finding.urgency,
        evidence=words_of_finding(finding),
    )


def put_reading(order, reading) -> OrderLine:
    verdict = verdict_of(reading)
    urgency = OrderLine.Urgency.NOW if verdict and verdict.state in CALLS_NOW else OrderLine.Urgency.CAN_WAIT
    return put_line(
        order,
        words=f"Find the cause: {label_of(reading).lower()}",
        unit=reading.drive_test.unit,
        urgency=urgency,
        evidence=words_of_reading(reading),
    )


def put_task(order, task: ServiceTask, unit=None, evidence: str = "") -> OrderLine:
    """Put a task with the parts its kit calls for."""
    unit = unit or order.unit
    line = put_line(order, words=task.name, task=task, unit=unit, evidence=evidence)
    for item in kit_of(task, unit.drive_model if unit else None):
        put_part(order, standing_part(item.part), item.quantity, unit=unit, evidence=f"Kit of {task.name}")
    return line


def put_part(order, part: Part, quantity, unit=None, evidence: str = "") -> OrderLine:
    return put_line(
        order,
        kind=OrderLine.Kind.PART,
        words=str(part),
        part=part,
        quantity=quantity,
        price_each_cents=part.price_cents,
        unit=unit,
        evidence=evidence,
    )


def kit_of(task: ServiceTask, drive_model=None) -> list[KitItem]:
    """What a task takes on a drive model; what holds for every model comes with it."""
    wanted = Q(drive_model=None) | Q(drive_model=drive_model) if drive_model else Q(drive_model=None)
    return list(KitItem.objects.filter(wanted, task=task).select_related("part"))


def add_line(*, by, order, token: str = "", **fields) -> OrderLine:
    """Put a line on an order; a task brings its kit, a part its price and its standing number."""
    with act("add a line to an order", by=by, token=token) as frame:
        refuse_if_ended(order)
        if fields.get("task"):
            frame.made = put_task(order, fields["task"], fields.get("unit"), fields.get("evidence", ""))
        elif fields.get("part"):
            frame.made = put_part(
                order, standing_part(fields["part"]), fields.get("quantity", 1), fields.get("unit"), fields.get("evidence", "")
            )
        else:
            frame.made = put_line(order, **fields)
    return frame.made


def change_line(*, by, line: OrderLine, version: int, token: str = "", **fields) -> OrderLine:
    """Change a line somebody else may have open as well: the second to save is told."""
    unknown = set(fields) - set(CHANGEABLE)
    if unknown:
        raise ValueError(f"fields must be among {', '.join(CHANGEABLE)}, got {', '.join(sorted(unknown))}")
    with act("change a line of an order", by=by, token=token) as frame:
        refuse_if_ended(line.order)
        refuse_line(line, fields, by)
        for name, value in fields.items():
            setattr(line, name, value)
        if line.is_forced and line.state == OrderLine.State.NOT_DONE:
            line.waived_by = by
        line.save_over(version)
        frame.made = line
    return line


def refuse_line(line: OrderLine, fields: dict, by) -> None:
    state = fields.get("state", line.state)
    if state == OrderLine.State.NOT_DONE and not fields.get("why_not", line.why_not).strip():
        raise Refused(f"“{cut(line.words, 60)}” is not done: write why, so that the next person knows.")
    if state == OrderLine.State.NOT_DONE and line.is_forced and not has_right(by, "release orders"):
        raise Refused(f"“{cut(line.words, 60)}” must be done after debris; only a manager may waive it, by name and with a reason.")

"""Acts on an order from the call to the bench: opened, moved, its story written."""

from django.utils import timezone

from fleet.judged_hours import believed_hours
from shop.acts import act
from shop.models import Counter, OrderMove, WorkOrder
from shop.refusals import Refused
from shop.workorders.lines import put_finding, put_reading, put_task, refuse_if_ended
from shop.workorders.moves import move_refusal

STORY = (
    "complaint", "cause", "correction", "symptom", "promised_on", "is_warranty", "caller", "comeback_of", "comeback_answer",
)  # fmt: skip


def open_order(*, by, machine, unit=None, complaint="", findings=(), readings=(), tasks=(), token="", **intake) -> WorkOrder:
    """Open an order for a machine, with a line for each finding, reading and task.

    `tasks` holds service tasks, or tuples of a task with its unit and, if wanted, the sentence that says why it is due. `intake` may hold further
    fields of the order: caller, intake, symptom, promised_on, taken_in_at, life_h, is_warranty, comeback_of, comeback_answer.
    """
    with act("open an order", by=by, token=token) as frame:
        unit = unit or only_unit_of(machine)
        hours = believed_hours(machine)
        fields = {"taken_in_at": timezone.now(), "life_h": hours.life_h if hours else None} | intake
        order = WorkOrder.objects.create(
            number=Counter.next_number("order", "W"),
            machine=machine,
            customer=machine.customer,
            unit=unit,
            complaint=complaint,
            recorded_by=by,
            **fields,
        )
        OrderMove.objects.create(order=order, to_state=order.state, recorded_by=by)
        put_first_lines(order, findings, readings, tasks)
        frame.made = order
    return order


def put_first_lines(order, findings, readings, tasks) -> None:
    for finding in findings:
        put_finding(order, finding)
    for reading in readings:
        put_reading(order, reading)
    for entry in tasks:
        put_task(order, *(entry if isinstance(entry, tuple) else (entry,)))


def only_unit_of(machine):
    """The unit fitted, where just one is."""
    fitted = list(machine.installations.running().select_related("unit__drive_model")[:2])
    return fitted[0].unit if len(fitted) == 1 else None


def move_order(*, by, order, to: str, version: int, reason: str = "", token: str = "") -> WorkOrder:
    """Bring an order to another state, if it may go there from where it stands."""
    with act("move an order", by=by, reason=reason, token=token) as frame:
        refuse_move(order, to, reason)
        OrderMove.objects.create(order=order, from_state=order.state, to_state=to, reason=reason, recorded_by=by)
        order.state = to
        order.save_over(version)
        frame.made = order
    return order


def refuse_move(order, to: str, reason: str) -> None:
    refusal = move_refusal(order, to)
    if refusal:
        raise Refused(refusal)
    if to == WorkOrder.State.RELEASED:
        raise Refused("An order is released on its own page, where what is still open is shown.")
    if to == WorkOrder.State.CANCELLED and not reason.strip():
        raise Refused("Write why the order is cancelled.")


def write_story(*, by, order, version: int, token: str = "", **fields) -> WorkOrder:
    """Write complaint, cause, correction and what belongs to them; two people writing at once are told of each other."""
    unknown = set(fields) - set(STORY)
    if unknown:
        raise ValueError(f"fields must be among {', '.join(STORY)}, got {', '.join(sorted(unknown))}")
    with act("write the story of an order", by=by, token=token) as frame:
        refuse_if_ended(order)
        for name, value in fields.items():
            setattr(order, name, value)
        order.save_over(version)
        frame.made = order
    return order

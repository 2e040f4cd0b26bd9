"""A released order is never changed: a new one takes its place, with a reason, and passes through release again."""

from shop.acts import act
from shop.models import Counter, OrderLine, OrderMove, WorkOrder
from shop.refusals import Refused

COPIED = ("customer", "machine", "unit", "taken_in_at", "caller", "intake", "life_h", "complaint", "symptom", "cause", "correction", "promised_on",
          "is_warranty", "comeback_of", "comeback_answer", "failure", "test_waiver", "waived_by")  # fmt: skip
COPIED_LINE = ("position", "kind", "words", "task", "unit", "finding", "part", "quantity", "price_each_cents", "urgency", "evidence", "is_approved",
               "is_forced", "state", "why_not", "waived_by")  # fmt: skip


def supersede_order(*, by, order: WorkOrder, reason: str, token: str = "") -> WorkOrder:
    """Open an order in the place of a released one, at final test, with its words and lines to be put right."""
    with act("put a released order right", by=by, reason=reason, token=token) as frame:
        refuse_superseding(order, reason)
        new = WorkOrder.objects.create(
            number=Counter.next_number("order", "W"),
            state=WorkOrder.State.FINAL_TEST,
            supersedes=order,
            supersede_reason=reason.strip()[:300],
            recorded_by=by,
            **{name: getattr(order, name) for name in COPIED},
        )
        OrderLine.objects.bulk_create(
            OrderLine(order=new, **{name: getattr(line, name) for name in COPIED_LINE}) for line in order.lines.all()
        )
        OrderMove.objects.create(order=new, to_state=new.state, reason=f"Takes the place of {order.number}", recorded_by=by)
        frame.made = new
    return new


def refuse_superseding(order, reason: str) -> None:
    if order.state not in (WorkOrder.State.RELEASED, WorkOrder.State.COLLECTED):
        raise Refused(f"{order.number} is not released: change it as it is.")
    if WorkOrder.objects.filter(supersedes=order).exists():
        raise Refused(f"{order.number} has a successor already: {order.superseded_by.number}. Put that one right.")
    if not reason.strip():
        raise Refused("Write what was wrong: the reason stays on both orders.")

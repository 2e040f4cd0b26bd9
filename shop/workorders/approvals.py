"""The customer's approval: who, by which way, in which words, up to which sum; kept as given and never edited."""

from shop.acts import act
from shop.models import Approval, OrderLine
from shop.refusals import Refused
from shop.workorders.lines import refuse_if_ended
from shop.workorders.totals import line_cents, spoken_money


def record_approval(
    *, by, order, contact, channel: str, words: str, limit_cents: int, lines, given_at, refused=(), token: str = ""
) -> Approval:
    """Keep an approval of lines, or refuse it where the person may not approve so much."""
    with act("keep an approval", by=by, token=token) as frame:
        refuse_if_ended(order)
        lines = list(OrderLine.objects.select_for_update().filter(order=order, pk__in=[line.pk for line in lines]))
        refuse_approval(order, contact, lines, limit_cents, words)
        frame.made = Approval.objects.create(
            order=order,
            contact=contact,
            given_at=given_at,
            channel=channel,
            words=words,
            limit_cents=limit_cents,
            lines=[{"line": line.pk, "words": line.words, "cents": line_cents(line)} for line in lines],
            recorded_by=by,
        )
        answer_lines(order, lines, refused)
    return frame.made


def refuse_approval(order, contact, lines, limit_cents: int, words: str) -> None:
    """Raise `Refused` with every reason why this approval does not hold."""
    asked = sum(line_cents(line) for line in lines)
    before = approved_cents(order, contact, leaving_out=lines)
    reasons = []
    if contact.customer_id != order.customer_id:
        reasons.append(f"{contact.name} does not belong to {order.customer}.")
    if not contact.may_approve or contact.is_retired:
        reasons.append(f"{contact.name} may not approve work for {order.customer}; ask somebody who may.")
    if contact.approval_limit_cents is not None and before + asked > contact.approval_limit_cents:
        reasons.append(
            f"{contact.name} may approve up to {spoken_money(contact.approval_limit_cents)}; with what was approved before this comes to "
            f"{spoken_money(before + asked)}. Take lines away or ask somebody who may approve more."
        )
    if asked > limit_cents:
        reasons.append(f"The lines come to {spoken_money(asked)}, which is above the {spoken_money(limit_cents)} that was said.")
    if not words.strip():
        reasons.append("Write the exact words: they settle a dispute later.")
    if not lines:
        reasons.append("Pick the lines that were approved.")
    if reasons:
        raise Refused(*reasons)


def approved_cents(order, contact, leaving_out=()) -> int:
    """What a person approved on an order before, each line once."""
    known = {line.pk for line in leaving_out}
    seen = {}
    for approval in Approval.objects.filter(order=order, contact=contact):
        seen |= {row["line"]: row["cents"] for row in approval.lines if row["line"] not in known}
    return sum(seen.values())


def answer_lines(order, approved, refused) -> None:
    for line in approved:
        line.is_approved = True
        line.save_over(line.version)
    for line in OrderLine.objects.filter(order=order, pk__in=[row.pk for row in refused]).exclude(pk__in=[row.pk for row in approved]):
        line.is_approved = False
        line.save_over(line.version)

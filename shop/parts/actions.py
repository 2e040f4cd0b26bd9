"""Acts on the shelf: received, counted, issued to a line of an order, brought back."""

from decimal import Decimal

from django.db.models import Sum
from django.utils import timezone

from shop.acts import act
from shop.models import OrderLine, Part, StockMove
from shop.refusals import Refused

Kind = StockMove.Kind


def stock_of(part: Part) -> Decimal:
    return part.moves.aggregate(stock=Sum("quantity"))["stock"] or Decimal(0)


def put_move(part, kind, quantity, by, line=None, note="") -> StockMove:
    return StockMove.objects.create(
        part=part, kind=kind, quantity=quantity, order_line=line, moved_at=timezone.now(), note=note[:200], recorded_by=by
    )


def receive_part(*, by, part: Part, quantity: Decimal, note: str = "", token: str = "") -> StockMove:
    with act("receive parts", by=by, token=token) as frame:
        refuse_not_above_zero(quantity)
        frame.made = put_move(part, Kind.RECEIVED, quantity, by, note=note)
    return frame.made


def count_part(*, by, part: Part, counted: Decimal, note: str = "", token: str = "") -> StockMove:
    """Write what lies in the bin; the difference becomes a move, also where there is none, so that the count is on record."""
    with act("count parts", by=by, token=token) as frame:
        if counted < 0:
            raise Refused("A bin cannot hold fewer than none.")
        lock(part)
        frame.made = put_move(part, Kind.COUNTED, counted - stock_of(part), by, note=note or f"Counted {counted.normalize():f}")
    return frame.made


def issue_part(*, by, line: OrderLine, quantity: Decimal, token: str = "") -> StockMove:
    """Take parts off the shelf for a line of an order."""
    with act("issue parts", by=by, token=token) as frame:
        refuse_not_above_zero(quantity)
        refuse_ended(line)
        lock(line.part)
        there = stock_of(line.part)
        if quantity > there:
            raise Refused(
                f"{line.part.number}: {there.normalize():f} {line.part.unit} on the shelf, {quantity.normalize():f} wanted. "
                "Receive the parts or count the bin first."
            )
        frame.made = put_move(line.part, Kind.ISSUED, -quantity, by, line=line)
    return frame.made


def return_part(*, by, line: OrderLine, quantity: Decimal, note: str = "", token: str = "") -> StockMove:
    """Bring back what a line did not use; no more than was issued to it."""
    with act("bring parts back", by=by, token=token) as frame:
        refuse_not_above_zero(quantity)
        lock(line.part)
        out = issued_to(line)
        if quantity > out:
            raise Refused(
                f"{line.part.number}: {out.normalize():f} were issued to this line, so {quantity.normalize():f} cannot come back from it."
            )
        frame.made = put_move(line.part, Kind.RETURNED, quantity, by, line=line, note=note)
    return frame.made


def issued_to(line: OrderLine) -> Decimal:
    """What is out on a line: issued less brought back."""
    return -(line.stock_moves.aggregate(out=Sum("quantity"))["out"] or Decimal(0))


def refuse_not_above_zero(quantity: Decimal) -> None:
    if quantity <= 0:
        raise Refused("The number of parts must be above zero.")


def refuse_ended(line: OrderLine) -> None:
    if line.part is None:
        raise Refused("This line names no part.")
    line.order.refresh_from_db(fields=["state"])
    if line.order.has_ended:
        raise Refused(f"{line.order.number} is {line.order.get_state_display().lower()}: nothing is issued to it any more.")


def lock(part: Part) -> None:
    """Hold the part until the act ends, so that two people do not take the same last one."""
    Part.objects.select_for_update().get(pk=part.pk)

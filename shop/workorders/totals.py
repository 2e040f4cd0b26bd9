"""Sums of an order in whole cents, exact, and hours of labour by kind."""

from decimal import ROUND_HALF_UP, Decimal

from django.conf import settings

from calcs.thousands import MINUS, grouped
from shop.models import LabourEntry, OrderLine

GROUPS = OrderLine.Urgency


def cents(quantity: Decimal, each_cents: int) -> int:
    """A line's sum: half a cent is rounded up."""
    return int((Decimal(quantity) * each_cents).quantize(Decimal(1), rounding=ROUND_HALF_UP))


def line_cents(line: OrderLine) -> int:
    return cents(line.quantity, line.price_each_cents)


def counted_lines(lines) -> list[OrderLine]:
    """Lines that are charged: what was struck out or refused is not."""
    return [line for line in lines if line.state != OrderLine.State.NOT_DONE and line.is_approved is not False]


def order_cents(lines) -> int:
    return sum(line_cents(line) for line in counted_lines(lines))


def cents_by_urgency(lines) -> dict[str, int]:
    return {group: sum(line_cents(line) for line in lines if line.urgency == group) for group in GROUPS.values}


def spoken_money(amount: int | None) -> str:
    """Cents as a sum with the shop's currency."""
    if amount is None:
        return "–"
    sign = MINUS if amount < 0 else ""
    whole, part = divmod(abs(int(amount)), 100)
    return f"{sign}{grouped(whole, 0)}.{part:02d}\u00a0{settings.SHOP_CURRENCY}"


def read_cents(figure) -> int:
    """A sum as cents, from a decimal with at most two places."""
    return int((Decimal(figure) * 100).quantize(Decimal(1), rounding=ROUND_HALF_UP))


def hours_by_kind(entries) -> dict[str, Decimal]:
    """Hours of the entries that have ended, by kind, in hundredths; their sum is the attended time."""
    sums: dict[str, Decimal] = {}
    for entry in entries:
        if entry.ended_at:
            seconds = int((entry.ended_at - entry.started_at).total_seconds())
            sums[entry.kind] = sums.get(entry.kind, Decimal(0)) + Decimal(seconds)
    return {kind: (sums[kind] / 3600).quantize(Decimal("0.01"), rounding=ROUND_HALF_UP) for kind in LabourEntry.Kind.values if kind in sums}

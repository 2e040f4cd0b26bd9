"""What the pages of an order show."""

from django.db.models import Q

from fleet.models.base import folded
from shop.models import WorkOrder
from shop.workorders.moves import open_moves
from shop.workorders.reading_rows import rows_of_test
from shop.workorders.snapshot import snapshot_of
from shop.workorders.totals import hours_by_kind, line_cents, order_cents


def listed_orders(which: str, words: str = ""):
    orders = WorkOrder.objects.select_related("machine", "customer")
    if which == "open":
        orders = orders.open()
    elif which in WorkOrder.State.values:
        orders = orders.filter(state=which)
    if words.strip():
        holds = folded(words)
        orders = orders.filter(Q(number__icontains=words.strip()) | Q(machine__search_text__contains=holds) | Q(customer__search_text__contains=holds))
    return orders


def kept_words(order: WorkOrder, user=None) -> dict:
    """What an order prints: as kept at its release, else as it stands, in the units of the person who asks."""
    if order.frozen:
        return order.frozen
    return snapshot_of(order, rows_of_test(order.unit, order.machine, user, order) if order.unit else {})


def order_page(order: WorkOrder) -> dict:
    lines = list(order.lines.select_related("task", "part", "unit", "finding", "waived_by"))
    for line in lines:
        line.cents = line_cents(line)
    labour = list(order.labour.select_related("technician"))
    return {
        "order": order,
        "lines": lines,
        "total": order_cents(lines),
        "labour": labour,
        "labour_sums": hours_by_kind(labour),
        "moves": order.moves.select_related("recorded_by"),
        "next_moves": open_moves(order.state),
        "approvals": order.approvals.select_related("contact"),
        "papers": order.papers.all(),
        "visits": order.visits.all(),
    }

"""What the labels say."""

from django.conf import settings
from django.utils import timezone

from fleet.fluid_in_use import oil_in
from shop.printing.label import NextService, PartTag
from shop.workorders.next_due import next_due_rows
from shop.workorders.totals import spoken_money
from shop.workorders.words import hours_words, named


def label_of_order(order, kept: dict) -> NextService:
    """The next-service label: limits by hours and by day, the one that comes first in bold; for a released order as it was released."""
    rows = kept["next_due"] or ([] if order.frozen else next_due_rows(order.machine))
    due = tuple(
        (f"{row[0]} next: {' or '.join(part for part in (row[1], row[2]) if part and part != '–')}", place == 0)
        for place, row in enumerate(rows[:4])
    )
    day = timezone.localtime(order.released_at).date() if order.released_at else timezone.localdate()
    hours = kept.get("released_h") or hours_words(order.life_h)
    return NextService(
        f"{order.machine.number} {order.machine.model}",
        f"{day}, {hours}",
        due or (("Next service: ask the shop", True),),
        kept.get("oil") or oil_words(order.machine),
        order.number,
        settings.SHOP_PHONE,
    )


def oil_words(machine) -> str:
    """Product and grade of what is in; never just the word oil."""
    found = oil_in(machine)
    names = [f"{product} {product.viscosity_grade}".strip() if product else "not known" for product, _ in found.litres]
    return f"Oil: {' + '.join(names)}" if names else "Oil: not known"


def tag_of(held) -> PartTag:
    rows = [
        ("Machine", f"{held.order.machine.number}, serial {held.order.machine.serial}"),
        ("Customer", str(held.order.customer)),
        ("Taken off", f"{timezone.localtime(held.recorded_at).date()} by {named(held.recorded_by)}"),
        ("Kept at", held.place or "–"),
        ("Core charge", spoken_money(held.core_cents) if held.core_cents else "–"),
        ("Settled", f"{held.settled_words}" if held.settled_at else "open until settled"),
    ]
    return PartTag(held.tag, held.get_kind_display(), held.words, held.order.number, tuple(rows))

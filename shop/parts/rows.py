"""Parts as they are shown: what lies on the shelf, when it came, whether it is still good."""

from datetime import date

from django.db.models import Q

from calcs.calendar_sums import add_months
from fleet.models.base import folded
from shop.models import Part
from shop.parts.numbers import earlier_numbers, standing_part


def listed_parts(words: str = ""):
    parts = Part.objects.with_stock().select_related("superseded_by")
    return parts.filter(Q(search_text__contains=folded(words))) if words.strip() else parts


def oldest_good_until(part: Part, today: date) -> date | None:
    """Until when the oldest piece on the shelf is good, taking the first in as the first out; None where age does not matter or nothing lies there."""
    if not part.shelf_months:
        return None
    left, arrivals = 0, []
    for move in part.moves.order_by("moved_at", "pk"):
        left += move.quantity
        if move.quantity > 0:
            arrivals.append([move.moved_at.date(), move.quantity])
        else:
            take_oldest(arrivals, -move.quantity)
    return add_months(arrivals[0][0], part.shelf_months) if left > 0 and arrivals else None


def take_oldest(arrivals: list, quantity) -> None:
    while quantity > 0 and arrivals:
        taken = min(arrivals[0][1], quantity)
        arrivals[0][1] -= taken
        quantity -= taken
        if not arrivals[0][1]:
            arrivals.pop(0)


def part_page(part: Part, today: date) -> dict:
    moves = list(part.moves.select_related("order_line__order", "recorded_by").order_by("-moved_at", "-pk")[:100])
    good_until = oldest_good_until(part, today)
    return {
        "part": part,
        "moves": moves,
        "standing": standing_part(part),
        "earlier": earlier_numbers(part),
        "good_until": good_until,
        "is_too_old": good_until is not None and good_until < today,
        "kits": part.in_kits.select_related("task", "drive_model"),
    }

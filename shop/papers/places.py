"""Records that papers may lie beside, and where each is shown."""

from django.http import Http404
from django.shortcuts import get_object_or_404
from django.urls import NoReverseMatch, reverse

from shop.models import Paper
from shop.papers.actions import PLACES

SHOWN_WITH = {
    "order_line": ("order", "order_id"),
    "reading": ("drive", "drive_test.unit_id"),
    "drive_test": ("drive", "unit_id"),
    "unit": ("drive", "pk"),
    "sample": ("machine", "machine_id"),
}


def place_named(place: str, pk: int):
    """Return the record, or answer that there is none."""
    if place not in PLACES:
        raise Http404(f"Papers do not lie beside a {place}.")
    return get_object_or_404(Paper._meta.get_field(place).related_model, pk=pk)


def address_of(place: str, record) -> str:
    page, key = SHOWN_WITH.get(place, (place, "pk"))
    for step in key.split("."):
        record = getattr(record, step)
    try:
        return reverse(page, args=[record])
    except NoReverseMatch:
        return reverse("today")

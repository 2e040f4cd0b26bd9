"""The same drive back with the same complaint: asked about, and answered, before anybody calls it a new fault."""

from datetime import timedelta

from django.conf import settings
from django.db.models import Q

from shop.models import WorkOrder


def window() -> tuple[int, int]:
    """Days and hours within which the same complaint is asked about; common practice, no source."""
    return settings.SHOP_COMEBACK_DAYS, settings.SHOP_COMEBACK_HOURS


def likely_comebacks(unit, symptom: str, at, life_h=None, leaving_out=None):
    """Return released orders of the same unit with the same symptom within the window of days or of hours, latest first."""
    if unit is None or not symptom:
        return WorkOrder.objects.none()
    days, hours = window()
    near = Q(released_at__gte=at - timedelta(days=days))
    if life_h is not None:
        near |= Q(machine__installations__unit=unit, machine__installations__to_date=None, life_h__gte=life_h - hours)
    found = WorkOrder.objects.filter(near, unit=unit, symptom=symptom, released_at__isnull=False, released_at__lte=at, superseded_by=None)
    return (found.exclude(pk=leaving_out.pk) if leaving_out else found).order_by("-released_at").distinct()


def is_unanswered(order) -> bool:
    """Whether an order looks like a comeback and nobody has said if it is one."""
    if order.comeback_of_id or order.comeback_answer or order.supersedes_id:
        return False
    return likely_comebacks(order.unit, order.symptom, order.taken_in_at, order.life_h, leaving_out=order).exists()

"""Which machines a technician is booked for in the days to come."""

from datetime import timedelta

from django.utils import timezone

from shop.models import Booking
from shop.roles import TECHNICIAN, roles_of

DAYS_AHEAD = 14


def machines_of(user) -> set[int]:
    """Return the machines this technician is booked for; none for anybody else."""
    if TECHNICIAN not in roles_of(user):
        return set()
    today = timezone.localdate()
    near = Booking.objects.filter(
        technician__user=user,
        is_cancelled=False,
        week_start__gte=today - timedelta(days=6),
        week_start__lte=today + timedelta(days=DAYS_AHEAD),
    )
    return set(near.values_list("machine_id", flat=True))

"""A service visit: one call at one machine, with everything that was read, filled, done and found."""

from django.conf import settings
from django.db import models

from fleet.models import DriveTest, DriveUnit, FluidFill, HourReading, Machine, Reading
from fleet.models.base import Recorded


class VisitQuerySet(models.QuerySet):
    def of(self, machine):
        return self.filter(machine=machine)


class Visit(Recorded):
    number = models.CharField(max_length=20, unique=True)
    machine = models.ForeignKey(Machine, models.PROTECT, related_name="visits")
    visited_at = models.DateTimeField()
    visited_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    order = models.ForeignKey("shop.WorkOrder", models.PROTECT, null=True, blank=True, related_name="visits")
    hour_reading = models.ForeignKey(HourReading, models.PROTECT, null=True, blank=True, related_name="visits")
    life_h = models.DecimalField("machine life hours", max_digits=9, decimal_places=1)
    tests = models.ManyToManyField(DriveTest, related_name="visits", blank=True)
    fills = models.ManyToManyField(FluidFill, related_name="visits", blank=True)
    note = models.TextField(blank=True)

    objects = VisitQuerySet.as_manager()

    class Meta:
        ordering = ["-visited_at", "-pk"]

    def __str__(self):
        return f"Visit {self.number}"


class Finding(Recorded):
    """Something seen that may need work; it can become a line of an order."""

    class Urgency(models.TextChoices):
        NOW = "now", "Now"
        BEFORE_SEASON = "before_season", "Before season"
        CAN_WAIT = "can_wait", "Can wait"

    machine = models.ForeignKey(Machine, models.PROTECT, related_name="findings")
    unit = models.ForeignKey(DriveUnit, models.PROTECT, null=True, blank=True, related_name="findings")
    visit = models.ForeignKey(Visit, models.PROTECT, null=True, blank=True, related_name="findings")
    reading = models.ForeignKey(Reading, models.PROTECT, null=True, blank=True, related_name="findings")
    words = models.CharField("what was found", max_length=300)
    calls_task = models.ForeignKey(
        "shop.ServiceTask", models.PROTECT, null=True, blank=True, related_name="called_by", help_text="A task that this makes due at once"
    )
    sign = models.CharField(
        max_length=10,
        blank=True,
        choices=[
            ("indicator", "Restriction indicator up"),
            ("sample", "Oil sample outside its limits"),
            ("debris", "Debris on the cut-open filter"),
            ("foam", "Foam or water in the fluid"),
            ("failure", "A unit failed"),
        ],
    )
    oil_was_warm = models.BooleanField("seen at working temperature", default=True)
    urgency = models.CharField(max_length=14, choices=Urgency, default=Urgency.CAN_WAIT)
    closed_at = models.DateTimeField(null=True, blank=True)
    closing_words = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ["-pk"]

    def __str__(self):
        return self.words

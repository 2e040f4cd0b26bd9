"""Instruments that a reading was taken with, and their calibrations."""

from datetime import date

from django.db import models
from django.db.models import F, Q

from fleet.models.base import Recorded, Versioned, not_negative


class InstrumentQuerySet(models.QuerySet):
    def in_service(self):
        return self.filter(status=Instrument.Status.IN_SERVICE)


class Instrument(Versioned):
    class Kind(models.TextChoices):
        PRESSURE = "pressure", "Pressure gauge"
        FLOW = "flow", "Flow meter"
        TEMPERATURE = "temperature", "Thermometer"
        SPEED = "speed", "Tachometer"
        GROUND_SPEED = "ground_speed", "Ground-speed meter"
        TIME = "time", "Stopwatch"

    class Basis(models.TextChoices):
        SPAN = "span", "of span"
        READING = "reading", "of reading"

    class Status(models.TextChoices):
        IN_SERVICE = "in_service", "In use"
        AWAY = "away", "Away for calibration"
        WITHDRAWN = "withdrawn", "Withdrawn"

    tag = models.CharField(max_length=20, unique=True)
    kind = models.CharField(max_length=14, choices=Kind)
    maker = models.CharField(max_length=60, blank=True)
    serial = models.CharField(max_length=60, blank=True)
    span_low = models.FloatField("scale from", default=0)
    span_high = models.FloatField("scale to")
    unit = models.CharField(max_length=10)
    accuracy_class_pct = models.FloatField("class", null=True, blank=True, help_text="Per cent; blank where not known")
    accuracy_basis = models.CharField(max_length=8, choices=Basis, default=Basis.SPAN)
    resolution = models.FloatField("smallest step read", null=True, blank=True)
    location = models.CharField(max_length=60, blank=True)
    status = models.CharField(max_length=12, choices=Status, default=Status.IN_SERVICE)
    note = models.TextField(blank=True)

    objects = InstrumentQuerySet.as_manager()

    class Meta:
        ordering = ["tag"]
        constraints = [
            models.CheckConstraint(name="instrument_span_has_width", condition=Q(span_high__gt=F("span_low"))),
            *not_negative("instrument", "accuracy_class_pct", "resolution"),
        ]

    def __str__(self):
        return self.tag


class Calibration(Recorded):
    """One calibration: good until the due date, or failed from the last good one on."""

    class Result(models.TextChoices):
        GOOD = "good", "Within its class"
        FAILED = "failed", "Outside its class"

    instrument = models.ForeignKey(Instrument, models.PROTECT, related_name="calibrations")
    done_on = models.DateField()
    due_on = models.DateField()
    result = models.CharField(max_length=8, choices=Result, default=Result.GOOD)
    certificate = models.CharField(max_length=60, blank=True)
    found_bias = models.FloatField("bias as found", null=True, blank=True, help_text="Reading minus true value, in the instrument's unit")
    note = models.TextField(blank=True)

    class Meta:
        ordering = ["instrument_id", "done_on", "pk"]
        constraints = [models.CheckConstraint(name="calibration_due_after_done", condition=Q(due_on__gte=F("done_on")))]

    def __str__(self):
        return f"{self.instrument} {self.get_result_display().lower()} on {self.done_on}"

    def covers(self, day: date) -> bool:
        return self.result == self.Result.GOOD and self.done_on <= day <= self.due_on

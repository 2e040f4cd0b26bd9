"""Drive tests and their readings: the value as typed, the unit as typed, and the value in the house unit, with its own conditions."""

from django.conf import settings
from django.db import models
from django.db.models import Q

from calcs.quantities import QUANTITIES
from fleet.models.base import Standing, Supersedable, Versioned, correction_needs_reason, not_negative
from fleet.models.drives import DriveUnit
from fleet.models.fluids import FluidProduct
from fleet.models.instruments import Instrument
from fleet.models.machines import Machine


class DriveTest(Versioned):
    """One round of testing on one unit: who, when, at which hours, with which oil, under which conditions."""

    class Moment(models.TextChoices):
        ALONE = "alone", "On its own"
        BEFORE = "before", "Before repair"
        AFTER = "after", "After repair"

    class Origin(models.TextChoices):
        TYPED = "typed", "Typed"
        IMPORTED = "imported", "Imported from a file"

    number = models.CharField(max_length=20, unique=True)
    unit = models.ForeignKey(DriveUnit, models.PROTECT, related_name="tests")
    machine = models.ForeignKey(Machine, models.PROTECT, related_name="tests")
    tested_at = models.DateTimeField()
    tested_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    life_h = models.DecimalField("machine life hours", max_digits=9, decimal_places=1)
    component_h = models.DecimalField("component hours", max_digits=9, decimal_places=1)
    oil_temp_c = models.FloatField("oil temperature", null=True, blank=True)
    engine_speed_rpm = models.FloatField("engine speed", null=True, blank=True)
    ambient_c = models.FloatField("air temperature", null=True, blank=True)
    temperature_point = models.CharField("where the oil temperature was read", max_length=40, blank=True)
    fluid = models.ForeignKey(FluidProduct, models.PROTECT, null=True, blank=True, related_name="tests")
    drains = models.CharField("case drains as plumbed", max_length=10, blank=True)
    moment = models.CharField(max_length=8, choices=Moment, default=Moment.ALONE)
    origin = models.CharField(max_length=10, choices=Origin, default=Origin.TYPED)
    procedure_version = models.CharField(max_length=20, blank=True)
    note = models.TextField(blank=True)
    recorded_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ["unit_id", "tested_at", "pk"]
        get_latest_by = "tested_at"
        indexes = [models.Index(fields=["unit", "-tested_at"])]
        constraints = not_negative("drive_test", "life_h", "component_h", "engine_speed_rpm")

    def __str__(self):
        return f"Test {self.number}"


class ReadingQuerySet(Standing):
    def of(self, unit):
        return self.filter(drive_test__unit=unit)

    def by_hours(self):
        return self.order_by("drive_test__component_h", "drive_test__tested_at", "pk")

    def with_conditions(self):
        return self.select_related("drive_test__unit__drive_model", "drive_test__machine", "drive_test__fluid", "instrument")

    def with_verdicts(self):
        from fleet.models.conditions import ConditionAssessment

        current = models.Prefetch("assessments", ConditionAssessment.objects.in_force(), to_attr="verdicts")
        return self.with_conditions().prefetch_related(current)


class Reading(Supersedable):
    class Direction(models.TextChoices):
        NONE = "", "—"
        FORWARD = "forward", "Forward"
        REVERSE = "reverse", "Reverse"

    class Stability(models.TextChoices):
        STEADY = "steady", "Steady"
        HUNTING = "hunting", "Hunting"

    drive_test = models.ForeignKey(DriveTest, models.PROTECT, related_name="readings")
    quantity = models.CharField(max_length=30)
    direction = models.CharField(max_length=8, choices=Direction, default=Direction.NONE, blank=True)
    typed = models.CharField("value as typed", max_length=40)
    typed_unit = models.CharField("unit as typed", max_length=10)
    value = models.FloatField("value in the house unit")
    unit = models.CharField("house unit", max_length=10)
    repeats = models.JSONField("repeats in the house unit", default=list, blank=True)
    stability = models.CharField(max_length=8, choices=Stability, default=Stability.STEADY)
    instrument = models.ForeignKey(Instrument, models.PROTECT, null=True, blank=True, related_name="readings")
    port = models.CharField(max_length=10, blank=True)
    oil_temp_c = models.FloatField("oil temperature", null=True, blank=True)
    engine_speed_rpm = models.FloatField("engine speed", null=True, blank=True)
    loop_pressure_bar = models.FloatField("loop pressure", null=True, blank=True)
    case_pressure_bar = models.FloatField("case pressure", null=True, blank=True)
    taken_at = models.DateTimeField(null=True, blank=True)
    is_valid = models.BooleanField(default=True)
    invalid_reason = models.CharField(max_length=200, blank=True)
    note = models.CharField(max_length=300, blank=True)
    content_key = models.CharField(
        max_length=64, unique=True, null=True, blank=True, editable=False, help_text="Same row from a file meets itself here"
    )

    objects = ReadingQuerySet.as_manager()

    class Meta:
        ordering = ["drive_test_id", "pk"]
        indexes = [models.Index(fields=["quantity", "direction"])]
        constraints = [
            correction_needs_reason("reading"),
            models.CheckConstraint(name="invalid_reading_says_why", condition=Q(is_valid=True) | ~Q(invalid_reason="")),
            *not_negative("reading", "engine_speed_rpm"),
        ]

    def __str__(self):
        name = QUANTITIES[self.quantity].label if self.quantity in QUANTITIES else self.quantity
        return f"{name}{', ' if self.direction else ''}{self.direction} {self.typed} {self.typed_unit}"

    @property
    def at_oil_temp_c(self):
        return self.oil_temp_c if self.oil_temp_c is not None else self.drive_test.oil_temp_c

    @property
    def at_engine_speed_rpm(self):
        return self.engine_speed_rpm if self.engine_speed_rpm is not None else self.drive_test.engine_speed_rpm

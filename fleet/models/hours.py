"""Hour meters as segments, so that life hours stay exact when a meter is replaced, and what was read off them."""

from decimal import Decimal

from django.db import models
from django.db.models import F, Q

from fleet.models.base import Recorded, Standing, Supersedable, correction_needs_reason
from fleet.models.machines import Machine


class HourMeter(Recorded):
    """One meter on one machine, from fitting to replacement. Life hours = life hours at fitting + reading - reading at fitting."""

    class Kind(models.TextChoices):
        ENGINE = "engine", "Engine hours"
        DRIVE = "drive", "Drive hours"

    machine = models.ForeignKey(Machine, models.PROTECT, related_name="meters")
    kind = models.CharField(max_length=10, choices=Kind, default=Kind.ENGINE)
    fitted_on = models.DateField()
    start_meter_h = models.DecimalField("reading when fitted", max_digits=9, decimal_places=1, default=Decimal(0))
    start_life_h = models.DecimalField("life hours when fitted", max_digits=9, decimal_places=1, default=Decimal(0))
    ended_on = models.DateField(null=True, blank=True)
    end_meter_h = models.DecimalField("reading when taken off", max_digits=9, decimal_places=1, null=True, blank=True)
    end_reason = models.CharField("why replaced", max_length=200, blank=True)

    class Meta:
        ordering = ["machine_id", "kind", "fitted_on", "pk"]
        constraints = [
            models.UniqueConstraint(fields=["machine", "kind"], condition=Q(ended_on=None), name="one_running_meter_of_a_kind"),
            models.CheckConstraint(
                name="meter_end_not_before_start", condition=Q(end_meter_h=None) | Q(end_meter_h__gte=F("start_meter_h"))
            ),
            models.CheckConstraint(
                name="meter_end_is_complete",
                condition=Q(ended_on=None, end_meter_h=None, end_reason="")
                | (Q(ended_on__isnull=False, end_meter_h__isnull=False) & ~Q(end_reason="")),
            ),
            models.CheckConstraint(name="meter_hours_not_negative", condition=Q(start_meter_h__gte=0, start_life_h__gte=0)),
        ]

    def __str__(self):
        return f"{self.get_kind_display()} meter of {self.machine.number} from {self.fitted_on}"

    def life_h(self, meter_h: Decimal) -> Decimal:
        return self.start_life_h + meter_h - self.start_meter_h


class HourReadingQuerySet(Standing):
    def accepted(self):
        """Readings that hours may be worked out from."""
        return self.standing().filter(is_confirmed=True)

    def of(self, machine):
        return self.filter(meter__machine=machine)

    def latest_first(self):
        return self.order_by("-read_at", "-life_h", "-pk")


class HourReading(Supersedable):
    class Origin(models.TextChoices):
        TYPED = "typed", "Typed"
        PHOTO = "photo", "Read from a photo"
        IMPORTED = "imported", "Imported from a file"
        TELEMATICS = "telematics", "Telematics"

    meter = models.ForeignKey(HourMeter, models.PROTECT, related_name="readings")
    read_at = models.DateTimeField()
    meter_h = models.DecimalField("meter reading", max_digits=9, decimal_places=1)
    life_h = models.DecimalField("life hours", max_digits=9, decimal_places=1)
    typed = models.CharField(max_length=30)
    origin = models.CharField(max_length=12, choices=Origin, default=Origin.TYPED)
    is_confirmed = models.BooleanField(default=True)
    question = models.CharField(max_length=300, blank=True, help_text="Why the reading is doubted")

    objects = HourReadingQuerySet.as_manager()

    class Meta:
        ordering = ["meter_id", "read_at", "pk"]
        get_latest_by = "read_at"
        indexes = [models.Index(fields=["meter", "-read_at"])]
        constraints = [
            correction_needs_reason("hour_reading"),
            models.CheckConstraint(name="hour_reading_not_negative", condition=Q(meter_h__gte=0)),
            models.CheckConstraint(name="doubted_hours_say_why", condition=Q(is_confirmed=True) | ~Q(question="")),
        ]

    def __str__(self):
        return f"{self.meter_h} h on {self.read_at:%-d %b %Y}"

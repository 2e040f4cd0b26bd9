"""Failures: how the loss showed, what happened inside, why, and how it was found; not known is an answer."""

from django.db import models

from fleet.models.base import Recorded
from fleet.models.drives import DriveUnit
from fleet.models.machines import Machine


class Failure(Recorded):
    class Mode(models.TextChoices):
        NO_DRIVE = "no_drive", "No drive, both ways"
        NO_DRIVE_ONE_WAY = "no_drive_one_way", "No drive, one way"
        SLOW_HOT = "slow_hot", "Low speed or power, worse hot"
        JERKY = "jerky", "Jerky or hunting"
        NOISE = "noise", "Noise, cavitation"
        HOT = "hot", "Overheating"
        CREEP = "creep", "Creeps in neutral"
        LOW_CHARGE = "low_charge", "Low charge pressure"
        LEAK = "leak", "Leak to outside"
        CASE_PRESSURE = "case_pressure", "High case pressure"
        NO_RETURN = "no_return", "Does not stop or return"
        NO_HOLD = "no_hold", "Park or hold lost"
        OIL_REPORT = "oil_report", "Abnormal oil report"
        UNKNOWN = "unknown", "Not known"

    class Severity(models.TextChoices):
        SAFETY = "safety", "Safety"
        STOPS = "stops", "Stops work"
        REDUCES = "reduces", "Reduces work"
        COSMETIC = "cosmetic", "Cosmetic"

    class Evidence(models.TextChoices):
        SEEN = "seen", "Seen inside"
        MEASURED = "measured", "Measured"
        ASSUMED = "assumed", "Assumed"

    machine = models.ForeignKey(Machine, models.PROTECT, related_name="failures")
    unit = models.ForeignKey(DriveUnit, models.PROTECT, null=True, blank=True, related_name="failures")
    happened_at = models.DateTimeField()
    life_h = models.DecimalField(max_digits=9, decimal_places=1, null=True, blank=True)
    component_h = models.DecimalField(max_digits=9, decimal_places=1, null=True, blank=True)
    mode = models.CharField("what is seen", max_length=20, choices=Mode, default=Mode.UNKNOWN)
    mechanism = models.CharField("what happened inside", max_length=120, default="not known")
    cause = models.CharField("why", max_length=120, default="not known")
    detected_by = models.CharField("found by", max_length=120, default="not known")
    severity = models.CharField(max_length=10, choices=Severity, default=Severity.REDUCES)
    evidence = models.CharField(max_length=10, choices=Evidence, default=Evidence.ASSUMED)
    is_secondary = models.BooleanField("damage that followed from another failure", default=False)
    has_debris = models.BooleanField("debris found", default=False)
    remedy = models.CharField(max_length=120, blank=True)
    stopped_from = models.DateTimeField(null=True, blank=True)
    stopped_to = models.DateTimeField(null=True, blank=True)
    crop = models.CharField("crop or season", max_length=60, blank=True)

    class Meta:
        ordering = ["-happened_at", "-pk"]

    def __str__(self):
        return f"{self.get_mode_display()} on {self.machine}"

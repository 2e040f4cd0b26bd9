"""Oil samples and what a laboratory found in them; the laboratory's words and our own reading of them are kept apart."""

from django.db import models
from django.db.models import Q

from fleet.models.base import Recorded, not_negative
from fleet.models.machines import Machine


class OilSample(Recorded):
    label = models.CharField(max_length=30, unique=True)
    machine = models.ForeignKey(Machine, models.PROTECT, null=True, blank=True, related_name="samples")
    point = models.CharField("where it was drawn", max_length=60, blank=True)
    drawn_at = models.DateTimeField()
    life_h = models.DecimalField("machine life hours", max_digits=9, decimal_places=1, null=True, blank=True)
    oil_h = models.DecimalField("hours on the oil", max_digits=9, decimal_places=1, null=True, blank=True)
    topped_up_l = models.DecimalField("topped up since the last sample", max_digits=7, decimal_places=2, null=True, blank=True)
    laboratory = models.CharField(max_length=60, blank=True)
    laboratory_number = models.CharField(max_length=40, blank=True)
    laboratory_words = models.TextField(blank=True)
    unmatched_reason = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ["machine_id", "drawn_at", "pk"]
        constraints = [
            *not_negative("sample", "oil_h", "life_h"),
            models.CheckConstraint(name="unmatched_sample_says_why", condition=Q(machine__isnull=False) | ~Q(unmatched_reason="")),
        ]

    def __str__(self):
        return self.label


class LabValue(models.Model):
    """One figure of a laboratory; "<1" is kept as censored, never as 1 or 0."""

    sample = models.ForeignKey(OilSample, models.PROTECT, related_name="values")
    item = models.CharField(max_length=20)
    typed = models.CharField(max_length=30)
    value = models.FloatField(null=True, blank=True)
    unit = models.CharField(max_length=12, blank=True)
    is_below_limit = models.BooleanField(default=False)
    method = models.CharField(max_length=40, blank=True)

    class Meta:
        ordering = ["sample_id", "item"]
        constraints = [models.UniqueConstraint(fields=["sample", "item"], name="lab_item_once_per_sample")]

    def __str__(self):
        return f"{self.item} {self.typed}"

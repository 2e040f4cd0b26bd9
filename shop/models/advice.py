"""Advice: a suggestion that a change of state calls for; a person accepts or dismisses it with a word why."""

from django.conf import settings
from django.db import models
from django.db.models import Q

from fleet.models import DriveUnit, Instrument, Machine


class AdviceQuerySet(models.QuerySet):
    def open(self):
        """Suggestions nobody answered yet and whose reason still stands."""
        return self.filter(answered_at=None, withdrawn_at=None)

    def answered(self):
        return self.filter(answered_at__isnull=False)

    def with_places(self):
        return self.select_related("machine__customer", "unit__drive_model", "instrument", "answered_by", "order")


class Advice(models.Model):
    class Kind(models.TextChoices):
        REPEAT_TEST = "repeat_test", "Repeat the test"
        SAMPLE = "sample", "Draw an oil sample"
        PLAN_REPAIR = "plan_repair", "Plan the repair before the season"
        FIND_CAUSE = "find_cause", "Find the cause of the jump"
        CHECK_GAUGE = "check_gauge", "Check the gauge"

    machine = models.ForeignKey(Machine, models.PROTECT, null=True, blank=True, related_name="advice")
    unit = models.ForeignKey(DriveUnit, models.PROTECT, null=True, blank=True, related_name="advice")
    instrument = models.ForeignKey(Instrument, models.PROTECT, null=True, blank=True, related_name="advice")
    quantity = models.CharField(max_length=30, blank=True)
    kind = models.CharField(max_length=14, choices=Kind)
    reason = models.CharField(max_length=400)
    evidence_key = models.CharField(max_length=64, help_text="The same evidence does not raise the same advice again")
    evidence = models.JSONField("what it was read from", default=dict, blank=True)
    weight = models.FloatField("how much it presses", default=0)
    made_at = models.DateTimeField(auto_now_add=True)
    answered_at = models.DateTimeField(null=True, blank=True)
    answered_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, null=True, blank=True, related_name="+")
    is_accepted = models.BooleanField(null=True, blank=True)
    answer = models.CharField(max_length=200, blank=True)
    order = models.ForeignKey("shop.WorkOrder", models.PROTECT, null=True, blank=True, related_name="advice")
    withdrawn_at = models.DateTimeField("the reason no longer stands", null=True, blank=True)

    objects = AdviceQuerySet.as_manager()

    class Meta:
        ordering = ["-weight", "-pk"]
        constraints = [
            models.UniqueConstraint(fields=["evidence_key"], name="advice_once_per_evidence"),
            models.CheckConstraint(
                name="answered_advice_says_who_and_why",
                condition=Q(answered_at=None) | (Q(answered_by__isnull=False, is_accepted__isnull=False) & ~Q(answer="")),
            ),
        ]

    def __str__(self):
        return f"{self.get_kind_display()}: {self.reason}"

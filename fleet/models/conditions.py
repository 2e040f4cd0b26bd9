"""What a stored reading was judged to be, with the figures that judgement used; judged again, the old one stays."""

from django.db import models
from django.db.models import Q

from fleet.models.readings import Reading


class ConditionAssessmentQuerySet(models.QuerySet):
    def in_force(self):
        return self.filter(is_in_force=True)


class ConditionAssessment(models.Model):
    class State(models.TextChoices):
        INSIDE = "inside", "inside"
        UNDECIDED = "undecided", "undecided"
        OUTSIDE_LOW = "outside low", "outside low"
        OUTSIDE_HIGH = "outside high", "outside high"
        NOT_COMPARABLE = "not comparable", "not comparable"
        SUSPECT_INSTRUMENT = "suspect instrument", "suspect instrument"
        IMPOSSIBLE = "impossible", "impossible"

    reading = models.ForeignKey(Reading, models.PROTECT, related_name="assessments")
    state = models.CharField(max_length=20, choices=State)
    reason = models.CharField(max_length=500)
    expected = models.FloatField(null=True, blank=True)
    low = models.FloatField(null=True, blank=True)
    high = models.FloatField(null=True, blank=True)
    uncertainty = models.FloatField("expanded uncertainty, k = 2", null=True, blank=True)
    ratio = models.FloatField("reading over expected, worse is up", null=True, blank=True)
    limit_ratio = models.FloatField("ratio at which the deciding limit lies, worse is up", null=True, blank=True)
    referred = models.FloatField("referred to standard conditions", null=True, blank=True)
    decided_by = models.CharField(max_length=200, blank=True)
    working = models.JSONField(default=list, blank=True)
    edition = models.CharField("edition of the calculation", max_length=20)
    judged_at = models.DateTimeField(auto_now_add=True)
    is_in_force = models.BooleanField(default=True)

    objects = ConditionAssessmentQuerySet.as_manager()

    class Meta:
        ordering = ["reading_id", "pk"]
        constraints = [models.UniqueConstraint(fields=["reading"], condition=Q(is_in_force=True), name="one_assessment_in_force")]

    def __str__(self):
        return f"{self.reading}: {self.state}"

    @property
    def takes_part(self) -> bool:
        """Whether the reading may take part in trends and comparisons."""
        return self.ratio is not None and self.state not in (
            self.State.NOT_COMPARABLE,
            self.State.SUSPECT_INSTRUMENT,
            self.State.IMPOSSIBLE,
        )

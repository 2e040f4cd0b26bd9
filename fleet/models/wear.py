"""What the readings of the whole fleet say of wear: worked out by `review`, worked out again at any time, so not part of the change record."""

from django.db import models

from fleet.models.drives import DriveModel, DriveUnit


class WearGroup(models.Model):
    """One quantity of one drive model: what its units have in common, kept so that one new reading needs no new fit of the fleet."""

    worked_out_again = True

    drive_model = models.ForeignKey(DriveModel, models.PROTECT, related_name="wear_groups")
    quantity = models.CharField(max_length=30)
    numbers = models.JSONField("numbers of the fit")
    units = models.PositiveIntegerField(default=0)
    share_not_wearing = models.FloatField(null=True, blank=True)
    typical_life_h = models.FloatField(null=True, blank=True)
    forecasts_tried = models.PositiveIntegerField(default=0)
    forecasts_caught = models.PositiveIntegerField(default=0)
    reviewed_at = models.DateTimeField()

    class Meta:
        ordering = ["drive_model_id", "quantity"]
        constraints = [models.UniqueConstraint(fields=["drive_model", "quantity"], name="one_wear_group_of_a_quantity")]

    def __str__(self):
        return f"{self.quantity} of {self.drive_model}"


class WearStateQuerySet(models.QuerySet):
    def ranked(self):
        """Those with a limit ahead or behind, nearest first; a limit not in sight comes last, a state not known not at all."""
        return self.filter(has_basis=True).order_by(models.F("likely_h").asc(nulls_last=True), "unit__tag", "quantity", "direction")


class WearState(models.Model):
    """Where one unit stands in one quantity and direction since its present baseline began."""

    worked_out_again = True

    class State(models.TextChoices):
        WEARING = "wearing", "wearing"
        WATCH = "watch", "watch"
        STEADY = "steady", "steady"
        TOO_FEW = "too few readings", "too few readings"

    unit = models.ForeignKey(DriveUnit, models.PROTECT, related_name="wear_states")
    group = models.ForeignKey(WearGroup, models.PROTECT, related_name="states")
    quantity = models.CharField(max_length=30)
    direction = models.CharField(max_length=8, blank=True)
    began = models.CharField("how the baseline began", max_length=14)
    began_h = models.FloatField("component hours at which it began")
    readings = models.PositiveIntegerField(default=0)
    state = models.CharField(max_length=18, choices=State)
    level_ratio = models.FloatField(null=True, blank=True)
    last_ratio = models.FloatField(null=True, blank=True)
    slope_per_kh = models.FloatField(null=True, blank=True)
    p_wearing = models.FloatField(null=True, blank=True)
    weight_own = models.FloatField(null=True, blank=True)
    step_p = models.FloatField(null=True, blank=True)
    limit_ratio = models.FloatField(null=True, blank=True)
    limit_source = models.CharField(max_length=200, blank=True)
    has_basis = models.BooleanField(default=False)
    low_h = models.FloatField("hours to the limit, one in ten earlier", null=True, blank=True)
    likely_h = models.FloatField("hours to the limit, as likely earlier as later", null=True, blank=True)
    high_h = models.FloatField("hours to the limit, one in ten later", null=True, blank=True)
    last_component_h = models.FloatField()
    last_tested_on = models.DateField()
    reviewed_at = models.DateTimeField()

    objects = WearStateQuerySet.as_manager()

    class Meta:
        ordering = ["unit_id", "quantity", "direction"]
        constraints = [models.UniqueConstraint(fields=["unit", "quantity", "direction"], name="one_wear_state_of_a_quantity")]

    def __str__(self):
        return f"{self.unit} {self.quantity} {self.direction}: {self.state}"

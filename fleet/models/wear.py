"""What the readings of the whole fleet say of wear: worked out by `review`, worked out again at any time, so not part of the change record."""

from django.db import models
from django.db.models import Window
from django.db.models.functions import RowNumber

from fleet.models.drives import DriveModel, DriveUnit
from fleet.models.instruments import Instrument
from fleet.models.machines import Machine

REPEAT_P = 0.01  # chance of so high a reading below which the test is repeated the same day
MATERIAL_SHARE = 0.25  # share of the way from new to the limit that a reading must stand at to be worth repeating, a shop setting


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
    def leading(self):
        """The state that speaks for its unit: jumped or wearing before watch before steady, then the nearest limit; one not known never does."""
        gravity = models.Case(
            models.When(state__in=("jumped", "wearing"), then=0),
            models.When(state="watch", then=1),
            models.When(state="steady", then=2),
            default=3,
        )
        known = self.filter(has_basis=True).annotate(gravity=gravity)
        order = [models.F("gravity").asc(), models.F("likely_h").asc(nulls_last=True), models.F("pk").asc()]
        return known.annotate(place=Window(RowNumber(), partition_by=[models.F("unit_id")], order_by=order)).filter(place=1)


class WearState(models.Model):
    """Where one unit stands in one quantity and direction since its present baseline began."""

    worked_out_again = True

    class State(models.TextChoices):
        JUMPED = "jumped", "jumped"
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
    jump_from_h = models.FloatField("component hours of the last reading before a jump", null=True, blank=True)
    jump_to_h = models.FloatField("component hours of the first reading after it", null=True, blank=True)
    jump_on = models.DateField("day of the first reading after it", null=True, blank=True)
    jump_ratio = models.FloatField("level after the jump over the level before", null=True, blank=True)
    shift = models.ForeignKey("WearShift", models.SET_NULL, null=True, blank=True, related_name="states")
    last_component_h = models.FloatField()
    last_tested_on = models.DateField()
    reviewed_at = models.DateTimeField()

    objects = WearStateQuerySet.as_manager()

    class Meta:
        ordering = ["unit_id", "quantity", "direction"]
        constraints = [models.UniqueConstraint(fields=["unit", "quantity", "direction"], name="one_wear_state_of_a_quantity")]

    def __str__(self):
        return f"{self.unit} {self.quantity} {self.direction}: {self.state}"

    @property
    def has_jumped(self) -> bool:
        return self.jump_on is not None

    @property
    def is_off(self) -> bool:
        """Whether the newest reading stands higher than its own past foretells, by enough to matter."""
        if self.step_p is None or self.step_p >= REPEAT_P or self.last_ratio is None or not self.limit_ratio:
            return False
        return self.last_ratio - 1 >= MATERIAL_SHARE * (self.limit_ratio - 1)

    @property
    def asks_for_repeat(self) -> bool:
        """Whether the test is to be repeated: its newest reading is off, and neither a known jump nor a shift of many drives explains it."""
        return self.is_off and self.shift_id is None and not self.has_jumped


class WearShift(models.Model):
    """Many drives that jumped together about one date: one shift of a gauge, an oil or a habit, not many worn drives."""

    worked_out_again = True

    quantity = models.CharField(max_length=30)
    from_on = models.DateField()
    to_on = models.DateField()
    units = models.PositiveIntegerField()
    mean_score = models.FloatField("mean normal score of the drives tested then")
    instrument = models.ForeignKey(Instrument, models.PROTECT, null=True, blank=True, related_name="wear_shifts")

    class Meta:
        ordering = ["-from_on", "quantity"]
        constraints = [models.UniqueConstraint(fields=["quantity", "from_on"], name="one_wear_shift_of_a_date")]

    def __str__(self):
        return f"{self.units} readings of {self.quantity} shifted about {self.from_on}"


OFF_SHARE, OFF_DEVIATIONS, FEWEST_WITH_GAUGE = 0.02, 4.0, 10  # shop settings


class WearGauge(models.Model):
    """How far one gauge reads off in one quantity against all others, solved over the whole fleet."""

    worked_out_again = True

    quantity = models.CharField(max_length=30)
    instrument = models.ForeignKey(Instrument, models.PROTECT, related_name="wear_offsets")
    offset = models.FloatField("share of the reading, worse up")
    uncertainty = models.FloatField("standard uncertainty of the offset")
    readings = models.PositiveIntegerField()
    reviewed_at = models.DateTimeField()

    class Meta:
        ordering = ["instrument_id", "quantity"]
        constraints = [models.UniqueConstraint(fields=["quantity", "instrument"], name="one_wear_offset_of_a_gauge")]

    def __str__(self):
        return f"{self.instrument} in {self.quantity}: {self.offset:+.1%}"

    @property
    def is_suspect(self) -> bool:
        """Whether so large an offset is beyond chance and large enough to matter."""
        return abs(self.offset) > max(OFF_SHARE, OFF_DEVIATIONS * self.uncertainty) and self.readings >= FEWEST_WITH_GAUGE


class MetalGroup(models.Model):
    """One wear metal in one drive model: the usual rate, where a rate leaves the company of the fleet, and what the fit keeps."""

    worked_out_again = True

    drive_model = models.ForeignKey(DriveModel, models.PROTECT, related_name="metal_groups")
    metal = models.CharField(max_length=4)
    numbers = models.JSONField("numbers of the fit")
    machines = models.PositiveIntegerField(default=0)
    usual_rate = models.FloatField("usual rate, ppm in 100 h")
    caution_rate = models.FloatField(null=True, blank=True)
    critical_rate = models.FloatField(null=True, blank=True)
    limit_form = models.CharField(max_length=12, blank=True)
    reviewed_at = models.DateTimeField()

    class Meta:
        ordering = ["drive_model_id", "metal"]
        constraints = [models.UniqueConstraint(fields=["drive_model", "metal"], name="one_metal_group_of_a_model")]

    def __str__(self):
        return f"{self.metal} of {self.drive_model}"


CLIMBS, APART = ("wearing", "watch"), ("caution", "critical")
WELL_ABOVE = 1.25  # a rate less above the usual one than this is not worth a word, a shop setting


class MetalStateQuerySet(models.QuerySet):
    def rising(self):
        """Metals that are a sign of wear of their own: they climb and lie where their kin do not, or, without kin enough, well above the usual."""
        apart = models.Q(state__in=CLIMBS, alarm__in=APART)
        alone = models.Q(state=WearState.State.WEARING, alarm="", level_ratio__gte=WELL_ABOVE)
        return self.filter(apart | alone).order_by("machine_id", "pk")


class MetalState(models.Model):
    """How fast one machine's drives make one wear metal, against its kin, since the drive that is in it now was fitted or rebuilt."""

    worked_out_again = True

    machine = models.ForeignKey(Machine, models.PROTECT, related_name="metal_states")
    group = models.ForeignKey(MetalGroup, models.PROTECT, related_name="states")
    metal = models.CharField(max_length=4)
    samples = models.PositiveIntegerField(default=0)
    state = models.CharField(max_length=18, choices=WearState.State)
    alarm = models.CharField("against the fleet", max_length=8, blank=True)
    rate = models.FloatField("latest rate, ppm in 100 h", null=True, blank=True)
    level_ratio = models.FloatField("rate on the line over the usual rate", null=True, blank=True)
    p_wearing = models.FloatField(null=True, blank=True)
    last_life_h = models.FloatField("machine life hours of the latest sample")
    last_drawn_on = models.DateField()
    reviewed_at = models.DateTimeField()

    objects = MetalStateQuerySet.as_manager()

    class Meta:
        ordering = ["machine_id", "metal"]
        constraints = [models.UniqueConstraint(fields=["machine", "metal"], name="one_metal_state_of_a_machine")]

    def __str__(self):
        return f"{self.metal} in {self.machine}: {self.state}"

    @property
    def rises(self) -> bool:
        """The rule of `rising`, for one row."""
        is_alone = self.state == WearState.State.WEARING and not self.alarm and (self.level_ratio or 0) >= WELL_ABOVE
        return is_alone or (self.state in CLIMBS and self.alarm in APART)

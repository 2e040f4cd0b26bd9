"""Drive models with every maker's figure and where it stands; drive units as serialised components; where each unit was fitted and what befell it."""

from django.db import models
from django.db.models import F, Q

from fleet.models.base import Recorded, Versioned, above_zero, folded, not_negative, serial_key
from fleet.models.machines import Machine


class Document(models.Model):
    """A paper that figures are taken from, at one revision."""

    title = models.CharField(max_length=160)
    number = models.CharField(max_length=60, blank=True)
    revision = models.CharField(max_length=20)

    class Meta:
        ordering = ["title", "revision"]
        constraints = [models.UniqueConstraint(fields=["title", "number", "revision"], name="document_once")]

    def __str__(self):
        return " ".join(part for part in (self.title, self.number, f"rev. {self.revision}") if part)


class DriveModel(Versioned):
    """One kind of closed-loop drive: pump, motor or motors, charge circuit and relief settings. Figures not known are blank, never guessed."""

    class Circuit(models.TextChoices):
        SINGLE = "single", "Single path"
        DUAL = "dual", "Dual path, one loop a side"

    class Drains(models.TextChoices):
        SEPARATE = "separate", "Pump and motor drain apart"
        SERIES = "series", "Motor case through pump case to tank"

    code = models.CharField(max_length=30, unique=True)
    maker = models.CharField(max_length=60)
    circuit = models.CharField(max_length=8, choices=Circuit, default=Circuit.SINGLE)
    drains = models.CharField("case drains", max_length=10, choices=Drains, default=Drains.SEPARATE)
    pump_displacement_cc = models.FloatField("pump displacement, full")
    pump_pistons = models.PositiveSmallIntegerField("pump pistons", null=True, blank=True)
    pump_bore_mm = models.FloatField("pump piston bore", null=True, blank=True)
    pump_pitch_circle_mm = models.FloatField("pump pitch circle", null=True, blank=True)
    pump_angle_max_deg = models.FloatField("plate angle, full", null=True, blank=True)
    motor_displacement_max_cc = models.FloatField("motor displacement, most")
    motor_displacement_min_cc = models.FloatField("motor displacement, least")
    motors_per_pump = models.PositiveSmallIntegerField("motors on the loop", default=1)
    pump_speed_ratio = models.FloatField("pump turns an engine turn", default=1)
    charge_displacement_cc = models.FloatField("charge pump displacement", null=True, blank=True)
    charge_speed_ratio = models.FloatField("charge pump turns an engine turn", default=1)
    charge_volumetric_efficiency = models.FloatField("charge pump volumetric efficiency, new", null=True, blank=True)
    charge_relief_bar = models.FloatField("charge relief setting above case", null=True, blank=True)
    charge_rise_bar_per_lpm = models.FloatField("charge relief rise a litre a minute", null=True, blank=True)
    flushing_relief_bar = models.FloatField("flushing relief setting", null=True, blank=True)
    flushing_flow_lpm = models.FloatField("flushing flow when stroked", null=True, blank=True)
    servo_flow_lpm = models.FloatField("control and servo flow", null=True, blank=True)
    relief_forward_bar = models.FloatField("main relief forward, above charge", null=True, blank=True)
    relief_reverse_bar = models.FloatField("main relief reverse, above charge", null=True, blank=True)
    pump_volumetric_efficiency = models.FloatField("pump volumetric efficiency, new", null=True, blank=True)
    motor_volumetric_efficiency = models.FloatField("motor volumetric efficiency, new", null=True, blank=True)
    pump_hydromechanical_efficiency = models.FloatField("pump hydromechanical efficiency, new", null=True, blank=True)
    motor_hydromechanical_efficiency = models.FloatField("motor hydromechanical efficiency, new", null=True, blank=True)
    efficiency_at_speed_rpm = models.FloatField("efficiencies stated at speed", null=True, blank=True)
    efficiency_at_pressure_bar = models.FloatField("efficiencies stated at pressure", null=True, blank=True)
    efficiency_at_viscosity_mm2s = models.FloatField("efficiencies stated at viscosity", null=True, blank=True)
    case_pressure_limit_bar = models.FloatField("case pressure limit", null=True, blank=True)
    charge_inlet_limit_bar = models.FloatField("least charge inlet pressure, absolute", null=True, blank=True)
    system_oil_l = models.FloatField("oil in the whole system", null=True, blank=True)
    test_oil_low_c = models.FloatField("test oil temperature from", null=True, blank=True)
    test_oil_high_c = models.FloatField("test oil temperature to", null=True, blank=True)
    has_brake_release = models.BooleanField("brake release on charge oil", default=False)
    note = models.TextField(blank=True)

    class Meta:
        ordering = ["code"]
        constraints = [
            models.CheckConstraint(
                name="motor_least_not_above_most", condition=Q(motor_displacement_min_cc__lte=F("motor_displacement_max_cc"))
            ),
            *above_zero("drive_model", "pump_displacement_cc", "motor_displacement_min_cc", "pump_speed_ratio", "system_oil_l"),
            *not_negative("drive_model", "charge_relief_bar", "relief_forward_bar", "relief_reverse_bar", "flushing_flow_lpm"),
            models.CheckConstraint(
                name="efficiencies_are_shares",
                condition=(Q(pump_volumetric_efficiency=None) | Q(pump_volumetric_efficiency__gt=0, pump_volumetric_efficiency__lte=1))
                & (Q(motor_volumetric_efficiency=None) | Q(motor_volumetric_efficiency__gt=0, motor_volumetric_efficiency__lte=1)),
            ),
        ]

    def __str__(self):
        return self.code

    @property
    def is_dual(self) -> bool:
        return self.circuit == self.Circuit.DUAL

    def source_of(self, figure: str):
        """Return where `figure` stands, or None."""
        return next((source for source in self.sources.all() if source.figure == figure), None)


class FigureSource(models.Model):
    """The document and page that one figure of a drive model was taken from."""

    drive_model = models.ForeignKey(DriveModel, models.PROTECT, related_name="sources")
    figure = models.CharField(max_length=60)
    document = models.ForeignKey(Document, models.PROTECT, related_name="figures")
    page = models.CharField(max_length=20)

    class Meta:
        ordering = ["drive_model_id", "figure"]
        constraints = [models.UniqueConstraint(fields=["drive_model", "figure"], name="one_source_per_figure")]

    def __str__(self):
        return f"{self.document} p. {self.page}"


class Port(Versioned):
    """A place to put a gauge: its stamp, thread, what it measures and which gauge suits it."""

    drive_model = models.ForeignKey(DriveModel, models.PROTECT, related_name="ports")
    code = models.CharField(max_length=10)
    name = models.CharField(max_length=60)
    thread = models.CharField(max_length=40, blank=True)
    quantity = models.CharField("what it measures", max_length=30)
    gauge_span_bar = models.FloatField(null=True, blank=True)
    walk_order = models.PositiveSmallIntegerField(default=1, help_text="Order of walking round the machine")

    class Meta:
        ordering = ["drive_model_id", "walk_order", "code"]
        constraints = [models.UniqueConstraint(fields=["drive_model", "code", "quantity"], name="port_measures_once")]

    def __str__(self):
        return f"{self.code} {self.name}"


class AcceptanceRule(models.Model):
    """What a maker accepts for one quantity, under stated conditions. A rule without document and page cannot decide."""

    class Form(models.TextChoices):
        BAND = "band", "Band by direction"
        NOMINAL = "nominal", "Nominal with tolerance"
        MAXIMUM = "maximum", "Not above"
        MINIMUM = "minimum", "Not below"
        SHARE_OF_NEUTRAL = "share_of_neutral", "Share of own neutral reading"
        GREATEST_DROP = "greatest_drop", "Greatest drop"
        THREE_CLASSES = "three_classes", "Good, marginal, faulty"
        MEAN_OVER_POSITIONS = "mean_over_positions", "Mean over positions"
        LOADED_RATIO = "loaded_ratio", "Loaded over unloaded"
        NO_MOTION = "no_motion", "No motion"

    class Direction(models.TextChoices):
        EITHER = "", "Either"
        FORWARD = "forward", "Forward"
        REVERSE = "reverse", "Reverse"

    drive_model = models.ForeignKey(DriveModel, models.PROTECT, related_name="acceptance_rules")
    quantity = models.CharField(max_length=30)
    direction = models.CharField(max_length=8, choices=Direction, default=Direction.EITHER, blank=True)
    form = models.CharField(max_length=20, choices=Form)
    low = models.FloatField(null=True, blank=True, help_text="Lower figure, in the quantity's own unit")
    high = models.FloatField(null=True, blank=True, help_text="Upper figure, in the quantity's own unit")
    nominal = models.FloatField(null=True, blank=True)
    tolerance = models.FloatField(null=True, blank=True)
    share = models.FloatField(null=True, blank=True, help_text="0.80 for eighty per cent")
    oil_low_c = models.FloatField("oil from", null=True, blank=True)
    oil_high_c = models.FloatField("oil to", null=True, blank=True)
    speed_low_rpm = models.FloatField("engine from", null=True, blank=True)
    speed_high_rpm = models.FloatField("engine to", null=True, blank=True)
    pressure_bar = models.FloatField("at loop pressure", null=True, blank=True)
    document = models.ForeignKey(Document, models.PROTECT, null=True, blank=True, related_name="acceptance_rules")
    page = models.CharField(max_length=20, blank=True)
    is_retired = models.BooleanField(default=False)

    class Meta:
        ordering = ["drive_model_id", "quantity", "direction", "pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["drive_model", "quantity", "direction"], condition=Q(is_retired=False), name="one_rule_in_force"
            ),
            models.CheckConstraint(name="rule_band_in_order", condition=Q(low=None) | Q(high=None) | Q(low__lte=F("high"))),
            models.CheckConstraint(
                name="rule_has_figures_of_its_form",
                condition=Q(form="band", low__isnull=False, high__isnull=False)
                | Q(form="nominal", nominal__isnull=False, tolerance__isnull=False)
                | Q(form__in=["maximum", "greatest_drop", "mean_over_positions"], high__isnull=False)
                | Q(form="minimum", low__isnull=False)
                | Q(form__in=["share_of_neutral", "loaded_ratio"], share__isnull=False)
                | Q(form="three_classes", low__isnull=False, high__isnull=False)
                | Q(form="no_motion"),
            ),
        ]

    def __str__(self):
        return f"{self.get_form_display()} for {self.quantity} of {self.drive_model}"

    @property
    def has_source(self) -> bool:
        return self.document_id is not None and bool(self.page)

    @property
    def source(self) -> str:
        return f"{self.document}, p. {self.page}" if self.has_source else ""


class DriveUnitQuerySet(models.QuerySet):
    def naming(self, text: str):
        return self.filter(Q(search_text__contains=folded(text)) | Q(serial_key__contains=serial_key(text) or "-"))

    def with_place(self):
        """With the model, and with the running installation, machine and owner as `places`."""
        running = models.Prefetch(
            "installations", Installation.objects.running().select_related("machine__customer", "machine__site"), to_attr="places"
        )
        return self.select_related("drive_model").prefetch_related(running)


class DriveUnit(Versioned):
    """One serialised drive: a pump with its motor or motors on one loop. It may move between machines; its hours move with it."""

    class Birth(models.TextChoices):
        NEW = "new", "New"
        REBUILT = "rebuilt", "Rebuilt"
        USED = "used", "Used, history not known"

    class Keeping(models.TextChoices):
        STORE = "in_store", "In store"
        REPAIR = "at_repair", "At repair"
        LOAN = "on_loan", "On loan"
        SCRAPPED = "scrapped", "Scrapped"

    tag = models.CharField("shop tag", max_length=20, unique=True)
    serial = models.CharField(max_length=60)
    serial_key = models.CharField(max_length=60, editable=False)
    drive_model = models.ForeignKey(DriveModel, models.PROTECT, related_name="units")
    birth = models.CharField(max_length=8, choices=Birth, default=Birth.NEW)
    born_on = models.DateField("made or rebuilt on", null=True, blank=True)
    hours_at_birth_h = models.DecimalField("hours before our record", max_digits=9, decimal_places=1, default=0)
    keeping = models.CharField("when not fitted", max_length=10, choices=Keeping, default=Keeping.STORE)
    warranty_to = models.DateField(null=True, blank=True)
    warranty_to_h = models.DecimalField("warranty to component hours", max_digits=9, decimal_places=1, null=True, blank=True)
    warranty_payer = models.CharField(max_length=60, blank=True)
    core_value_cents = models.PositiveBigIntegerField(null=True, blank=True)
    note = models.TextField(blank=True)
    search_text = models.CharField(max_length=200, editable=False, default="")

    objects = DriveUnitQuerySet.as_manager()

    class Meta:
        ordering = ["tag"]
        constraints = [
            models.UniqueConstraint(fields=["drive_model", "serial_key"], name="drive_serial_once_per_model"),
            models.CheckConstraint(name="drive_hours_at_birth_not_negative", condition=Q(hours_at_birth_h__gte=0)),
        ]

    def __str__(self):
        return f"{self.tag} ({self.serial})"

    def save(self, *args, **kwargs):
        self.serial_key = serial_key(self.serial)
        self.search_text = folded(self.tag, self.serial)[:200]
        super().save(*args, **kwargs)


class InstallationQuerySet(models.QuerySet):
    def running(self):
        return self.filter(to_date=None)

    def on(self, day):
        return self.filter(Q(to_date=None) | Q(to_date__gte=day), from_date__lte=day)


class Installation(Recorded):
    """A unit in a machine from one life-hour figure of the machine to another."""

    class Position(models.TextChoices):
        MAIN = "main", "Main drive"
        LEFT = "left", "Left"
        RIGHT = "right", "Right"
        FRONT = "front", "Front"
        REAR = "rear", "Rear"

    unit = models.ForeignKey(DriveUnit, models.PROTECT, related_name="installations")
    machine = models.ForeignKey(Machine, models.PROTECT, related_name="installations")
    position = models.CharField(max_length=8, choices=Position, default=Position.MAIN)
    from_date = models.DateField()
    from_life_h = models.DecimalField("machine life hours when fitted", max_digits=9, decimal_places=1)
    to_date = models.DateField(null=True, blank=True)
    to_life_h = models.DecimalField("machine life hours when taken out", max_digits=9, decimal_places=1, null=True, blank=True)
    reason = models.CharField("why fitted", max_length=200, blank=True)
    removal_reason = models.CharField("why taken out", max_length=200, blank=True)

    objects = InstallationQuerySet.as_manager()

    class Meta:
        ordering = ["unit_id", "from_date", "pk"]
        constraints = [
            models.UniqueConstraint(fields=["unit"], condition=Q(to_date=None), name="unit_in_one_machine_at_a_time"),
            models.UniqueConstraint(fields=["machine", "position"], condition=Q(to_date=None), name="one_unit_in_a_position"),
            models.CheckConstraint(name="taken_out_after_fitted", condition=Q(to_date=None) | Q(to_date__gte=F("from_date"))),
            models.CheckConstraint(name="hours_out_not_below_in", condition=Q(to_life_h=None) | Q(to_life_h__gte=F("from_life_h"))),
            models.CheckConstraint(
                name="removal_is_complete", condition=Q(to_date=None, to_life_h=None) | Q(to_date__isnull=False, to_life_h__isnull=False)
            ),
        ]

    def __str__(self):
        return f"{self.unit} in {self.machine}"


class UnitEvent(Recorded):
    """Something that happened to a unit and may begin a new baseline: rebuilt, repaired, worked on elsewhere, a gauge found wrong."""

    class Kind(models.TextChoices):
        REBUILT = "rebuilt", "Rebuilt"
        REPAIRED = "repaired", "Repaired"
        OUTSIDE_WORK = "outside_work", "Worked on elsewhere"
        NEW_GAUGE = "new_gauge", "Gauge or laboratory bias confirmed"
        NOTED = "noted", "Noted"

    unit = models.ForeignKey(DriveUnit, models.PROTECT, related_name="events")
    kind = models.CharField(max_length=14, choices=Kind)
    happened_on = models.DateField()
    component_h = models.DecimalField("component hours", max_digits=9, decimal_places=1)
    quantities = models.JSONField(default=list, blank=True, help_text="Quantities that start anew; empty means all")
    note = models.CharField(max_length=300, blank=True)

    class Meta:
        ordering = ["unit_id", "happened_on", "pk"]

    def __str__(self):
        return f"{self.get_kind_display()} {self.happened_on}"

    @property
    def begins_baseline(self) -> bool:
        return self.kind != self.Kind.NOTED

    def touches(self, quantity: str) -> bool:
        return self.begins_baseline and (not self.quantities or quantity in self.quantities)

"""Service tasks, the interval rules that make them due, what was done, and what was put off by whom."""

from django.conf import settings
from django.db import models
from django.db.models import Q

from fleet.models import Document, DriveModel, DriveUnit, Machine
from fleet.models.base import Recorded, Standing, Supersedable, Versioned, correction_needs_reason, not_negative


class ServiceTask(Versioned):
    class Kind(models.TextChoices):
        FILTER = "filter", "Filter"
        FLUID = "fluid", "Fluid"
        SAMPLE = "sample", "Oil sample"
        TEST = "test", "Test"
        INSPECTION = "inspection", "Inspection"
        HOSE = "hose", "Hose"
        BRAKE = "brake", "Brake"
        INTERLOCK = "interlock", "Interlock"

    class Group(models.TextChoices):
        DRAIN = "drain", "Drain-down"
        GAUGE = "gauge", "Gauges on"
        WHEELS = "wheels", "Wheels up"
        NONE = "", "On its own"

    code = models.CharField(max_length=20, unique=True)
    name = models.CharField(max_length=80)
    kind = models.CharField(max_length=12, choices=Kind)
    group = models.CharField("kindred set", max_length=8, choices=Group, default=Group.NONE, blank=True)
    is_safety = models.BooleanField("safety task", default=False)
    work_h = models.DecimalField("usual hours of work", max_digits=5, decimal_places=2, default=1)
    skill = models.ForeignKey("shop.Skill", models.PROTECT, null=True, blank=True, related_name="tasks")
    needs_bay = models.BooleanField(default=False)
    cautions = models.JSONField(default=list, blank=True, help_text="Codes such as C1")
    is_retired = models.BooleanField(default=False)

    class Meta:
        ordering = ["name"]

    def __str__(self):
        return self.name


class SeverityFactor(Versioned):
    """A condition of work that shortens intervals; a shop figure, editable."""

    code = models.CharField(max_length=20, unique=True)
    name = models.CharField(max_length=80)
    factor = models.FloatField()
    source = models.CharField(max_length=160, blank=True)

    class Meta:
        ordering = ["name"]
        constraints = [models.CheckConstraint(name="severity_factor_shortens", condition=Q(factor__gt=0, factor__lte=1))]

    def __str__(self):
        return f"{self.name} ({self.factor})"


class IntervalRule(Versioned):
    """When a task comes due: by hours or calendar, whichever comes first, for a drive model, a machine or one unit (the narrowest wins)."""

    class Anchor(models.TextChoices):
        METER_ZERO = "meter_zero", "Meter zero"
        INSTALLATION = "installation", "Unit fitted"
        FILL = "fill", "Fluid filled"
        HOSE_MADE = "hose_made", "Hose made"
        CERTIFICATE = "certificate", "Certificate date"
        SEASON_START = "season_start", "Season start"

    class Reset(models.TextChoices):
        COMPLETION = "completion", "From completion"
        GRID = "grid", "Fixed grid"
        ITEM_DATE = "item_date", "From the item's own date"
        WINDOW = "window", "Grid if done near, else from completion"

    class Counted(models.TextChoices):
        METER = "meter", "First steps counted on the meter"
        AFTER_LAST = "after_last", "Counted after the last first step"

    task = models.ForeignKey(ServiceTask, models.PROTECT, related_name="rules")
    drive_model = models.ForeignKey(DriveModel, models.PROTECT, null=True, blank=True, related_name="interval_rules")
    machine = models.ForeignKey(Machine, models.PROTECT, null=True, blank=True, related_name="interval_rules")
    unit = models.ForeignKey(DriveUnit, models.PROTECT, null=True, blank=True, related_name="interval_rules")
    first_steps_h = models.JSONField("first steps, hours", default=list, blank=True)
    counted = models.CharField(max_length=12, choices=Counted, default=Counted.METER)
    every_h = models.DecimalField("then every, hours", max_digits=7, decimal_places=1, null=True, blank=True)
    every_months = models.PositiveSmallIntegerField("or every, months", null=True, blank=True)
    anchor = models.CharField(max_length=14, choices=Anchor, default=Anchor.METER_ZERO)
    anchor_date = models.DateField("the item's own date", null=True, blank=True)
    reset = models.CharField("when done, the next is counted", max_length=12, choices=Reset, default=Reset.COMPLETION)
    heeds_severity = models.BooleanField(default=True)
    every_h_other_fluid = models.DecimalField(
        "every, hours, if other fluid was ever in", max_digits=7, decimal_places=1, null=True, blank=True
    )
    own_fluid = models.ForeignKey("fleet.FluidProduct", models.PROTECT, null=True, blank=True, related_name="+")
    early_share = models.FloatField("due soon, share of the interval before", default=0.1)
    late_share = models.FloatField("late limit, share of the interval after", default=0.1)
    may_extend = models.BooleanField("maker permits extension", default=False)
    document = models.ForeignKey(Document, models.PROTECT, null=True, blank=True, related_name="interval_rules")
    page = models.CharField(max_length=20, blank=True)
    is_retired = models.BooleanField(default=False)

    class Meta:
        ordering = ["task_id", "pk"]
        constraints = [
            models.CheckConstraint(
                name="rule_has_one_scope",
                condition=Q(drive_model__isnull=False, machine=None, unit=None)
                | Q(drive_model=None, machine__isnull=False, unit=None)
                | Q(drive_model=None, machine=None, unit__isnull=False),
            ),
            models.CheckConstraint(
                name="rule_has_an_interval", condition=Q(every_h__isnull=False) | Q(every_months__isnull=False) | ~Q(first_steps_h=[])
            ),
            models.CheckConstraint(name="rule_hours_above_zero", condition=Q(every_h=None) | Q(every_h__gt=0)),
            models.CheckConstraint(name="rule_months_above_zero", condition=Q(every_months=None) | Q(every_months__gt=0)),
            models.CheckConstraint(
                name="rule_shares_in_range", condition=Q(early_share__gte=0, early_share__lte=1, late_share__gte=0, late_share__lte=1)
            ),
            *[
                models.UniqueConstraint(
                    fields=["task", scope],
                    condition=Q(is_retired=False, **{f"{scope}__isnull": False}),
                    name=f"one_rule_per_task_and_{scope}",
                )
                for scope in ("drive_model", "machine", "unit")
            ],
        ]

    def __str__(self):
        return f"{self.task} for {self.scope}"

    @property
    def scope(self):
        return self.unit or self.machine or self.drive_model


class TaskDoneQuerySet(Standing):
    def of(self, machine):
        return self.filter(machine=machine)


class TaskDone(Supersedable):
    """A task done, or not done and why, on a machine (and unit) at its hours."""

    task = models.ForeignKey(ServiceTask, models.PROTECT, related_name="done")
    machine = models.ForeignKey(Machine, models.PROTECT, related_name="tasks_done")
    unit = models.ForeignKey(DriveUnit, models.PROTECT, null=True, blank=True, related_name="tasks_done")
    visit = models.ForeignKey("shop.Visit", models.PROTECT, null=True, blank=True, related_name="tasks_done")
    order_line = models.ForeignKey("shop.OrderLine", models.PROTECT, null=True, blank=True, related_name="tasks_done")
    done_on = models.DateField()
    life_h = models.DecimalField("machine life hours", max_digits=9, decimal_places=1)
    was_done = models.BooleanField(default=True)
    why_not = models.CharField(max_length=200, blank=True)
    finding = models.CharField(max_length=200, blank=True)
    item_date = models.DateField("manufacture or certificate date of the new item", null=True, blank=True)
    part_number = models.CharField(max_length=40, blank=True)
    due_h = models.DecimalField("was due at, life hours", max_digits=9, decimal_places=1, null=True, blank=True)
    due_on = models.DateField("was due on", null=True, blank=True)

    objects = TaskDoneQuerySet.as_manager()

    class Meta:
        ordering = ["machine_id", "done_on", "pk"]
        indexes = [models.Index(fields=["machine", "task", "-done_on"])]
        constraints = [
            correction_needs_reason("task_done"),
            models.CheckConstraint(name="not_done_says_why", condition=Q(was_done=True) | ~Q(why_not="")),
            *not_negative("task_done", "life_h"),
        ]

    def __str__(self):
        return f"{self.task} on {self.machine} {self.done_on}"


class Deferral(Recorded):
    """A task put off: a named person approved it, with the risk before their eyes, to a new limit; then it is overdue again."""

    class Reason(models.TextChoices):
        REFUSED = "refused", "Customer refused"
        PARTS = "parts", "Parts not here"
        SEASON = "season", "In season"
        AWAY = "away", "Machine away"
        ACCESS = "access", "No access"

    task = models.ForeignKey(ServiceTask, models.PROTECT, related_name="deferrals")
    machine = models.ForeignKey(Machine, models.PROTECT, related_name="deferrals")
    unit = models.ForeignKey(DriveUnit, models.PROTECT, null=True, blank=True, related_name="deferrals")
    reason = models.CharField(max_length=10, choices=Reason)
    words = models.CharField("why, in words", max_length=300)
    risk = models.CharField("risk sentence shown", max_length=400)
    asked_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    approved_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, null=True, blank=True, related_name="+")
    approved_by_contact = models.ForeignKey("fleet.Contact", models.PROTECT, null=True, blank=True, related_name="+")
    approved_at = models.DateTimeField(null=True, blank=True)
    until_h = models.DecimalField("new limit, life hours", max_digits=9, decimal_places=1)
    until_on = models.DateField("new limit, date")
    ended_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["-pk"]
        constraints = [
            models.CheckConstraint(
                name="deferral_approver_is_another",
                condition=Q(approved_by=None) | ~Q(approved_by=models.F("asked_by")) | Q(approved_by_contact__isnull=False),
            ),
            models.CheckConstraint(
                name="approved_deferral_says_when",
                condition=Q(approved_at=None, approved_by=None, approved_by_contact=None)
                | (Q(approved_at__isnull=False) & (Q(approved_by__isnull=False) | Q(approved_by_contact__isnull=False))),
            ),
        ]

    def __str__(self):
        return f"{self.task} on {self.machine} put off to {self.until_on}"


class Extension(Recorded):
    """A signed lengthening of one interval, at most a quarter at a time; it expires."""

    rule = models.ForeignKey(IntervalRule, models.PROTECT, related_name="extensions")
    machine = models.ForeignKey(Machine, models.PROTECT, related_name="extensions")
    share = models.FloatField("longer by, share")
    signed_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    signed_on = models.DateField()
    expires_on = models.DateField()
    reason = models.CharField(max_length=300)

    class Meta:
        ordering = ["rule_id", "signed_on"]
        constraints = [
            models.CheckConstraint(name="extension_is_a_quarter_at_most", condition=Q(share__gt=0, share__lte=0.25)),
            models.CheckConstraint(name="extension_expires_later", condition=Q(expires_on__gt=models.F("signed_on"))),
        ]

    def __str__(self):
        return f"{self.rule} longer by {self.share:.0%}"

"""Test procedures in versions, and a test being worked through: marks are kept as they are made."""

from django.conf import settings
from django.core.exceptions import ValidationError
from django.db import models
from django.db.models import Q

from calcs.quantities import QUANTITIES
from fleet.models import DriveTest, DriveUnit, Machine
from fleet.models.base import Versioned

GAUGE_KINDS = ("pressure", "flow")
GAUGE_CAUTIONS = ("C1", "C2", "C3")


def reads_by_gauge(step: dict) -> bool:
    """Say whether a step opens the hydraulics to read a pressure or a flow."""
    quantity = QUANTITIES.get(step.get("quantity", ""))
    return quantity is not None and quantity.kind in GAUGE_KINDS


class Procedure(models.Model):
    """One version of one test procedure; never edited, a new version follows it."""

    code = models.CharField(max_length=6)
    version = models.PositiveSmallIntegerField(default=1)
    title = models.CharField(max_length=120)
    why = models.TextField()
    kit = models.TextField(blank=True)
    conditions = models.TextField("set", blank=True)
    steps = models.JSONField("do", help_text="Each: text, cautions, and for a reading its quantity, direction, port")
    expectation = models.TextField(blank=True)
    judgement = models.TextField(blank=True)
    traps = models.TextField(blank=True)
    cautions = models.JSONField(default=list)
    applies_if = models.JSONField(default=dict, blank=True, help_text="What the drive model must have for it to apply")
    walk_order = models.PositiveSmallIntegerField(default=50)
    source = models.CharField(max_length=200, blank=True)
    made_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ["code", "version"]
        constraints = [
            models.UniqueConstraint(fields=["code", "version"], name="procedure_version_once"),
            models.CheckConstraint(name="procedure_has_cautions", condition=~Q(cautions=[])),
        ]

    def __str__(self):
        return f"{self.code} {self.title} (version {self.version})"

    def save(self, *args, **kwargs):
        self.clean()
        super().save(*args, **kwargs)

    def clean(self):
        missing = self.cautions_missing()
        if missing:
            raise ValidationError(
                {"cautions": f"A step reads a pressure or a flow: the cautions {', '.join(missing)} must stand with this procedure."}
            )

    def cautions_missing(self) -> list[str]:
        """Return the cautions that a step with a gauge calls for and that do not stand here."""
        return [code for code in GAUGE_CAUTIONS if code not in self.cautions] if any(map(reads_by_gauge, self.steps)) else []


class OpenTest(Versioned):
    """A test being worked through on one unit; it ends as one or two drive tests, or is given up with a reason."""

    number = models.CharField(max_length=20, unique=True)
    machine = models.ForeignKey(Machine, models.PROTECT, related_name="open_tests")
    unit = models.ForeignKey(DriveUnit, models.PROTECT, related_name="open_tests")
    order = models.ForeignKey("shop.WorkOrder", models.PROTECT, null=True, blank=True, related_name="open_tests")
    opened_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    opened_at = models.DateTimeField(auto_now_add=True)
    closed_at = models.DateTimeField(null=True, blank=True)
    procedures = models.ManyToManyField(Procedure, related_name="open_tests")
    conditions = models.JSONField(default=dict, blank=True)
    test_before = models.OneToOneField(DriveTest, models.PROTECT, null=True, blank=True, related_name="opened_before")
    test_after = models.OneToOneField(DriveTest, models.PROTECT, null=True, blank=True, related_name="opened_after")

    class Meta:
        ordering = ["-pk"]

    def __str__(self):
        return f"Test {self.number}"


class OpenTestMark(models.Model):
    """One thing noted at one step: a reading, a tick, or "could not, because". The page makes the key, so sending it twice keeps one."""

    open_test = models.ForeignKey(OpenTest, models.PROTECT, related_name="marks")
    key = models.CharField(max_length=64, unique=True)
    step = models.CharField(max_length=20)
    column = models.CharField(max_length=8, choices=[("before", "Before"), ("after", "After")], default="before")
    content = models.JSONField(default=dict)
    made_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    made_at = models.DateTimeField()
    received_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ["pk"]
        indexes = [models.Index(fields=["open_test", "step", "column"])]

    def __str__(self):
        return f"{self.step} {self.column}"

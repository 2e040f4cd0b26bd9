"""Parts kept simple: numbers that follow one another, stock as moves, kits for a task."""

from django.conf import settings
from django.db import models
from django.db.models import Q, Sum

from fleet.models import DriveModel
from fleet.models.base import Recorded, Versioned, folded


class PartQuerySet(models.QuerySet):
    def with_stock(self):
        return self.annotate(stock=Sum("moves__quantity"))

    def naming(self, text: str):
        return self.filter(search_text__contains=folded(text))


class Part(Versioned):
    number = models.CharField(max_length=40, unique=True)
    name = models.CharField(max_length=120)
    superseded_by = models.ForeignKey("self", models.PROTECT, null=True, blank=True, related_name="supersedes")
    bin = models.CharField(max_length=20, blank=True)
    lead_days = models.PositiveSmallIntegerField(default=0)
    shelf_months = models.PositiveSmallIntegerField(null=True, blank=True)
    price_cents = models.PositiveBigIntegerField(default=0)
    core_charge_cents = models.PositiveBigIntegerField(default=0)
    unit = models.CharField(max_length=10, default="pc")
    search_text = models.CharField(max_length=200, editable=False, default="")

    objects = PartQuerySet.as_manager()

    class Meta:
        ordering = ["number"]
        constraints = [models.CheckConstraint(name="part_not_superseded_by_itself", condition=~Q(superseded_by=models.F("id")))]

    def __str__(self):
        return f"{self.number} {self.name}"

    def save(self, *args, **kwargs):
        self.search_text = folded(self.number, self.name)[:200]
        super().save(*args, **kwargs)


class KitItem(models.Model):
    """What one task takes on one drive model."""

    task = models.ForeignKey("shop.ServiceTask", models.PROTECT, related_name="kit")
    drive_model = models.ForeignKey(DriveModel, models.PROTECT, null=True, blank=True, related_name="kits")
    part = models.ForeignKey(Part, models.PROTECT, related_name="in_kits")
    quantity = models.DecimalField(max_digits=7, decimal_places=2, default=1)

    class Meta:
        ordering = ["task_id", "drive_model_id", "part_id"]
        constraints = [
            models.UniqueConstraint(fields=["task", "drive_model", "part"], name="kit_item_once"),
            models.CheckConstraint(name="kit_quantity_above_zero", condition=Q(quantity__gt=0)),
        ]

    def __str__(self):
        return f"{self.quantity} x {self.part} for {self.task}"


class StockMove(Recorded):
    class Kind(models.TextChoices):
        RECEIVED = "received", "Received"
        ISSUED = "issued", "Issued"
        RETURNED = "returned", "Returned"
        COUNTED = "counted", "Counted"

    part = models.ForeignKey(Part, models.PROTECT, related_name="moves")
    kind = models.CharField(max_length=10, choices=Kind)
    quantity = models.DecimalField(max_digits=9, decimal_places=2, help_text="Below zero when it leaves")
    order_line = models.ForeignKey("shop.OrderLine", models.PROTECT, null=True, blank=True, related_name="stock_moves")
    moved_at = models.DateTimeField()
    note = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ["part_id", "moved_at", "pk"]
        constraints = [
            models.CheckConstraint(
                name="stock_move_has_its_sign",
                condition=Q(kind__in=["received", "returned"], quantity__gt=0) | Q(kind="issued", quantity__lt=0) | Q(kind="counted"),
            )
        ]

    def __str__(self):
        return f"{self.get_kind_display()} {self.quantity} {self.part}"


class HeldPart(Recorded):
    """A part taken off and kept under a tag until its core or its warranty claim is settled."""

    class Kind(models.TextChoices):
        CORE = "core", "Core to go back"
        WARRANTY = "warranty", "Kept for a warranty claim"

    tag = models.CharField(max_length=20, unique=True)
    kind = models.CharField(max_length=10, choices=Kind)
    order = models.ForeignKey("shop.WorkOrder", models.PROTECT, related_name="held_parts")
    order_line = models.ForeignKey("shop.OrderLine", models.PROTECT, null=True, blank=True, related_name="held_parts")
    words = models.CharField("what it is, with serial", max_length=200)
    place = models.CharField("kept at", max_length=60, blank=True)
    core_cents = models.PositiveBigIntegerField("core charge", default=0)
    settled_at = models.DateTimeField(null=True, blank=True)
    settled_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, null=True, blank=True, related_name="+")
    settled_words = models.CharField("how it was settled", max_length=200, blank=True)

    class Meta:
        ordering = ["-pk"]
        constraints = [
            models.CheckConstraint(
                name="settled_part_says_how",
                condition=Q(settled_at=None, settled_by=None, settled_words="")
                | (Q(settled_at__isnull=False, settled_by__isnull=False) & ~Q(settled_words="")),
            )
        ]

    def __str__(self):
        return f"{self.tag} {self.words}"

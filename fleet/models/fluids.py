"""Fluid products and what was filled where: a ledger of litres, not a remark."""

from django.db import models
from django.db.models import Q

from fleet.models.base import Standing, Supersedable, Versioned, above_zero, correction_needs_reason, not_negative
from fleet.models.machines import Machine


class FluidProduct(Versioned):
    class Kind(models.TextChoices):
        HYDRAULIC = "hydraulic", "Anti-wear hydraulic oil"
        TRACTOR = "tractor", "Tractor multi-purpose oil"
        ENGINE = "engine", "Engine oil"
        ATF = "atf", "Automatic transmission fluid"
        ESTER = "ester", "Biodegradable ester"

    maker = models.CharField(max_length=60)
    name = models.CharField(max_length=80)
    kind = models.CharField(max_length=10, choices=Kind)
    viscosity_grade = models.CharField("ISO VG or SAE grade", max_length=20, blank=True)
    nu40_mm2s = models.FloatField("viscosity at 40 °C", null=True, blank=True)
    nu100_mm2s = models.FloatField("viscosity at 100 °C", null=True, blank=True)
    density15_kgm3 = models.FloatField("density at 15 °C", null=True, blank=True)
    has_viscosity_improver = models.BooleanField(default=False)
    is_zinc_free = models.BooleanField(default=False)
    compatibility_group = models.CharField(max_length=20, blank=True)
    source = models.CharField("where the figures stand", max_length=120, blank=True)
    is_retired = models.BooleanField(default=False)

    class Meta:
        ordering = ["name", "maker"]
        constraints = [
            models.UniqueConstraint(fields=["maker", "name"], name="fluid_product_once"),
            models.CheckConstraint(
                name="fluid_thins_when_hot", condition=Q(nu40_mm2s=None) | Q(nu100_mm2s=None) | Q(nu40_mm2s__gt=models.F("nu100_mm2s"))
            ),
            *above_zero("fluid", "nu40_mm2s", "nu100_mm2s", "density15_kgm3"),
        ]

    def __str__(self):
        return f"{self.maker} {self.name}"


class FluidFillQuerySet(Standing):
    def of(self, machine):
        return self.filter(machine=machine)

    def in_order(self):
        return self.order_by("filled_at", "pk")


class FluidFill(Supersedable):
    """Litres that came out and went in at one moment."""

    class Kind(models.TextChoices):
        FIRST = "first_fill", "First fill"
        CHANGE = "change", "Change"
        TOP_UP = "top_up", "Top-up"
        FLUSH = "flush", "Flush"

    machine = models.ForeignKey(Machine, models.PROTECT, related_name="fills")
    kind = models.CharField(max_length=10, choices=Kind)
    product = models.ForeignKey(
        FluidProduct, models.PROTECT, related_name="fills", null=True, blank=True, help_text="Blank where not known"
    )
    filled_at = models.DateTimeField()
    life_h = models.DecimalField("life hours", max_digits=9, decimal_places=1, null=True, blank=True)
    fill_l = models.DecimalField("litres in", max_digits=7, decimal_places=2, default=0)
    drained_l = models.DecimalField("litres out", max_digits=7, decimal_places=2, default=0)
    is_measured = models.BooleanField("measured, not estimated", default=True)
    batch = models.CharField(max_length=40, blank=True)
    note = models.CharField(max_length=300, blank=True)

    objects = FluidFillQuerySet.as_manager()

    class Meta:
        ordering = ["machine_id", "filled_at", "pk"]
        constraints = [
            correction_needs_reason("fluid_fill"),
            *not_negative("fluid_fill", "fill_l", "drained_l", "life_h"),
            models.CheckConstraint(name="fluid_fill_moves_oil", condition=Q(fill_l__gt=0) | Q(drained_l__gt=0)),
            models.CheckConstraint(name="top_up_drains_nothing", condition=~Q(kind="top_up") | Q(drained_l=0)),
        ]

    def __str__(self):
        return f"{self.get_kind_display()} {self.fill_l} L on {self.filled_at:%-d %b %Y}"

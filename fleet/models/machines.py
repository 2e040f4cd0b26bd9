"""Machines that a drive is fitted in, and who has owned them."""

from django.db import models
from django.db.models import Q

from fleet.models.base import Versioned, above_zero, folded, serial_key
from fleet.models.customers import Customer, Site


class MachineQuerySet(models.QuerySet):
    def naming(self, text: str):
        """Machines whose number, serial, model or owner holds `text`."""
        return self.filter(Q(search_text__contains=folded(text)) | Q(serial_key__contains=serial_key(text) or "-"))

    def in_use(self):
        return self.filter(status=Machine.Status.IN_USE)


class Machine(Versioned):
    class Kind(models.TextChoices):
        TRACTOR = "tractor", "Tractor"
        COMBINE = "combine", "Combine harvester"
        FORAGE = "forage", "Forage harvester"
        WINDROWER = "windrower", "Windrower"
        SPRAYER = "sprayer", "Sprayer"
        LOADER = "loader", "Loader"
        MOWER = "mower", "Mower"
        OTHER = "other", "Other"

    class Status(models.TextChoices):
        IN_USE = "in_use", "In use"
        LAID_UP = "laid_up", "Laid up"
        SOLD = "sold", "Sold"
        SCRAPPED = "scrapped", "Scrapped"

    number = models.CharField(max_length=20, unique=True)
    kind = models.CharField(max_length=12, choices=Kind)
    maker = models.CharField(max_length=60)
    model = models.CharField(max_length=60)
    serial = models.CharField(max_length=60)
    serial_key = models.CharField(max_length=60, unique=True, editable=False)
    year = models.PositiveSmallIntegerField(null=True, blank=True)
    customer = models.ForeignKey(Customer, models.PROTECT, related_name="machines")
    site = models.ForeignKey(Site, models.PROTECT, null=True, blank=True, related_name="machines")
    engine_rated_speed_rpm = models.FloatField("engine rated speed")
    engine_idle_speed_rpm = models.FloatField("engine low idle", null=True, blank=True)
    engine_power_kw = models.FloatField("engine power", null=True, blank=True)
    mass_kg = models.FloatField("mass", null=True, blank=True)
    tyre = models.CharField(max_length=60, blank=True)
    rolling_radius_m = models.FloatField("tyre rolling radius", null=True, blank=True)
    final_ratio = models.FloatField("motor to wheel ratio", null=True, blank=True)
    height_m = models.FloatField("height at the bay door", null=True, blank=True)
    shares_oil_with = models.CharField(max_length=120, blank=True, help_text="Steering, brakes or implements on the same oil")
    severity = models.JSONField(default=list, blank=True, help_text="Names of the severity factors that hold for this machine")
    status = models.CharField(max_length=10, choices=Status, default=Status.IN_USE)
    note = models.TextField(blank=True)
    search_text = models.CharField(max_length=400, editable=False, default="")

    objects = MachineQuerySet.as_manager()

    class Meta:
        ordering = ["number"]
        constraints = above_zero(
            "machine",
            "engine_rated_speed_rpm",
            "engine_idle_speed_rpm",
            "engine_power_kw",
            "mass_kg",
            "rolling_radius_m",
            "final_ratio",
            "height_m",
        )

    def __str__(self):
        return f"{self.number} {self.maker} {self.model}"

    def save(self, *args, **kwargs):
        self.serial_key = serial_key(self.serial)
        self.search_text = folded(self.number, self.maker, self.model, self.serial)[:400]
        super().save(*args, **kwargs)


class Ownership(models.Model):
    """Who owned a machine from when to when; the history outlives a sale."""

    machine = models.ForeignKey(Machine, models.PROTECT, related_name="ownerships")
    customer = models.ForeignKey(Customer, models.PROTECT, related_name="ownerships")
    from_date = models.DateField()
    to_date = models.DateField(null=True, blank=True)

    class Meta:
        ordering = ["machine_id", "from_date"]
        constraints = [
            models.UniqueConstraint(fields=["machine"], condition=Q(to_date=None), name="one_owner_at_a_time"),
            models.CheckConstraint(
                name="ownership_ends_after_it_begins", condition=Q(to_date=None) | Q(to_date__gte=models.F("from_date"))
            ),
        ]

    def __str__(self):
        return f"{self.machine} owned by {self.customer} from {self.from_date}"

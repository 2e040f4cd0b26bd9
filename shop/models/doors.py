"""Doors: numbers that people read, forms that count once, a person's own units, and secret calendar addresses."""

from django.conf import settings
from django.db import models
from django.db.models import F


class Counter(models.Model):
    """The last human number given out under a name."""

    name = models.CharField(max_length=20, unique=True)
    last = models.PositiveIntegerField(default=0)

    def __str__(self):
        return f"{self.name} {self.last}"

    @classmethod
    def next_number(cls, name: str, prefix: str) -> str:
        """Return the next number such as `W-00042`; call inside the transaction that uses it."""
        cls.objects.get_or_create(name=name)
        cls.objects.filter(name=name).update(last=F("last") + 1)
        return f"{prefix}-{cls.objects.get(name=name).last:05d}"


class FormToken(models.Model):
    """A form that was acted on: the same form sent again finds its row here and is shown the first result."""

    token = models.CharField(max_length=64, unique=True)
    used_at = models.DateTimeField(auto_now_add=True)
    used_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    made_table = models.CharField(max_length=60, blank=True)
    made_row = models.BigIntegerField(null=True)

    def __str__(self):
        return self.token


class Person(models.Model):
    """What somebody prefers, and what they may approve."""

    class System(models.TextChoices):
        METRIC = "metric", "Metric (bar, L/min, °C, km/h)"
        US = "us", "US (psi, gpm, °F, mph)"

    user = models.OneToOneField(settings.AUTH_USER_MODEL, models.PROTECT, related_name="person")
    system = models.CharField("units", max_length=8, choices=System, default=System.METRIC)
    units = models.JSONField("units by kind of measure", default=dict, blank=True)
    decimal_sign = models.CharField(max_length=1, choices=[(".", "1.5"), (",", "1,5")], default=".")
    paper = models.CharField(max_length=8, choices=[("A4", "A4"), ("Letter", "Letter")], default="A4")
    approval_limit_cents = models.PositiveBigIntegerField(null=True, blank=True)
    hourly_rate_cents = models.PositiveIntegerField(null=True, blank=True)

    def __str__(self):
        return self.user.get_full_name() or self.user.get_username()


class CalendarKey(models.Model):
    """A secret address that a calendar program may read; revoked, never changed."""

    class Scope(models.TextChoices):
        SHOP = "shop", "Whole shop"
        CUSTOMER = "customer", "One customer"
        TECHNICIAN = "technician", "One technician"

    secret = models.CharField(max_length=64, unique=True)
    scope = models.CharField(max_length=12, choices=Scope)
    customer = models.ForeignKey("fleet.Customer", models.PROTECT, null=True, blank=True, related_name="calendar_keys")
    technician = models.ForeignKey("shop.Technician", models.PROTECT, null=True, blank=True, related_name="calendar_keys")
    made_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    made_at = models.DateTimeField(auto_now_add=True)
    revoked_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(
                name="calendar_key_names_its_scope",
                condition=models.Q(scope="shop", customer=None, technician=None)
                | models.Q(scope="customer", customer__isnull=False, technician=None)
                | models.Q(scope="technician", technician__isnull=False, customer=None),
            )
        ]

    def __str__(self):
        return f"{self.get_scope_display()} calendar"

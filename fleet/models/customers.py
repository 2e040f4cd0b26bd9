"""Customers, where their machines stand, and who may approve what."""

from django.db import models

from fleet.models.base import Versioned, folded


class CustomerQuerySet(models.QuerySet):
    def naming(self, text: str):
        return self.filter(search_text__contains=folded(text))


class Customer(Versioned):
    class Channel(models.TextChoices):
        PHONE = "phone", "Phone"
        TEXT = "text", "Text message"
        MAIL = "mail", "E-mail"
        POST = "post", "Letter"

    number = models.CharField(max_length=20, unique=True)
    name = models.CharField(max_length=120)
    invoice_address = models.TextField(blank=True)
    phone = models.CharField(max_length=40, blank=True)
    preferred_channel = models.CharField(max_length=10, choices=Channel, default=Channel.PHONE)
    agrees_to_photos = models.BooleanField(default=False)
    stop_cost_per_hour_cents = models.PositiveIntegerField(
        null=True, blank=True, help_text="What an hour's stop in season costs this customer"
    )
    is_retired = models.BooleanField(default=False)
    note = models.TextField(blank=True)
    search_text = models.CharField(max_length=300, editable=False, default="")

    objects = CustomerQuerySet.as_manager()

    class Meta:
        ordering = ["name", "pk"]

    def __str__(self):
        return self.name

    def save(self, *args, **kwargs):
        self.search_text = folded(self.number, self.name)[:300]
        super().save(*args, **kwargs)


class Site(Versioned):
    """A place where machines of a customer stand."""

    customer = models.ForeignKey(Customer, models.PROTECT, related_name="sites")
    name = models.CharField(max_length=80)
    address = models.TextField(blank=True)
    region = models.CharField(max_length=60, blank=True)
    gate_notes = models.TextField(blank=True)
    drive_minutes = models.PositiveIntegerField(default=30, help_text="Minutes of travel from the shop, one way")

    class Meta:
        ordering = ["customer_id", "name"]
        constraints = [models.UniqueConstraint(fields=["customer", "name"], name="site_name_once_per_customer")]

    def __str__(self):
        return f"{self.name} ({self.customer})"


class Contact(Versioned):
    """A person at a customer; some may approve work, up to a limit."""

    customer = models.ForeignKey(Customer, models.PROTECT, related_name="contacts")
    name = models.CharField(max_length=120)
    phone = models.CharField(max_length=40, blank=True)
    mail = models.EmailField(blank=True)
    may_approve = models.BooleanField(default=False)
    approval_limit_cents = models.PositiveBigIntegerField(null=True, blank=True)
    is_retired = models.BooleanField(default=False)

    class Meta:
        ordering = ["customer_id", "name"]
        constraints = [
            models.CheckConstraint(
                name="contact_limit_only_for_approvers", condition=models.Q(may_approve=True) | models.Q(approval_limit_cents=None)
            )
        ]

    def __str__(self):
        return self.name

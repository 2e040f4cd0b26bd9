"""Hands, skills, bays, season blocks, and which job is booked where."""

from django.conf import settings
from django.db import models
from django.db.models import F, Q

from fleet.models import Customer, Machine
from fleet.models.base import Recorded, Versioned


class Skill(models.Model):
    code = models.CharField(max_length=20, unique=True)
    name = models.CharField(max_length=60)

    class Meta:
        ordering = ["name"]

    def __str__(self):
        return self.name


class Technician(Versioned):
    """A pair of hands, with skills and hours a week; may also sign in."""

    name = models.CharField(max_length=80, unique=True)
    user = models.OneToOneField(settings.AUTH_USER_MODEL, models.PROTECT, null=True, blank=True, related_name="technician")
    skills = models.ManyToManyField(Skill, related_name="technicians", blank=True)
    hours_per_week = models.DecimalField(max_digits=5, decimal_places=2, default=38)
    is_retired = models.BooleanField(default=False)

    class Meta:
        ordering = ["name"]

    def __str__(self):
        return self.name


class TimeAway(models.Model):
    technician = models.ForeignKey(Technician, models.PROTECT, related_name="times_away")
    from_date = models.DateField()
    to_date = models.DateField()
    reason = models.CharField(max_length=80, blank=True)

    class Meta:
        ordering = ["from_date"]
        constraints = [models.CheckConstraint(name="time_away_in_order", condition=Q(to_date__gte=F("from_date")))]

    def __str__(self):
        return f"{self.technician} away {self.from_date} to {self.to_date}"


class Bay(Versioned):
    name = models.CharField(max_length=40, unique=True)
    door_height_m = models.FloatField(null=True, blank=True)
    is_retired = models.BooleanField(default=False)

    class Meta:
        ordering = ["name"]

    def __str__(self):
        return self.name


class SeasonBlock(Versioned):
    """Weeks in which planned work must not stop machines: by customer, machine kind and region, each blank for all."""

    name = models.CharField(max_length=80)
    from_date = models.DateField()
    to_date = models.DateField()
    customer = models.ForeignKey(Customer, models.PROTECT, null=True, blank=True, related_name="season_blocks")
    machine_kind = models.CharField(max_length=12, choices=Machine.Kind, blank=True)
    region = models.CharField(max_length=60, blank=True)
    repeats_yearly = models.BooleanField(default=True)
    is_hard = models.BooleanField("no planned work at all", default=True)
    is_retired = models.BooleanField(default=False)

    class Meta:
        ordering = ["from_date", "pk"]
        constraints = [models.CheckConstraint(name="season_block_in_order", condition=Q(to_date__gte=F("from_date")))]

    def __str__(self):
        return self.name


class Booking(Versioned):
    """A job in a week, later on a day with a pair of hands; pinned ones are left alone when weeks are planned anew."""

    machine = models.ForeignKey(Machine, models.PROTECT, related_name="bookings")
    order = models.ForeignKey("shop.WorkOrder", models.PROTECT, null=True, blank=True, related_name="bookings")
    tasks = models.JSONField(default=list, blank=True, help_text="Task codes with unit tags")
    title = models.CharField(max_length=160)
    week_start = models.DateField()
    day = models.DateField(null=True, blank=True)
    start_at = models.DateTimeField(null=True, blank=True)
    technician = models.ForeignKey(Technician, models.PROTECT, null=True, blank=True, related_name="bookings")
    bay = models.ForeignKey(Bay, models.PROTECT, null=True, blank=True, related_name="bookings")
    work_h = models.DecimalField(max_digits=6, decimal_places=2)
    is_pinned = models.BooleanField(default=False)
    is_cancelled = models.BooleanField(default=False)
    reason = models.CharField("why here", max_length=300, blank=True)
    uid = models.CharField(max_length=80, unique=True)

    class Meta:
        ordering = ["week_start", "day", "pk"]
        constraints = [models.CheckConstraint(name="booking_takes_time", condition=Q(work_h__gt=0))]

    def __str__(self):
        return f"{self.title} in the week of {self.week_start}"


class PlanRun(Recorded):
    """One planning of the weeks: what went in, what came out, how far from its bound."""

    first_week = models.DateField()
    weeks = models.PositiveSmallIntegerField()
    result = models.JSONField(default=dict)
    gap = models.FloatField(null=True, blank=True)

    class Meta:
        ordering = ["-pk"]

    def __str__(self):
        return f"Plan from {self.first_week}"


class ShopFigure(Versioned):
    """A figure of practice that the shop has set for itself; where none is kept, the usual one holds."""

    code = models.CharField(max_length=30, unique=True)
    value = models.FloatField()

    class Meta:
        ordering = ["code"]

    def __str__(self):
        return f"{self.code} {self.value:g}"

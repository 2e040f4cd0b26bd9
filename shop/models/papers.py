"""Photos and papers: hashed, typed, kept outside the web root, never changed."""

from django.db import models

from fleet.models import Customer, DriveTest, DriveUnit, Instrument, Machine, OilSample, Reading
from fleet.models.base import Recorded


class Paper(Recorded):
    class Kind(models.TextChoices):
        PHOTO = "photo", "Photo"
        CHART = "chart", "Chart"
        LAB = "lab", "Laboratory report"
        CERTIFICATE = "certificate", "Certificate"
        OTHER = "other", "Other paper"

    kind = models.CharField(max_length=12, choices=Kind, default=Kind.PHOTO)
    name = models.CharField("name as given", max_length=255)
    stored_name = models.CharField(max_length=80, unique=True, editable=False)
    media_type = models.CharField(max_length=80, editable=False)
    size_bytes = models.PositiveIntegerField(editable=False)
    sha256 = models.CharField(max_length=64, editable=False)
    taken_at = models.DateTimeField(null=True, blank=True)
    caption = models.CharField(max_length=200, blank=True)
    customer = models.ForeignKey(Customer, models.PROTECT, null=True, blank=True, related_name="papers")
    machine = models.ForeignKey(Machine, models.PROTECT, null=True, blank=True, related_name="papers")
    unit = models.ForeignKey(DriveUnit, models.PROTECT, null=True, blank=True, related_name="papers")
    drive_test = models.ForeignKey(DriveTest, models.PROTECT, null=True, blank=True, related_name="papers")
    reading = models.ForeignKey(Reading, models.PROTECT, null=True, blank=True, related_name="papers")
    sample = models.ForeignKey(OilSample, models.PROTECT, null=True, blank=True, related_name="papers")
    instrument = models.ForeignKey(Instrument, models.PROTECT, null=True, blank=True, related_name="papers")
    visit = models.ForeignKey("shop.Visit", models.PROTECT, null=True, blank=True, related_name="papers")
    order = models.ForeignKey("shop.WorkOrder", models.PROTECT, null=True, blank=True, related_name="papers")
    order_line = models.ForeignKey("shop.OrderLine", models.PROTECT, null=True, blank=True, related_name="papers")

    class Meta:
        ordering = ["pk"]

    def __str__(self):
        return self.name

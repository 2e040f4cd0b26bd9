"""A file that was brought in: what was said of it, how far it is looked at, and what was found. What it wrote stands in the change record."""

from django.conf import settings
from django.db import models


class ImportFile(models.Model):
    worked_out_again = True  # looking at the kept file once more gives the same

    class Kind(models.TextChoices):
        READINGS = "readings", "Readings of drive tests"
        HOURS = "hours", "Hours sent by machines"
        SAMPLES = "samples", "Laboratory results"

    class Stage(models.TextChoices):
        LOOKING = "looking", "being looked at"
        LOOKED = "looked", "looked at, nothing written yet"
        WRITING = "writing", "being written"
        JUDGING = "judging", "written, being judged"
        DONE = "done", "written"
        REFUSED = "refused", "refused as a whole"
        STOPPED = "stopped", "stopped before its end"

    kind = models.CharField(max_length=10, choices=Kind)
    name = models.CharField("name as given", max_length=255)
    stored_name = models.CharField(max_length=80, unique=True, editable=False)
    sha256 = models.CharField(max_length=64, editable=False)
    size_bytes = models.PositiveIntegerField(editable=False)
    choices = models.JSONField("what was said of it", default=dict)
    stage = models.CharField(max_length=8, choices=Stage, default=Stage.LOOKING)
    rows_done = models.PositiveIntegerField(default=0)
    rows_total = models.PositiveIntegerField(default=0)
    found = models.JSONField(default=dict)
    words = models.TextField("why it was refused", blank=True)
    brought_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    brought_at = models.DateTimeField(auto_now_add=True)
    moved_at = models.DateTimeField(auto_now=True)
    written_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["-pk"]

    def __str__(self):
        return self.name

    @property
    def is_moving(self) -> bool:
        return self.stage in (self.Stage.LOOKING, self.Stage.WRITING, self.Stage.JUDGING)

"""The change record: every write to every table of the book, kept by the database itself, each entry chained to the one before.

Entries are written by database triggers (see `shop/changes/triggers.py`), so that bulk writes, commands and typing in a database shell leave a
trace as well. Libraries that listen to Django's save signals were left out: they do not see `update()` and `bulk_create()`, and none chains.
"""

from django.conf import settings
from django.db import models


class Act(models.Model):
    """One act of one person: the frame that the change entries of one transaction share."""

    name = models.CharField(max_length=60)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, null=True, related_name="+")
    at = models.DateTimeField(auto_now_add=True)
    reason = models.CharField(max_length=300, blank=True)
    request_key = models.CharField(max_length=64, blank=True)

    class Meta:
        ordering = ["pk"]

    def __str__(self):
        return f"{self.name} by {self.by or 'the system'}"


class CurrentAct(models.Model):
    """One row: the act of the transaction now writing. Set and cleared inside that transaction, so nobody else ever sees it."""

    act_id = models.BigIntegerField(null=True)

    def __str__(self):
        return str(self.act_id)


class ChangeEntryQuerySet(models.QuerySet):
    def of(self, *records):
        """Entries of these records, latest first."""
        wanted = models.Q(pk=None)
        for record in records:
            wanted |= models.Q(table=record._meta.db_table, row=str(record.pk))
        return self.filter(wanted).order_by("-pk")


class ChangeEntry(models.Model):
    """One row written: before, after, by which act, chained by hash. Never updated, never deleted: triggers refuse it."""

    table = models.CharField(max_length=80)
    row = models.CharField(max_length=64)
    kind = models.CharField(max_length=6, choices=[("insert", "made"), ("update", "changed"), ("delete", "removed")])
    at = models.CharField(max_length=32)
    act_id = models.BigIntegerField(null=True)
    old = models.TextField(null=True)
    new = models.TextField(null=True)
    previous_hash = models.CharField(max_length=64)
    hash = models.CharField(max_length=64)

    objects = ChangeEntryQuerySet.as_manager()

    class Meta:
        ordering = ["pk"]
        indexes = [models.Index(fields=["table", "row"]), models.Index(fields=["table", "id"])]

    def __str__(self):
        return f"{self.kind} {self.table} {self.row}"

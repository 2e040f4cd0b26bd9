"""What several tables share: a folded search text, a version that two writers meet at, and a supersession that keeps the old row."""

import unicodedata

from django.conf import settings
from django.db import models
from django.db.models import F

UNMARKED = str.maketrans({"ø": "o", "đ": "d", "ł": "l", "ı": "i", "æ": "ae", "œ": "oe", "ħ": "h"})  # letters that do not come apart


def folded(*parts: object) -> str:
    """Return `parts` as one line for searching: case, accents and doubled spaces do not count."""
    return " ".join(" ".join(_unmarked(str(part)).split()) for part in parts if part)


def _unmarked(text: str) -> str:
    apart = unicodedata.normalize("NFKD", text).casefold().translate(UNMARKED).replace("\x00", "")
    return "".join(sign for sign in apart if not unicodedata.combining(sign))


def serial_key(serial: str) -> str:
    """Return a serial so that two ways of writing the same plate meet: case, spaces, dashes, and O for 0 do not count."""
    plain = unicodedata.normalize("NFKC", serial).casefold()
    return "".join(ch for ch in plain if ch.isalnum()).replace("o", "0")


class ChangedMeanwhile(Exception):
    """Somebody else saved the same record after it was opened here."""

    def __init__(self, record):
        self.record = record
        super().__init__(f"{record} was changed by somebody else after you opened it")


class Versioned(models.Model):
    """A record that two people may edit: the second is told, never overwritten in silence."""

    version = models.PositiveIntegerField(default=1, editable=False)

    class Meta:
        abstract = True

    def save_over(self, version: int) -> None:
        """Save this record if it still is at `version`; else raise `ChangedMeanwhile` and change nothing."""
        claimed = type(self)._base_manager.filter(pk=self.pk, version=version).update(version=F("version") + 1)
        if not claimed:
            raise ChangedMeanwhile(self)
        self.version = version + 1
        self.save()


class Recorded(models.Model):
    """A row that says who wrote it and when."""

    recorded_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, null=True, blank=True, related_name="+", editable=False)
    recorded_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        abstract = True


class Standing(models.QuerySet):
    """Rows that no later row has put right."""

    def standing(self):
        return self.filter(superseded_by=None)


class Supersedable(Recorded):
    """An observation: never overwritten. A correction is a new row that names the old one and says why."""

    supersedes = models.OneToOneField("self", models.PROTECT, null=True, blank=True, related_name="superseded_by", editable=False)
    correction_reason = models.CharField(max_length=300, blank=True, editable=False)

    class Meta:
        abstract = True

    @property
    def stands(self) -> bool:
        return not hasattr(self, "superseded_by")

    def earlier(self):
        """Yield the rows that this one put right, latest first."""
        row = self.supersedes
        while row is not None:
            yield row
            row = row.supersedes


def correction_needs_reason(name: str) -> models.CheckConstraint:
    return models.CheckConstraint(
        name=f"{name}_correction_has_reason", condition=models.Q(supersedes=None) | ~models.Q(correction_reason="")
    )


def not_negative(name: str, *fields: str) -> list[models.CheckConstraint]:
    """Return a constraint for each field: above or at zero, or not known."""
    return [
        models.CheckConstraint(name=f"{name}_{field}_not_negative", condition=models.Q(**{f"{field}__gte": 0}) | models.Q(**{field: None}))
        for field in fields
    ]


def above_zero(name: str, *fields: str) -> list[models.CheckConstraint]:
    """Return a constraint for each field: above zero, or not known."""
    return [
        models.CheckConstraint(name=f"{name}_{field}_above_zero", condition=models.Q(**{f"{field}__gt": 0}) | models.Q(**{field: None}))
        for field in fields
    ]

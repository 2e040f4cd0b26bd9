"""Days and dice of the demo: every date hangs on one given day, every throw on a fixed seed."""

from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from zlib import crc32

import numpy as np
from django.apps import apps

SEED = 20260117
YEARS = 3


def dice(*words: object) -> np.random.Generator:
    """Return a generator of its own for a purpose, so that one noun more does not shift the others."""
    return np.random.default_rng([SEED, crc32(" ".join(map(str, words)).encode())])


def moment(day: date, minutes: int = 0) -> datetime:
    """Return a time of a working day: seven in the morning and so many minutes."""
    return datetime(day.year, day.month, day.day, 7, tzinfo=UTC) + timedelta(minutes=int(minutes))


def workday(day: date) -> date:
    """Return the day itself, or the Friday before a weekend."""
    return day - timedelta(days=max(0, day.weekday() - 4))


def tenth(value: float) -> Decimal:
    return Decimal(f"{value:.1f}")


@dataclass(frozen=True)
class Span:
    """The years that the demo covers, up to and with one day."""

    as_of: date

    @property
    def start(self) -> date:
        return self.as_of - timedelta(days=round(365.25 * YEARS))

    def ago(self, days: float) -> date:
        return workday(self.as_of - timedelta(days=round(days)))


OWN_CLOCK = {"Act", "ChangeEntry"}  # the change record keeps its own time


@contextmanager
def times_as_given():
    """Let rows keep the time they are given in place of the time of writing, so that two fills are alike."""
    fields = [
        field
        for label in ("fleet", "shop")
        for model in apps.get_app_config(label).get_models()
        for field in model._meta.local_fields
        if getattr(field, "auto_now_add", False) and model.__name__ not in OWN_CLOCK
    ]
    for field in fields:
        field.auto_now_add = False
    try:
        yield
    finally:
        for field in fields:
            field.auto_now_add = True

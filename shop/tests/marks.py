"""Marks of an open test: each field that was filled in, as it was filled in; the page as it stands is the last mark of each field."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta

from django.db import transaction
from django.utils import timezone

from shop.acts import act
from shop.models import OpenTest, OpenTestMark
from shop.refusals import Refused

MOST_AT_ONCE = 1_000
MOST_SIGNS = 300
OLDEST = timedelta(days=30)


@dataclass(frozen=True)
class Mark:
    """One field of one step as a page sent it."""

    key: str
    step: str
    column: str
    field: str
    value: str
    made_at: datetime | None = None

    @property
    def name(self) -> str:
        return field_name(self.step, self.column, self.field)


def field_name(step: str, column: str, field: str) -> str:
    """Return the name of a field on the page: the same for the form, the marks and the browser."""
    return f"{step}-{column}-{field}"


def split_name(name: str) -> tuple[str, str, str]:
    """Return step, column and field of a name on the page."""
    step, column, field = name.split("-", 2)
    return step, column, field


def standing(test: OpenTest, up_to: int | None = None) -> dict[str, str]:
    """Return what stands in each field, the latest mark of it; or what stood there up to one mark."""
    rows = test.marks.filter(pk__lte=up_to) if up_to is not None else test.marks
    rows = rows.order_by("made_at", "pk").values_list("step", "column", "content")
    return {field_name(step, column, content["field"]): content["value"] for step, column, content in rows}


def last_mark(test: OpenTest) -> int:
    """Return the number of the latest mark, so that a page can say what it had seen."""
    return test.marks.order_by("-pk").values_list("pk", flat=True).first() or 0


def times_of(test: OpenTest) -> dict[str, datetime]:
    """Return for each column when its last mark was made."""
    return dict(test.marks.order_by("made_at", "pk").values_list("column", "made_at"))


def keep_marks(*, by, test: OpenTest, marks: Iterable[Mark], known: set[str]) -> int:
    """Keep marks that are not kept yet; a key that was seen before counts once. Fields that the page has not got are refused."""
    marks = list(marks)
    if len(marks) > MOST_AT_ONCE:
        raise Refused(f"{len(marks)} entries came at once; at most {MOST_AT_ONCE} are taken.")
    strange = sorted({mark.name for mark in marks} - known)
    if strange:
        raise Refused(f"This test has no field {strange[0]}: open the page anew.")
    if not marks:
        return 0
    with transaction.atomic(), act("Written at an open test", by=by):
        if not OpenTest.objects.filter(pk=test.pk, closed_at=None).select_for_update().exists():
            raise Refused("This test was closed: what was written after that was not kept.")
        there = set(OpenTestMark.objects.filter(key__in=[mark.key for mark in marks]).values_list("key", flat=True))
        fresh = {mark.key: mark for mark in marks if mark.key not in there}
        OpenTestMark.objects.bulk_create(row_of(test, mark, by) for mark in fresh.values())
    return len(fresh)


def row_of(test: OpenTest, mark: Mark, by) -> OpenTestMark:
    now = timezone.now()
    made_at = min(max(mark.made_at or now, now - OLDEST), now)
    content = {"field": mark.field, "value": mark.value[:MOST_SIGNS]}
    return OpenTestMark(open_test=test, key=mark.key, step=mark.step, column=mark.column, content=content, made_by=by, made_at=made_at)

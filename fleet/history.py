"""One drive's life in order, as rows: fitted, tested, filled, worked on, taken out. Other rooms put their own rows between."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, time
from decimal import Decimal

from django.db.models import Count, Q
from django.utils import timezone

from fleet.models import ConditionAssessment, DriveTest, DriveUnit, FluidFill, Installation
from fleet.unit_hours import hours_over, stay_at

RANK = {"fitted": 0, "taken out": 2}  # all else lies between the two
OUTSIDE = (ConditionAssessment.State.OUTSIDE_LOW, ConditionAssessment.State.OUTSIDE_HIGH, ConditionAssessment.State.IMPOSSIBLE)


@dataclass(frozen=True)
class HistoryRow:
    """One thing that befell a drive. `link` names the record it stands in: its kind and number; `stay` counts the machines it was in."""

    at: datetime
    life_h: Decimal | None
    component_h: Decimal | None
    kind: str
    words: str
    link: tuple[str, int]
    stay: int = 0

    @property
    def on(self) -> date:
        return timezone.localtime(self.at).date()


def in_order(rows) -> list[HistoryRow]:
    """Return rows in the order in which they happened, also within one day."""
    return sorted(rows, key=lambda row: (row.on, row.stay, RANK.get(row.kind, 1), row.component_h or Decimal(0), row.at, row.link))


def history_of(unit: DriveUnit, stays: list[Installation] | None = None) -> list[HistoryRow]:
    """Return the life of a drive in order, in a fixed number of questions to the database; its stays in order may be given."""
    if stays is None:
        stays = list(unit.installations.select_related("machine").order_by("from_date", "pk"))
    return in_order([*_stay_rows(unit, stays), *_test_rows(unit, stays), *_fill_rows(unit, stays), *_event_rows(unit, stays)])


def stay_on(stays: list[Installation], day: date) -> int:
    """Return which stay a day falls into, the later one on a day of moving."""
    return max((place for place, stay in enumerate(stays) if stay.from_date <= day), default=0)


def start_of(day: date) -> datetime:
    return timezone.make_aware(datetime.combine(day, time()))


def _stay_rows(unit, stays):
    for place, stay in enumerate(stays):
        begun_h = hours_over(unit, stays, stay.machine, stay.from_life_h) if place else unit.hours_at_birth_h
        why = f": {stay.reason}" if stay.reason else ""
        where = f"{stay.machine} ({stay.get_position_display().lower()})"
        words, link = f"Fitted in {where}{why}", ("installation", stay.pk)
        yield HistoryRow(start_of(stay.from_date), stay.from_life_h, begun_h, "fitted", words, link, place)
        if stay.to_date is not None:
            run_h = begun_h + stay.to_life_h - stay.from_life_h
            why = f": {stay.removal_reason}" if stay.removal_reason else ""
            words = f"Taken out of {stay.machine}{why}"
            yield HistoryRow(start_of(stay.to_date), stay.to_life_h, run_h, "taken out", words, link, place)


def _test_rows(unit, stays):
    standing = Q(readings__superseded_by=None)
    outside = standing & Q(readings__assessments__is_in_force=True, readings__assessments__state__in=OUTSIDE)
    tests = (
        DriveTest.objects.filter(unit=unit)
        .select_related("machine")
        .annotate(read=Count("readings", filter=standing, distinct=True), out=Count("readings", filter=outside, distinct=True))
    )
    for test in tests:
        found = stay_at(stays, test.machine, test.life_h) if stays else None
        place = stays.index(found) if found else 0
        moment = "" if test.moment == DriveTest.Moment.ALONE else f", {test.get_moment_display().lower()}"
        words = f"Tested{moment}: {test.read} reading{'s' * (test.read != 1)}, {test.out or 'none'} outside"
        yield HistoryRow(test.tested_at, test.life_h, test.component_h, "tested", words, ("test", test.pk), place)


def _fill_rows(unit, stays):
    fills = FluidFill.objects.standing().filter(machine__in={stay.machine_id for stay in stays}).select_related("product").in_order()
    for fill in fills:
        day = timezone.localtime(fill.filled_at).date()
        for place, stay in enumerate(stays):
            if stay.machine_id == fill.machine_id and stay.from_date <= day and (stay.to_date is None or day <= stay.to_date):
                begun_h = hours_over(unit, stays[:place], None, None)
                run_h = begun_h + max(fill.life_h - stay.from_life_h, Decimal(0)) if fill.life_h is not None else None
                yield HistoryRow(fill.filled_at, fill.life_h, run_h, "filled", fill_words(fill), ("fill", fill.pk), place)
                break


def fill_words(fill: FluidFill) -> str:
    """Return a fill in a sentence."""
    product = str(fill.product) if fill.product else "oil not known"
    drained = f", {float(fill.drained_l):g} L drained" if fill.drained_l else ""
    return f"{fill.get_kind_display()}: {float(fill.fill_l):g} L {product}{drained}"


def _event_rows(unit, stays):
    for event in unit.events.all():
        note = f": {event.note}" if event.note else ""
        place = stay_on(stays, event.happened_on)
        kind = event.get_kind_display()
        yield HistoryRow(start_of(event.happened_on), None, event.component_h, kind.lower(), f"{kind}{note}", ("event", event.pk), place)

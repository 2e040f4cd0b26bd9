"""Acts of an import: everything of one file written in one go. Judging comes after, so that nobody waits for the writing."""

from __future__ import annotations

from collections import Counter as Tally
from collections import defaultdict
from collections.abc import Callable
from dataclasses import replace

from fleet.assess import assess_all
from fleet.judged_hours import life_h_at
from fleet.models import DriveTest, HourReading, Reading
from fleet.unit_hours import component_h
from shop.acts import act
from shop.advice.review import review_drives
from shop.exchange.plans import Overtaken, Plan, ReadRow
from shop.exchange.reading_plan import in_the_book
from shop.models import Counter
from shop.visits.actions import put_hours
from shop.visits.corrections import put_right

SHARED = (("oil_temp_c", "oil_temp_c"), ("engine_speed_rpm", "engine_speed_rpm"))
JUDGED_AT_ONCE = 50


def record_readings(*, by, plan: Plan, reason: str, why_put_right: str = "", token: str = "") -> list[DriveTest]:
    """Write hours, tests and readings of a file and put right what it corrects; return the tests that are to be judged."""
    if not plan.fresh and not plan.amended:
        return []
    with act("Readings imported", by=by, reason=reason[:300], token=token):
        rows = plan.fresh
        refuse_overtaken(rows)
        hours = _put_all_hours(rows + [row for _, row in plan.amended], by)
        tests = _put_tests(rows, hours, by)
        for before, row in plan.amended:
            put_right(before, by=by, reason=why_put_right, **_fields(row, before.drive_test))
            tests.append(before.drive_test)
    return list(dict.fromkeys(tests))


def refuse_overtaken(rows: list[ReadRow]) -> None:
    """Refuse rows that somebody else wrote since they were looked at, with the same figures or with others."""
    stands, seen = in_the_book(rows)
    if any(row.key in seen or row.place in stands for row in rows):
        raise Overtaken("Somebody else wrote some of these readings a moment ago: look at the file anew.")


def _put_all_hours(rows: list[ReadRow], by) -> dict[tuple, HourReading]:
    """Keep the hours of every test once, in order of time; they were asked about when the file was looked at."""
    told = {(row.machine.pk, row.at): row for row in sorted(rows, key=lambda row: (row.at, row.line), reverse=True)}
    return {place: _put_hours(row, by) for place, row in sorted(told.items(), key=lambda item: (item[0][1], item[0][0]))}


def _put_hours(row: ReadRow, by) -> HourReading:
    there = HourReading.objects.standing().of(row.machine).filter(read_at=row.at, meter_h=row.hours.meter_h).first()
    return there or put_hours(row.machine, row.at, replace(row.hours, is_kept=True, origin=HourReading.Origin.IMPORTED), by)


def _put_tests(rows: list[ReadRow], hours: dict[tuple, HourReading], by) -> list[DriveTest]:
    by_test: dict[tuple, list[ReadRow]] = defaultdict(list)
    for row in rows:
        by_test[(row.at, row.unit.tag)].append(row)
    tests, readings = [], []
    for _, same in sorted(by_test.items(), key=lambda item: item[0]):
        test = _test_of(same, hours[(same[0].machine.pk, same[0].at)])
        tests.append(test)
        readings += [Reading(drive_test=test, recorded_by=by, **_fields(row, test)) for row in sorted(same, key=lambda row: row.line)]
    Reading.objects.bulk_create(readings, batch_size=500)
    return tests


def _test_of(rows: list[ReadRow], hours: HourReading) -> DriveTest:
    """Return the test that these rows belong to; what holds for all of them is kept with the test."""
    first = rows[0]
    there = DriveTest.objects.filter(unit=first.unit, tested_at=first.at).order_by("pk").first()
    if there is not None:
        return there
    life_h = hours.life_h if hours.is_confirmed else life_h_at(first.machine, first.at)
    return DriveTest.objects.create(
        number=Counter.next_number("test", "T"),
        unit=first.unit,
        machine=first.machine,
        tested_at=first.at,
        tested_by=first.tested_by,
        life_h=life_h,
        component_h=component_h(first.unit, first.machine, life_h),
        ambient_c=first.ambient_c,
        drains=first.drains,
        note="; ".join(sorted({row.test_note for row in rows} - {""})),
        origin=DriveTest.Origin.IMPORTED,
        **{name: commonest([getattr(row.entry, own) for row in rows]) for name, own in SHARED},
    )


def commonest(figures: list[float | None]) -> float | None:
    """Return the figure that most rows have, the lowest of equals; None where one has none, so that nothing is lent to it."""
    if None in figures:
        return None
    return min(Tally(figures).items(), key=lambda pair: (-pair[1], pair[0]))[0]


def _fields(row: ReadRow, test: DriveTest) -> dict:
    """Return the fields of a reading; conditions that are those of the test are left to it."""
    entry = row.entry
    fields = {name: getattr(entry, name) for name in entry.__dataclass_fields__ if name not in ("unit", "house_unit", "repeats")}
    for name, own in SHARED:
        if fields[own] == getattr(test, name):
            fields[own] = None
    return fields | {"unit": entry.house_unit, "repeats": list(entry.repeats), "content_key": row.key}


def judge_imported(tests: list[DriveTest], say: Callable[[int, int], None] = lambda done, of: None) -> None:
    """Judge what was imported, and review the wear of the drives where their model has been reviewed before."""
    for start in range(0, len(tests), JUDGED_AT_ONCE):
        some = tests[start : start + JUDGED_AT_ONCE]
        assess_all(Reading.objects.standing().filter(drive_test__in=[test.pk for test in some]))
        say(min(start + JUDGED_AT_ONCE, len(tests)), len(tests))
    units = {test.unit_id: test.unit for test in tests}
    review_drives(units.values())

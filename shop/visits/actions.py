"""Acts of a visit: everything of one call at a machine written in one go, then judged. And single acts: hours, a fill."""

from __future__ import annotations

from datetime import datetime
from decimal import Decimal

from fleet.assess import assess_all, assess_drive_test
from fleet.judged_hours import judge_hours, life_h_at, local_day
from fleet.models import DriveTest, FluidFill, HourMeter, HourReading, Machine, Reading
from fleet.unit_hours import component_h
from shop.acts import act
from shop.advice.review import review_after
from shop.due.rows import points_of_machine
from shop.models import Counter, Finding, TaskDone, Visit
from shop.refusals import Refused
from shop.visits.entries import FillEntry, HoursEntry, VisitEntry


def record_visit(
    *, by, machine: Machine, visited_at: datetime, entry: VisitEntry, visited_by=None, order=None, token: str = "", then=None
) -> Visit:
    """Write a visit with hours, fills, tests, readings, tasks and findings, then judge the readings. All of it or nothing.

    `then(visit)` runs inside the same act, for what hangs on the visit, such as its photos.
    """
    due_then = points_of_machine(machine) if entry.tasks else {}
    with act("Visit logged", by=by, token=token) as frame:
        reading = put_hours(machine, visited_at, entry.hours, by)
        life_h = reading.life_h if reading.is_confirmed else life_h_at(machine, visited_at)
        visit = Visit.objects.create(
            number=Counter.next_number("visit", "V"),
            machine=machine,
            visited_at=visited_at,
            visited_by=visited_by or by,
            order=order,
            hour_reading=reading,
            life_h=life_h,
            note=entry.note,
            recorded_by=by,
        )
        visit.fills.set([put_fill(machine, visited_at, life_h, fill, by) for fill in entry.fills])
        visit.tests.set(put_tests(visit, entry, by))
        _put_tasks(visit, entry, by, due_then)
        _put_findings(visit, entry, by)
        judge_after(machine, visited_at, list(visit.tests.all()), bool(entry.fills))
        if then is not None:
            then(visit)
        review_after(machine)
        frame.made = visit
    return visit


def put_hours(machine: Machine, at: datetime, hours: HoursEntry, by) -> HourReading:
    """Keep a meter reading: believed, or kept and doubted. One that cannot be and was not said to stand there so is refused."""
    judged = judge_hours(machine, hours.meter_h, at)
    if not judged.is_plausible and not hours.is_kept:
        raise Refused(f"{hours.typed} h: {judged.sentence} Check the meter, or say that it is kept as read.")
    meter = judged.meter or _first_meter(machine, at, hours.meter_h, by)
    return HourReading.objects.create(
        meter=meter,
        read_at=at,
        meter_h=hours.meter_h,
        life_h=meter.life_h(hours.meter_h),
        typed=hours.typed,
        origin=hours.origin,
        is_confirmed=judged.state != "impossible" and not hours.doubt,
        question=hours.doubt if judged.is_plausible else judged.question,
        recorded_by=by,
    )


def _first_meter(machine: Machine, at: datetime, meter_h: Decimal, by) -> HourMeter:
    """Return the meter that a first reading belongs to; hours before our record count as the meter shows them."""
    first = machine.meters.filter(kind=HourMeter.Kind.ENGINE).order_by("fitted_on", "pk").first()
    if first is not None:
        return first
    return HourMeter.objects.create(machine=machine, fitted_on=local_day(at), start_meter_h=meter_h, start_life_h=meter_h, recorded_by=by)


def put_fill(machine: Machine, at: datetime, life_h: Decimal | None, fill: FillEntry, by) -> FluidFill:
    return FluidFill.objects.create(machine=machine, filled_at=at, life_h=life_h, recorded_by=by, **fields_of(fill))


def fields_of(entry) -> dict:
    """Return the fields of an entry by name, records as they are."""
    return {name: getattr(entry, name) for name in entry.__dataclass_fields__}


def put_tests(visit: Visit, entry: VisitEntry, by) -> list[DriveTest]:
    """Write one test for each unit that was read, with its readings."""
    units = {line.unit.pk: line.unit for line in entry.readings}
    return [_put_test(visit, unit, entry, by) for unit in units.values()]


def _put_test(visit: Visit, unit, entry: VisitEntry, by) -> DriveTest:
    test = DriveTest.objects.create(
        number=Counter.next_number("test", "T"),
        unit=unit,
        machine=visit.machine,
        tested_at=visit.visited_at,
        tested_by=visit.visited_by,
        life_h=visit.life_h,
        component_h=component_h(unit, visit.machine, visit.life_h),
        **fields_of(entry.conditions),
    )
    Reading.objects.bulk_create(_reading_of(test, line, by) for line in entry.readings if line.unit == unit)
    return test


def _reading_of(test: DriveTest, line, by) -> Reading:
    fields = fields_of(line) | {"repeats": list(line.repeats), "unit": line.house_unit}
    del fields["house_unit"]
    return Reading(drive_test=test, recorded_by=by, **fields)


def _put_tasks(visit: Visit, entry: VisitEntry, by, due_then) -> None:
    """Write the tasks with what was due then, so that it can be said later whether they were done in time."""
    day = local_day(visit.visited_at)
    same = {"machine": visit.machine, "visit": visit, "done_on": day, "life_h": visit.life_h, "recorded_by": by}
    TaskDone.objects.bulk_create(TaskDone(**same, **fields_of(line), **_due_of(line, due_then)) for line in entry.tasks)


def _due_of(line, due_then) -> dict:
    unit = line.unit.pk if line.unit else 0
    hours, day = due_then.get((line.task.pk, unit)) or due_then.get((line.task.pk, 0)) or (None, None)
    return {"due_h": hours, "due_on": day}


def _put_findings(visit: Visit, entry: VisitEntry, by) -> None:
    Finding.objects.bulk_create(Finding(machine=visit.machine, visit=visit, recorded_by=by, **fields_of(line)) for line in entry.findings)


def judge_after(machine: Machine, since: datetime, tests, has_fills: bool) -> None:
    """Judge these tests; where oil was filled, also those that came later, for they ran on other oil than was thought."""
    for test in tests:
        assess_drive_test(test)
    if has_fills:
        assess_all(Reading.objects.standing().filter(drive_test__machine=machine, drive_test__tested_at__gt=since))


def record_hours(*, by, machine: Machine, at: datetime, hours: HoursEntry, token: str = "") -> HourReading:
    """Keep a meter reading on its own."""
    with act("Hours read", by=by, token=token) as frame:
        frame.made = put_hours(machine, at, hours, by)
    return frame.made


def record_fill(*, by, machine: Machine, at: datetime, fill: FillEntry, life_h: Decimal | None = None, token: str = "") -> FluidFill:
    """Keep a fill on its own; tests since then are judged again, for they ran on that oil."""
    with act("Oil filled", by=by, token=token) as frame:
        frame.made = put_fill(machine, at, life_h if life_h is not None else life_h_at(machine, at), fill, by)
        judge_after(machine, at, (), True)
        review_after(machine)
    return frame.made

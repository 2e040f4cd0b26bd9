"""Acts that put the record right: the old row stays, a new one takes its place and says why; what hung on it is judged again."""

from __future__ import annotations

from datetime import datetime

from django.db import transaction

from fleet.assess import assess_all, assess_drive_test
from fleet.judged_hours import judge_hours, life_h_at
from fleet.models import DriveTest, FluidFill, HourReading, Reading
from fleet.models.base import ChangedMeanwhile
from fleet.unit_hours import component_h
from shop.acts import act
from shop.advice.review import review_after
from shop.changes.rows import meanwhile_words
from shop.models import TaskDone, Visit
from shop.refusals import Refused
from shop.visits.entries import HoursEntry

MEANWHILE = "Somebody corrected this a moment ago: open the page anew and look at what stands there now."
NOT_COPIED = {"id", "supersedes", "correction_reason", "recorded_by", "recorded_at", "content_key"}
CONDITIONS = ("oil_temp_c", "engine_speed_rpm", "ambient_c", "temperature_point", "fluid", "drains", "moment", "note")


def put_right(row, *, by, reason: str, **changes):
    """Return a new row that takes the place of `row`, with `changes`. A row that was put right already is refused."""
    if not reason.strip():
        raise Refused("Write why this is corrected.")
    if type(row).objects.filter(supersedes=row).exists():
        raise Refused(MEANWHILE)
    same = {field.name: getattr(row, field.name) for field in row._meta.concrete_fields if field.name not in NOT_COPIED}
    return type(row).objects.create(**same | changes, supersedes=row, correction_reason=reason.strip(), recorded_by=by)


def correct_reading(*, by, reading: Reading, reason: str, token: str = "", **changes) -> Reading:
    """Put a reading right; the whole test is judged again, since readings may be compared with one another."""
    with act("Reading corrected", by=by, reason=reason, token=token) as frame:
        frame.made = put_right(reading, by=by, reason=reason, **changes)
        assess_drive_test(reading.drive_test)
        review_after(reading.drive_test.machine)
    return frame.made


def correct_fill(*, by, fill: FluidFill, reason: str, token: str = "", **changes) -> FluidFill:
    """Put a fill right; tests since then are judged again with the oil that it makes."""
    with act("Fill corrected", by=by, reason=reason, token=token) as frame:
        new = put_right(fill, by=by, reason=reason, **changes)
        for visit in fill.visits.all():
            visit.fills.add(new)
        judge_since(new.machine_id, min(fill.filled_at, new.filled_at))
        review_after(new.machine)
        frame.made = new
    return frame.made


def correct_test(*, by, test: DriveTest, reason: str, version: int, token: str = "", **conditions) -> DriveTest:
    """Put the conditions of a test right. The change record holds what they were; every reading is judged again."""
    unknown = set(conditions) - set(CONDITIONS)
    if unknown:
        raise ValueError(f"conditions must be among {', '.join(CONDITIONS)}, got {', '.join(sorted(unknown))}")
    if not reason.strip():
        raise Refused("Write why this is corrected.")
    with act("Test corrected", by=by, reason=reason, token=token) as frame:
        for name, value in conditions.items():
            setattr(test, name, value)
        try:
            test.save_over(version)
        except ChangedMeanwhile as meanwhile:
            raise Refused(meanwhile_words(meanwhile.record)) from None
        assess_drive_test(test)
        review_after(test.machine)
        frame.made = test
    return test


def correct_hours(
    *, by, reading: HourReading, hours: HoursEntry, reason: str, read_at: datetime | None = None, token: str = ""
) -> HourReading:
    """Put a meter reading right, or confirm a doubted one; visits, tests, tasks and fills of that moment get its hours."""
    at = read_at or reading.read_at
    machine = reading.meter.machine
    with act("Hours corrected", by=by, reason=reason, token=token) as frame:
        judged = judge_hours(machine, hours.meter_h, at, leaving_out=reading)
        if not judged.is_plausible and not hours.is_kept:
            raise Refused(f"{hours.typed} h: {judged.sentence} Check the meter, or say that it is kept as read.")
        meter = judged.meter or reading.meter
        new = put_right(
            reading,
            by=by,
            reason=reason,
            meter=meter,
            read_at=at,
            meter_h=hours.meter_h,
            life_h=meter.life_h(hours.meter_h),
            typed=hours.typed,
            is_confirmed=judged.state != "impossible",
            question="" if judged.is_plausible else judged.question,
        )
        carry_hours(reading, new, by)
        review_after(machine)
        frame.made = new
    return frame.made


@transaction.atomic
def carry_hours(old: HourReading, new: HourReading, by) -> None:
    """Give the corrected hours to everything that was written at the visits of that reading."""
    reason = f"hours corrected: {new.correction_reason}"[:300]
    for visit in Visit.objects.filter(hour_reading=old).select_related("machine"):
        visit.life_h = new.life_h if new.is_confirmed else life_h_at(visit.machine, visit.visited_at)
        visit.hour_reading = new
        visit.save(update_fields=["life_h", "hour_reading"])
        for test in visit.tests.select_related("unit"):
            test.life_h, test.component_h = visit.life_h, component_h(test.unit, visit.machine, visit.life_h)
            test.save(update_fields=["life_h", "component_h"])
        for done in TaskDone.objects.standing().filter(visit=visit):
            put_right(done, by=by, reason=reason, life_h=visit.life_h)
        for fill in visit.fills.standing():
            visit.fills.add(put_right(fill, by=by, reason=reason, life_h=visit.life_h))


def judge_since(machine_id: int, since: datetime) -> None:
    """Judge again what was read on a machine from a moment on."""
    assess_all(Reading.objects.standing().filter(drive_test__machine=machine_id, drive_test__tested_at__gte=since))

"""What the record does not know, or does not know well enough: each with what to do about it."""

from dataclasses import dataclass

from django.urls import reverse
from django.utils import timezone

from fleet.models import ConditionAssessment, HourReading, Instrument, Machine, OilSample, Reading
from shop.due.fleet_facts import fleet_hours, stamp_of_facts

OLD_READING_DAYS = 60
MOST = 100


@dataclass(frozen=True)
class Gap:
    """One thing that is not known, and where to put it right."""

    words: str
    note: str
    address: str


@dataclass(frozen=True)
class GapList:
    title: str
    remedy: str
    rows: list[Gap]
    count: int


def gap_lists() -> list[GapList]:
    return [
        _listed("Machines whose hours are old or never read", "Read the hour meter at the next call.", _machines_without_hours()),
        _listed("Hour readings that nobody confirmed", "Confirm or correct each on its machine's page.", _unconfirmed_hours()),
        _listed(
            "Readings without oil temperature, engine speed or instrument",
            "They are kept and not judged; read them again.",
            _bare_readings(),
        ),
        _listed("Machines whose oil is not known", "Without the oil nothing can be expected of a drive.", _unknown_oil()),
        _listed("Instruments out of calibration", "Readings taken with them are not judged.", _instruments_due()),
        _listed("Oil samples that no machine could be found for", "Match each to its machine.", _unmatched_samples()),
    ]


def _listed(title: str, remedy: str, rows: list[Gap]) -> GapList:
    return GapList(title, remedy, rows[:MOST], len(rows))


def _machines_without_hours() -> list[Gap]:
    frame = fleet_hours(stamp_of_facts()).machines
    today = timezone.localdate()
    age = {row.pk: (today - row.reading_day.date()).days if row.reading_day == row.reading_day else None for row in frame.itertuples()}
    old = {pk: days for pk, days in age.items() if days is None or days > OLD_READING_DAYS}
    machines = Machine.objects.in_bulk(list(old))
    order = sorted(old, key=lambda pk: (old[pk] is not None, -(old[pk] or 0), machines[pk].number))
    return [_of_machine(machines[pk], "never read" if old[pk] is None else f"last read {old[pk]} days ago") for pk in order]


def _of_machine(machine: Machine, note: str) -> Gap:
    return Gap(str(machine), note, reverse("machine", args=[machine.pk]))


def _unconfirmed_hours() -> list[Gap]:
    rows = HourReading.objects.standing().filter(is_confirmed=False).select_related("meter__machine").order_by("-read_at")
    return [_of_machine(row.meter.machine, f"{row.meter_h} h on {row.read_at:%-d %b %Y}: {row.question}") for row in rows]


def _bare_readings() -> list[Gap]:
    judged = ConditionAssessment.objects.in_force().filter(reading__superseded_by=None, reason__startswith="No ")
    rows = (
        Reading.objects.filter(assessments__in=judged).select_related("drive_test__unit", "drive_test").order_by("-drive_test__tested_at")
    )
    return [
        Gap(
            f"{row.drive_test.unit.tag}, {row}",
            f"{row.drive_test} of {row.drive_test.tested_at:%-d %b %Y}",
            reverse("working", args=[row.pk]),
        )
        for row in rows
    ]


def _unknown_oil() -> list[Gap]:
    known = Machine.objects.in_use().filter(
        fills__superseded_by=None, fills__kind__in=["first_fill", "change"], fills__product__isnull=False
    )
    rows = Machine.objects.in_use().exclude(pk__in=known.values("pk")).order_by("number")
    return [_of_machine(row, "no fill with a named product on record") for row in rows]


def _instruments_due() -> list[Gap]:
    today = timezone.localdate()
    out = []
    for row in Instrument.objects.in_service().prefetch_related("calibrations"):
        last = max(row.calibrations.all(), key=lambda c: (c.done_on, c.pk), default=None)
        if last is None or last.result == "failed" or last.due_on < today:
            note = (
                "never calibrated on record"
                if last is None
                else f"{last.get_result_display().lower()} on {last.done_on:%-d %b %Y}, due {last.due_on:%-d %b %Y}"
            )
            out.append(Gap(f"{row.tag} {row.get_kind_display().lower()}", note, reverse("instrument", args=[row.pk])))
    return out


def _unmatched_samples() -> list[Gap]:
    rows = OilSample.objects.filter(machine=None).order_by("-drawn_at")
    return [Gap(row.label, row.unmatched_reason, reverse("reports")) for row in rows]

"""Whether a new meter reading can be believed, and the life hours that are believed at a moment."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from decimal import ROUND_HALF_UP, Decimal

import numpy as np
from django.db.models import Q
from django.utils import timezone

from calcs.day_reached import hours_between
from calcs.meter import ReadingJudgement, judge_reading
from calcs.thousands import grouped
from calcs.usage import KIND_MONTH_H, usage_table
from fleet.models import HourMeter, HourReading, Machine

TENTH = Decimal("0.1")
DOUBT = ("plausible", "unusual", "impossible")
USAGE_KINDS = {Machine.Kind.FORAGE: "forage harvester"}  # where the word in the book is shorter


@dataclass(frozen=True)
class JudgedHours:
    """What is thought of a new meter reading: the meter it belongs to, the life hours it means, and the judgement."""

    meter: HourMeter | None
    meter_h: Decimal
    life_h: Decimal
    state: str  # plausible, unusual or impossible
    question: str
    suggestions: tuple[Decimal, ...] = ()

    @property
    def is_plausible(self) -> bool:
        return self.state == "plausible"

    @property
    def sentence(self) -> str:
        """The question with the mark it ends with."""
        return self.question if self.question.endswith("?") else f"{self.question}."


def tenth(hours) -> Decimal:
    """Return hours to the tenth, as they are kept."""
    return Decimal(str(hours)).quantize(TENTH, ROUND_HALF_UP)


def local_day(moment: datetime) -> date:
    """Return the day of a moment in the shop's own zone."""
    return timezone.localtime(moment).date()


def believed_hours(machine: Machine, at: datetime | None = None) -> HourReading | None:
    """Return the last reading of a machine that hours may be worked out from, up to a moment."""
    readings = HourReading.objects.accepted().of(machine).filter(meter__kind=HourMeter.Kind.ENGINE).latest_first()
    return readings.filter(read_at__lte=at).first() if at else readings.first()


def life_h_at(machine: Machine, at: datetime | None = None) -> Decimal:
    """Return the life hours last known of a machine up to a moment; those of its meter when fitted where nothing was read yet."""
    reading = believed_hours(machine, at)
    if reading is not None:
        return reading.life_h
    meter = machine.meters.filter(kind=HourMeter.Kind.ENGINE).order_by("fitted_on", "pk").last()
    return meter.start_life_h if meter else Decimal("0.0")


def meters_on(machine: Machine, day: date) -> list[HourMeter]:
    """Return the meters a reading of that day may have come from, the newest first: two on the day of a replacement."""
    meters = machine.meters.filter(kind=HourMeter.Kind.ENGINE, fitted_on__lte=day)
    return list(meters.filter(Q(ended_on=None) | Q(ended_on__gte=day)).order_by("-fitted_on", "-pk"))


def judge_hours(machine: Machine, meter_h: Decimal, at: datetime, leaving_out: HourReading | None = None) -> JudgedHours:
    """Judge a new meter reading of a machine between its neighbours in time; `leaving_out` is the reading it corrects."""
    meters = meters_on(machine, local_day(at))
    if not meters:
        if machine.meters.filter(kind=HourMeter.Kind.ENGINE).exists():
            return JudgedHours(None, meter_h, meter_h, "impossible", "dated before the first meter of this machine was fitted")
        return JudgedHours(None, meter_h, meter_h, "plausible", "first reading of this machine")
    return min((judge_on(meter, meter_h, at, leaving_out) for meter in meters), key=lambda judged: DOUBT.index(judged.state))


def judge_on(meter: HourMeter, meter_h: Decimal, at: datetime, leaving_out: HourReading | None = None) -> JudgedHours:
    """Judge a new reading of one meter."""
    seen = meter.readings.accepted().exclude(pk=leaving_out.pk if leaving_out else None)
    before = seen.filter(read_at__lte=at).order_by("read_at", "meter_h").last()
    after = seen.filter(read_at__gt=at).order_by("read_at", "meter_h").first()
    last_h, last_on = (before.meter_h, local_day(before.read_at)) if before else (meter.start_meter_h, meter.fitted_on)
    day = local_day(at)
    found = judge_reading(float(meter_h), day, float(last_h), last_on, usual_h_per_day(meter.machine, last_on, day))
    if found.state != "impossible":
        found = _judged_against_next(found, meter, meter_h, day, after)
    if found.state != "impossible" and day in (meter.fitted_on, meter.ended_on) and not _fits_other_meter(meter, meter_h, at):
        found = ReadingJudgement("impossible", "on the day the meter was replaced, at an hour when the other meter was on")
    fair = tuple(Decimal(str(value)) for value, _ in found.suggestions)
    return JudgedHours(meter, meter_h, meter.life_h(meter_h), found.state, found.reason, fair)


def _judged_against_next(
    found: ReadingJudgement, meter: HourMeter, meter_h: Decimal, day: date, after: HourReading | None
) -> ReadingJudgement:
    """Refuse to believe a reading that what came later does not bear out."""
    if after is None and meter.end_meter_h is None:
        return found
    next_h, next_on = (after.meter_h, local_day(after.read_at)) if after else (meter.end_meter_h, meter.ended_on)
    if meter_h > next_h:
        return ReadingJudgement("impossible", f"{grouped(meter_h - next_h)} h higher than the reading of {next_on:%-d %b %Y} after it")
    step = judge_reading(float(next_h), next_on, float(meter_h), day)
    if step.state == "impossible":
        return ReadingJudgement("impossible", f"up to the reading of {next_on:%-d %b %Y} after it there are {step.reason}")
    return found


def _fits_other_meter(meter: HourMeter, meter_h: Decimal, at: datetime) -> bool:
    """Say whether life hours run on between this reading and those of the machine's other meters."""
    others = HourReading.objects.accepted().of(meter.machine).filter(meter__kind=meter.kind).exclude(meter=meter)
    before = others.filter(read_at__lte=at).order_by("read_at", "life_h").last()
    after = others.filter(read_at__gt=at).order_by("read_at", "life_h").first()
    life_h = meter.life_h(meter_h)
    return not (before and before.life_h > life_h) and not (after and after.life_h < life_h)


def usual_h_per_day(machine: Machine, start: date, end: date) -> float | None:
    """Return the hours a day expected of a machine in a span of days, from its own readings and its kind; None for no span."""
    if end < start:
        return None
    seen = HourReading.objects.accepted().of(machine).filter(read_at__date__lte=end).order_by("read_at").values_list("read_at", "life_h")
    days = np.array([local_day(at) for at, _ in seen], "datetime64[D]")
    prior = KIND_MONTH_H[USAGE_KINDS.get(machine.kind, machine.kind)]
    table = usage_table(np.zeros(len(days), int), days, [float(h) for _, h in seen], [0], [0], [prior])
    begin = np.datetime64(start) - np.timedelta64(1 if start == end else 0, "D")
    span = int((np.datetime64(end) - begin).astype(int))
    return float(hours_between(table.month_h, [begin], [np.datetime64(end)])[0]) / span

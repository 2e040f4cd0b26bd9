"""Hours as they stand: of a machine by its meters, of a drive unit by where it was fitted."""

from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from decimal import Decimal

from django.db.models import OuterRef, Q, Subquery
from django.utils import timezone

from calcs.meter import judge_reading
from fleet.models import HourMeter, HourReading, Installation, Machine

TENTH = Decimal("0.1")


def with_hours(machines):
    """Machines with `hours_h` and `hours_at`, their latest accepted life hours and when they were read."""
    latest = (
        HourReading.objects.accepted().filter(meter__machine=OuterRef("pk"), meter__kind=HourMeter.Kind.ENGINE).order_by("-read_at", "-life_h", "-pk")
    )
    return machines.annotate(hours_h=Subquery(latest.values("life_h")[:1]), hours_at=Subquery(latest.values("read_at")[:1]))


def latest_hours(machine: Machine) -> HourReading | None:
    """Return the latest accepted reading of the engine meter."""
    return HourReading.objects.accepted().of(machine).filter(meter__kind=HourMeter.Kind.ENGINE).latest_first().first()


def life_h_by_machine(machine_ids) -> dict[int, Decimal]:
    """Return the latest accepted life hours of each of these machines, in one query."""
    rows = with_hours(Machine.objects.filter(pk__in=set(machine_ids))).order_by("pk").values_list("pk", "hours_h")
    return {pk: life_h for pk, life_h in rows if life_h is not None}


def meter_on(machine: Machine, day: date) -> HourMeter | None:
    """Return the engine meter that ran on a day."""
    meters = machine.meters.filter(Q(ended_on=None) | Q(ended_on__gte=day), kind=HourMeter.Kind.ENGINE, fitted_on__lte=day)
    return meters.order_by("-fitted_on", "-pk").first()


def readings_around(meter: HourMeter, day: date) -> tuple[HourReading | None, HourReading | None]:
    """Return the accepted readings of a meter up to a day and after it, those nearest to it."""
    accepted = meter.readings.accepted()
    before = accepted.filter(read_at__date__lte=day).latest_first().first()
    return before, accepted.filter(read_at__date__gt=day).order_by("read_at", "life_h", "pk").first()


def hours_refusal(meter: HourMeter, meter_h: Decimal, day: date) -> str | None:
    """Return why a reading of `meter` cannot be right on a day, in one sentence; None if it can."""
    before, after = readings_around(meter, day)
    if meter_h < meter.start_meter_h:
        return f"{meter_h} h is below {meter.start_meter_h} h, where this meter began on {meter.fitted_on}."
    last_h, last_on = (before.meter_h, before.read_at.date()) if before else (meter.start_meter_h, meter.fitted_on)
    judged = judge_reading(float(meter_h), day, float(last_h), last_on)
    if judged.state == "impossible":
        meant = f" Was {judged.suggestions[0][0]:g} h meant?" if judged.suggestions else ""
        return f"{meter_h} h does not follow {last_h} h of {last_on}: {judged.reason}.{meant}"
    highest = after.meter_h if after else meter.end_meter_h
    if highest is not None and meter_h > highest:
        return f"{meter_h} h is above {highest} h, which was read later."
    return None


def moment_on(day: date, after: datetime | None = None) -> datetime:
    """Return a moment on a day at which something without a time was read: now, or else noon, but after `after`."""
    if day == timezone.localdate():
        return timezone.now()
    noon = timezone.make_aware(datetime.combine(day, time(12)))
    return max(noon, after + timedelta(seconds=1)) if after and timezone.localtime(after).date() == day else noon


@dataclass(frozen=True)
class Stay:
    """A unit in a machine, or out of one, between two days; hours are component hours."""

    place: str
    machine: Machine | None
    installation: Installation | None
    from_date: date
    to_date: date | None
    from_h: Decimal
    to_h: Decimal | None
    is_store: bool = False

    @property
    def gained_h(self) -> Decimal:
        return (self.to_h or self.from_h) - self.from_h


def stays_of(unit, installations, life_h: dict[int, Decimal]) -> list[Stay]:
    """Return where a unit was, in order, with gaps as stays in store. `life_h` are the life hours now of the machines."""
    stays, hours, last_day = [], unit.hours_at_birth_h, None
    for fitted in sorted(installations, key=lambda row: (row.from_date, row.pk)):
        if last_day and fitted.from_date > last_day:
            stays.append(Stay("In store", None, None, last_day, fitted.from_date, hours, hours, is_store=True))
        begun = hours
        hours = begun + run_h(fitted, life_h)
        place = f"{fitted.machine.number} {fitted.machine.maker} {fitted.machine.model}"
        stays.append(Stay(place, fitted.machine, fitted, fitted.from_date, fitted.to_date, begun, hours))
        last_day = fitted.to_date
    if stays and last_day:
        stays.append(Stay(unit.get_keeping_display(), None, None, last_day, None, hours, hours, is_store=True))
    return stays


def run_h(fitted: Installation, life_h: dict[int, Decimal]) -> Decimal:
    """Return the hours a unit ran in one installation, to its end or to the latest life hours of the machine."""
    end = fitted.to_life_h if fitted.to_life_h is not None else life_h.get(fitted.machine_id, fitted.from_life_h)
    return max(end - fitted.from_life_h, Decimal(0))


def component_hours(unit) -> Decimal:
    """Return the component hours of a unit now: what it had before the record, and every stay in a machine."""
    fitted = list(unit.installations.all())
    life_h = life_h_by_machine(row.machine_id for row in fitted if row.to_life_h is None)
    return unit.hours_at_birth_h + sum((run_h(row, life_h) for row in fitted), Decimal(0))

"""Hours for lists and pages: the latest of many machines at once, and where a unit was with its own hours."""

from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from decimal import Decimal

from django.db.models import OuterRef, Subquery
from django.utils import timezone

from fleet.models import HourMeter, HourReading, Installation, Machine


def with_hours(machines):
    """Machines with `hours_h` and `hours_at`, their latest accepted life hours and when they were read."""
    latest = (
        HourReading.objects.accepted()
        .filter(meter__machine=OuterRef("pk"), meter__kind=HourMeter.Kind.ENGINE)
        .order_by("-read_at", "-life_h", "-pk")
    )
    return machines.annotate(hours_h=Subquery(latest.values("life_h")[:1]), hours_at=Subquery(latest.values("read_at")[:1]))


def life_h_by_machine(machine_ids) -> dict[int, Decimal]:
    """Return the latest accepted life hours of each of these machines, in one query."""
    rows = with_hours(Machine.objects.filter(pk__in=set(machine_ids))).order_by("pk").values_list("pk", "hours_h")
    return {pk: life_h for pk, life_h in rows if life_h is not None}


def moment_on(day: date, machine: Machine) -> datetime:
    """Return a moment for a reading that has a day and no time: now, or noon, or right after what was read on that day before."""
    if day == timezone.localdate():
        return timezone.now()
    noon = timezone.make_aware(datetime.combine(day, time(12)))
    end = timezone.make_aware(datetime.combine(day, time.max))
    last = HourReading.objects.accepted().of(machine).filter(read_at__gte=noon, read_at__lte=end).latest_first().first()
    return min(last.read_at + timedelta(seconds=1), end) if last else noon


@dataclass(frozen=True)
class Stay:
    """A unit in a machine, or out of one, between two days; hours are component hours."""

    place: str
    machine: Machine | None
    installation: Installation | None
    from_date: date
    to_date: date | None
    from_h: Decimal
    to_h: Decimal

    @property
    def gained_h(self) -> Decimal:
        return self.to_h - self.from_h


def stays_of(unit, installations, life_h: dict[int, Decimal]) -> list[Stay]:
    """Return where a unit was, in order, with gaps as stays in store. `life_h` are the life hours now of the machines."""
    stays, hours, last_day = [], unit.hours_at_birth_h, None
    for fitted in sorted(installations, key=lambda row: (row.from_date, row.pk)):
        if last_day and fitted.from_date > last_day:
            stays.append(Stay("In store", None, None, last_day, fitted.from_date, hours, hours))
        begun, hours = hours, hours + run_h(fitted, life_h)
        stays.append(Stay(str(fitted.machine), fitted.machine, fitted, fitted.from_date, fitted.to_date, begun, hours))
        last_day = fitted.to_date
    if stays and last_day:
        stays.append(Stay(unit.get_keeping_display(), None, None, last_day, None, hours, hours))
    return stays


def run_h(fitted: Installation, life_h: dict[int, Decimal]) -> Decimal:
    """Return the hours a unit ran in one installation, to its end or to the latest life hours of the machine."""
    end = fitted.to_life_h if fitted.to_life_h is not None else life_h.get(fitted.machine_id, fitted.from_life_h)
    return max(end - fitted.from_life_h, Decimal(0))


def hours_of_units(units) -> dict[int, Decimal]:
    """Return the component hours now of units whose installations were fetched with them, in one query for all."""
    stays = {unit.pk: list(unit.installations.all()) for unit in units}
    life_h = life_h_by_machine(stay.machine_id for rows in stays.values() for stay in rows if stay.to_life_h is None)
    return {unit.pk: unit.hours_at_birth_h + sum((run_h(stay, life_h) for stay in stays[unit.pk]), Decimal(0)) for unit in units}

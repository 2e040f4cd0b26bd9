"""What the list and the page of machines hold."""

from dataclasses import dataclass
from decimal import Decimal

from django.db.models import Prefetch
from django.utils import timezone

from fleet.fluid_in_use import oil_in
from fleet.hours import hours_of_units, with_hours
from fleet.judged_hours import believed_hours
from fleet.models import HourMeter, HourReading, Installation, Machine
from shop.due.rows import due_of_machine
from shop.models import Visit, WorkOrder

OLD_READING_DAYS = 60


def machines_listed(wanted: dict):
    """Machines that answer to the filters, with owner, latest hours and what is fitted."""
    machines = Machine.objects.naming(wanted["q"]) if wanted.get("q") else Machine.objects.all()
    for name in ("customer", "kind", "status"):
        if name in wanted:
            machines = machines.filter(**{name: wanted[name]})
    fitted = Prefetch("installations", Installation.objects.running().select_related("unit"), to_attr="fitted")
    return with_hours(machines).select_related("customer").prefetch_related(fitted)


@dataclass(frozen=True)
class Fitted:
    """A unit in the machine now, with its component hours."""

    installation: Installation
    component_h: Decimal

    @property
    def unit(self):
        return self.installation.unit


@dataclass(frozen=True)
class Segment:
    """One meter with its first and last figure, on the meter and in life hours."""

    meter: HourMeter
    last_h: Decimal | None
    last_life_h: Decimal | None


def fitted_now(machine: Machine) -> list[Fitted]:
    """Return what is fitted, by position, with component hours over all machines it was in."""
    running = (
        machine.installations.running().select_related("unit__drive_model").prefetch_related("unit__installations").order_by("position")
    )
    hours = hours_of_units([row.unit for row in running])
    return [Fitted(row, hours[row.unit_id]) for row in running]


def positions_over_time(machine: Machine) -> list[dict]:
    """Return every stay of a unit in this machine by position, with the time a position stood empty."""
    rows, before = [], None
    for stay in machine.installations.select_related("unit").order_by("position", "from_date", "pk"):
        if before and before.position == stay.position and before.to_date and before.to_date < stay.from_date:
            rows.append({"position": stay.get_position_display(), "gap_from": before.to_date, "gap_to": stay.from_date})
        rows.append({"position": stay.get_position_display(), "stay": stay})
        before = stay
    return rows


def segments_of(machine: Machine) -> list[Segment]:
    """Return the meters in order, each with its last reading."""
    segments = []
    latest = {row.meter_id: row for row in HourReading.objects.accepted().of(machine).order_by("read_at", "pk")}
    for meter in machine.meters.all():
        last_h = meter.end_meter_h if meter.end_meter_h is not None else (latest[meter.pk].meter_h if meter.pk in latest else None)
        segments.append(Segment(meter, last_h, meter.life_h(last_h) if last_h is not None else None))
    return segments


def machine_page(machine: Machine) -> dict:
    """Return everything the page of one machine shows."""
    reading = believed_hours(machine)
    return {
        "machine": machine,
        "reading": reading,
        "reading_is_old": bool(reading) and (timezone.now() - reading.read_at).days > OLD_READING_DAYS,
        "doubted": HourReading.objects.standing().of(machine).filter(is_confirmed=False),
        "fitted": fitted_now(machine),
        "positions": positions_over_time(machine),
        "segments": segments_of(machine),
        "oil": oil_in(machine),
        "orders": WorkOrder.objects.open().of(machine).select_related("unit"),
        "findings": machine.findings.filter(closed_at=None).select_related("unit")[:20],
        "visits": Visit.objects.of(machine).select_related("visited_by")[:10],
        "owners": machine.ownerships.select_related("customer").order_by("-from_date"),
        "due": due_of(machine),
    }


def due_of(machine: Machine) -> list:
    """Return the tasks of a machine that are due, soon due, put off or held back, most urgent first."""
    return [row for row in due_of_machine(machine) if row.state != "not due"]

"""SEQUENCE of calendar entries: the number of the latest change entry that touched what they say; it rises with every change, never falls."""

from collections.abc import Iterable, Sequence
from datetime import date

from django.db.models import CharField, Max
from django.db.models.functions import Cast

from fleet.models import FluidFill, HourMeter, HourReading, Installation
from shop.due.rows import DueRow
from shop.models import Booking, Deferral, Extension, Finding, SeasonBlock, SeverityFactor, ShopFigure, TaskDone
from shop.models.changes import ChangeEntry

OF_MACHINE = (HourMeter, Installation, TaskDone, Deferral, Extension, Finding, FluidFill)
OF_ALL = (SeasonBlock, SeverityFactor, ShopFigure)
COUNTED_FROM = date(2020, 1, 1)


def sequences_of_bookings(bookings: Iterable[Booking]) -> dict[int, int]:
    """Return a number for each booking: the latest entry about it or about whom and what it names."""
    bookings = list(bookings)
    own = latest_of(Booking, [booking.pk for booking in bookings])
    out = {booking.pk: own.get(booking.pk, 0) for booking in bookings}
    for name in ("machine", "technician", "bay", "order"):
        _raise_by(out, {booking.pk: getattr(booking, name) for booking in bookings})
    _raise_by(out, {booking.pk: booking.machine.site for booking in bookings})
    return out


def sequences_of_tasks(rows: Sequence[DueRow], today: date) -> dict[str, int]:
    """Return a number for each row: the latest entry about its machine, rule, task and unit or about seasons and factors, and the day, since a
    state changes with the day alone."""
    of_all, of_machine = latest_over_all(), latest_by_machine({row.machine.pk for row in rows})
    out = {row.key: max(of_all, of_machine.get(row.machine.pk, 0)) for row in rows}
    for name in ("machine", "rule", "task", "unit"):
        _raise_by(out, {row.key: getattr(row, name) for row in rows})
    _raise_by(out, {row.key: row.machine.site for row in rows})
    return {key: number + max(0, (today - COUNTED_FROM).days) for key, number in out.items()}


def _raise_by(numbers: dict, named: dict) -> None:
    """Raise each number to the latest entry about the record it names."""
    records = [record for record in named.values() if record is not None]
    if not records:
        return
    latest = latest_of(type(records[0]), {record.pk for record in records})
    for key, record in named.items():
        if record is not None:
            numbers[key] = max(numbers[key], latest.get(record.pk, 0))


def latest_of(model, keys: Iterable[int]) -> dict[int, int]:
    """Return the number of the latest change entry of each of these records."""
    entries = ChangeEntry.objects.filter(table=model._meta.db_table, row__in=[str(key) for key in keys]).order_by()
    return {int(row): latest for row, latest in entries.values_list("row").annotate(Max("pk"))}


def latest_by_machine(machines: set[int]) -> dict[int, int]:
    """Return the number of the latest change entry about what was read, done, found, put off, filled or fitted on each machine."""
    out: dict[int, int] = {}
    for model, path in [*((model, "machine") for model in OF_MACHINE), (HourReading, "meter__machine")]:
        children = model._base_manager.filter(**{f"{path}__among": machines}).order_by()
        machine_of = dict(children.values_list("pk", path))
        rows = children.annotate(row=Cast("pk", CharField())).values("row")
        entries = ChangeEntry.objects.filter(table=model._meta.db_table, row__in=rows).order_by()
        for row, latest in entries.values_list("row").annotate(Max("pk")):
            machine = machine_of[int(row)]
            out[machine] = max(out.get(machine, 0), latest)
    return out


def latest_over_all() -> int:
    """Return the number of the latest change entry about what holds for the whole fleet."""
    tables = [model._meta.db_table for model in OF_ALL]
    return ChangeEntry.objects.filter(table__in=tables).aggregate(latest=Max("pk"))["latest"] or 0


def mark_of_shop() -> str:
    """Return a few signs that are this shop's own and stay: two shops in one person's calendar must not share a name."""
    first = ChangeEntry.objects.order_by("pk").values_list("hash", flat=True).first()
    return (first or "")[:12]

"""What the book knows that a row of a file may name: drives, machines, instruments, people; asked of the database once for a whole file."""

from __future__ import annotations

from datetime import date

from django.contrib.auth import get_user_model

from fleet.models import DriveUnit, Instrument, Machine
from fleet.models.base import folded, serial_key
from shop.exchange.cells import CellRefused


class KnownBook:
    """Look-ups by serial, tag, number and name."""

    def __init__(self, by):
        self.by = by
        self.units = list(DriveUnit.objects.select_related("drive_model").prefetch_related("installations__machine__customer"))
        self.instruments = {str(row.pk): row for row in Instrument.objects.prefetch_related("calibrations")}
        self._gauges = {folded(row.tag): row for row in self.instruments.values()}
        self._serials: dict[str, list[DriveUnit]] = {}
        for unit in self.units:
            self._serials.setdefault(unit.serial_key, []).append(unit)
        self._tags = {folded(unit.tag): unit for unit in self.units}
        self._machines = {name: row for row in Machine.objects.all() for name in (folded(row.number), row.serial_key)}
        self._people = people_by_name()

    def unit(self, serial: str, tag: str, model: str) -> DriveUnit:
        """Return the drive that a serial or a tag names; a serial may stand on drives of two models."""
        if serial.startswith("=") or tag.startswith("="):
            raise CellRefused("A formula stands where a serial belongs.", "The serial as it stands on the plate")
        found = self._tags.get(folded(tag)) if tag else None
        if tag and found is None:
            raise CellRefused(f"No drive has the tag “{tag[:40]}”.", "The tag of a drive in this book", "tag")
        if not serial:
            if found is None:
                raise CellRefused("No serial.", "The serial as it stands on the plate")
            return found
        of_model = self._of_model(serial, model)
        if found is not None and found not in of_model:
            raise CellRefused(
                f"Serial “{serial[:40]}” and tag “{tag[:40]}” are not of the same drive.", "The serial and the tag of one drive"
            )
        return found or of_model[0]

    def _of_model(self, serial: str, model: str) -> list[DriveUnit]:
        same = self._serials.get(serial_key(serial), [])
        if not same:
            raise CellRefused(f"No drive has the serial “{serial[:40]}”.", self._nearly(serial))
        fit = [unit for unit in same if not model or folded(unit.drive_model.code) == folded(model)]
        if not fit:
            are = " or ".join(unit.drive_model.code for unit in same)
            raise CellRefused(
                f"Serial “{serial[:40]}” is a {are}, not a {model[:40]}.", f"{are}, or the serial of the other drive", "model"
            )
        if len(fit) > 1:
            raise CellRefused(f"Serial “{serial[:40]}” stands on drives of several models.", "The drive model in a column of its own")
        return fit

    def _nearly(self, serial: str) -> str:
        bare = serial_key(serial).lstrip("0")
        lost = sorted(unit.serial for unit in self.units if bare and unit.serial_key.lstrip("0") == bare)
        return (
            f"Perhaps {lost[0]}: spreadsheets drop leading zeros"
            if lost
            else "The serial of a drive in this book, or enter the drive first"
        )

    def machine(self, text: str) -> Machine | None:
        """Return the machine that a number or a serial names."""
        if not text:
            return None
        found = self._machines.get(folded(text)) or self._machines.get(serial_key(text))
        if found is None:
            raise CellRefused(f"No machine “{text[:40]}”.", "The number or the serial of a machine in this book")
        return found

    def place(self, unit: DriveUnit, day: date, machine: Machine | None) -> Machine:
        """Return the machine that a drive was in on a day."""
        there = [
            stay.machine for stay in unit.installations.all() if stay.from_date <= day and (stay.to_date is None or day <= stay.to_date)
        ]
        if not there:
            raise CellRefused(
                f"{unit} was in no machine on {day:%Y-%m-%d}.", "The right day, or the right drive; or enter first where it was fitted"
            )
        if machine is not None and machine not in there:
            raise CellRefused(f"{unit} was in {there[0].number} on {day:%Y-%m-%d}, not in {machine.number}.", there[0].number)
        if machine is None and len(set(there)) > 1:
            numbers = " and ".join(each.number for each in there)
            raise CellRefused(f"{unit} was in {numbers} on {day:%Y-%m-%d}.", "The machine in a column of its own")
        return machine or there[0]

    def gauge(self, text: str):
        """Return the instrument with a tag."""
        if not text:
            return None
        found = self._gauges.get(folded(text))
        if found is None:
            raise CellRefused(f"No instrument has the tag “{text[:40]}”.", "The tag of an instrument in this book, or nothing")
        return found

    def person(self, text: str):
        """Return the person whom a name or initials mean, if it is one alone."""
        return self._people.get(folded(text))


def people_by_name() -> dict[str, object]:
    """Return people by user name, full name and initials; what means two of them means none."""
    found: dict[str, set] = {}
    rows = {row.pk: row for row in get_user_model().objects.all()}
    for row in rows.values():
        initials = "".join(part[:1] for part in row.get_full_name().split())
        for name in {folded(row.username), folded(row.get_full_name()), folded(initials), folded(row.first_name)} - {""}:
            found.setdefault(name, set()).add(row.pk)
    return {name: rows[next(iter(keys))] for name, keys in found.items() if len(keys) == 1}

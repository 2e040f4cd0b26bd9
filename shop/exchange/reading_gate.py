"""Rows of a sheet of readings through the same gate as the page: the form of the hours and the line of a reading judge every cell."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from django.core.exceptions import ValidationError
from django.utils import timezone

from calcs.quantities import QUANTITIES
from fleet.models import DriveModel, DriveUnit
from fleet.models.base import folded
from shop.exchange.cells import NOON, CellRefused, clock_of, day_of, local_moment, moment_of, plain_number
from shop.exchange.columns import Column, Layout
from shop.exchange.keys import row_key
from shop.exchange.known import KnownBook
from shop.exchange.plans import Choices, ReadRow, Refusal
from shop.exchange.reading_words import AS_READ, HOURS_INSTEAD, INSTEAD, LONGEST_NOTE, direction_named, is_yes, quantity_named
from shop.exchange.sheets import Sheet
from shop.exchange.units import only_unit, unit_for
from shop.measures import MeasureField
from shop.visits.entries import HoursEntry
from shop.visits.forms import HoursForm
from shop.visits.reading_lines import ReadingLine
from shop.visits.shelf import Shelf, gauge_words, last_readings

CONDITIONS = {"oil_temp": "oil_temp", "engine_speed": "engine_speed", "at_loop": "loop_pressure", "at_case": "case_pressure"}
FROM_FORM = {"loop_pressure": "at_loop", "case_pressure": "at_case", "value_unit": "unit", "instrument": "gauge"}


class ReadingGate:
    """Judges the rows of one sheet; `refused` grows, `rows` are what may be written."""

    def __init__(self, sheet: Sheet, layout: Layout, book: KnownBook, choices: Choices):
        self.sheet, self.layout, self.book, self.choices = sheet, layout, book, choices
        self.rows: list[ReadRow] = []
        self.refused: list[Refusal] = []
        self.strangers: set[str] = set()
        self.has_no_time = False
        self._hours: dict[tuple, HoursEntry | str] = {}
        self._shelves: dict[int, Shelf] = {}
        today = timezone.localdate()
        self._gauge_choices = [("", "not stated"), *((key, gauge_words(row, today)) for key, row in book.instruments.items())]
        self._last = last_readings(book.units)

    def read(self, say: Callable[[int], None] = lambda done: None) -> None:
        """Judge every row below the headings."""
        for done, (line, cells) in enumerate(self.sheet.rows[self.layout.first :], start=1):
            if not self._is_remark(cells):
                self._read_row(line, cells)
            if done % 200 == 0:
                say(done)

    def _is_remark(self, cells: list[str]) -> bool:
        return cells[0].startswith("#") if cells else True

    def _refuse(self, line: int, column: Column | None, text: str, reason: str, instead: str = "") -> None:
        heading = f"{column.letters} {column.heading}" if column else ""
        self.refused.append(Refusal(line, heading, text[:200], reason, instead, self.sheet.name))

    def _read_row(self, line: int, cells: list[str]) -> None:
        if self._is_out_of_shape(line, cells):
            return
        given = {column.field: cells[column.place] if column.place < len(cells) else "" for column in self.layout.columns}
        before = len(self.refused)
        told = self._common(line, given)
        entries = list(self._wide(line, given, told) if self.layout.is_wide else self._long(line, given, told))
        if len(self.refused) == before:
            self.rows += [self._row(line, told, entry) for entry in entries]

    def _is_out_of_shape(self, line: int, cells: list[str]) -> bool:
        width = self.layout.width
        if len(cells) < width and not self.sheet.pads_rows:
            self._refuse(
                line, None, "", f"Columns are missing: {len(cells)} of {width} are there.", "All columns, those with nothing in them too"
            )
            return True
        if any(cells[width:]):
            self._refuse(
                line,
                None,
                next(filter(None, cells[width:])),
                f"More columns than headings: {len(cells)} for {width}.",
                "One cell a heading",
            )
            return True
        return False

    def _asked(self, line: int, given: dict, field: str, ask: Callable, *more):
        """Return what `ask` makes of a cell, or refuse the cell."""
        column = self.layout.of(field)
        try:
            return ask(given.get(field, "") if column else "", *more)
        except CellRefused as refusal:
            field = refusal.field or field
            self._refuse(line, self.layout.of(field), given.get(field, ""), refusal.reason, refusal.instead)
            return None

    def _common(self, line: int, given: dict) -> dict:
        """Return what holds for the whole row: drive, moment, machine, hours, who."""
        field = "serial" if self.layout.of("serial") else "tag"
        unit = self._asked(
            line, given, field, lambda _: self.book.unit(given.get("serial", ""), given.get("tag", ""), given.get("model", ""))
        )
        at = self._moment(line, given)
        machine = self._asked(line, given, "machine", self.book.machine)
        if given.get("machine") and machine is None:
            unit = None
        if unit and at:
            where = "machine" if machine else field
            machine = self._asked(line, given, where, lambda _: self.book.place(unit, timezone.localtime(at).date(), machine))
        told = {"unit": unit, "at": at, "machine": machine if unit else None, "hours": None}
        if told["machine"] and at:
            told["hours"] = self._hours_of(line, given, told["machine"], at)
        return told | self._remarks(line, given)

    def _moment(self, line: int, given: dict):
        order, epoch = self.choices.day_order, self.sheet.epoch
        if self.layout.of("moment"):
            return self._asked(line, given, "moment", moment_of, order, epoch)
        if "T" in given["day"] or not self.layout.of("clock"):
            self.has_no_time = self.has_no_time or "T" not in given["day"]
            return self._asked(line, given, "day", moment_of, order, epoch)
        day = self._asked(line, given, "day", day_of, order, epoch)
        clock = self._asked(line, given, "clock", clock_of) if given["clock"] else NOON
        return self._asked(line, given, "clock", lambda _: local_moment(day, clock)) if day and clock else None

    def _hours_of(self, line: int, given: dict, machine, at) -> HoursEntry | None:
        """Return the hours as the form of the hours takes them; each meter and moment is asked about once."""
        column = self.layout.of("hours")
        typed = given["hours"]
        figure, stands = plain_number(typed, self.choices.decimal or None), is_yes(given.get("as_read", ""))
        place = (machine.pk, at, figure, stands)
        if place not in self._hours:
            form = HoursForm({"read_at": at, "meter_h": figure, "keep_hours": "on" if stands else ""}, machine=machine)
            self._hours[place] = form.hours() if form.is_valid() else self._hours_trouble(form)
        found = self._hours[place]
        if isinstance(found, HoursEntry):
            return replace(found, typed=typed)
        field, reason = found
        there = column if field == "meter_h" else self._when()
        self._refuse(line, there, given.get(there.field, "") if there else "", reason, HOURS_INSTEAD[field])
        return None

    def _when(self) -> Column | None:
        return self.layout.of("moment") or self.layout.of("day")

    def _hours_trouble(self, form: HoursForm) -> tuple[str, str]:
        field = "read_at" if "read_at" in form.errors else "meter_h"
        return field, str(form.errors[field][0]).replace("Put it right, or tick keep as read.", "").strip()

    def _remarks(self, line: int, given: dict) -> dict:
        """Return who tested and what was remarked of the whole test."""
        who, note = given.get("by", ""), given.get("note", "") if self.layout.is_wide else ""
        person = self.book.person(who) if who else None
        if who and person is None:
            self.strangers.add(who[:40])
            note = "; ".join(filter(None, [note, f"tested by {who}"]))
        if len(note) > LONGEST_NOTE:
            self._refuse(
                line, self.layout.of("note"), note, f"The remark has {len(note)} signs; up to {LONGEST_NOTE} are kept.", "A shorter remark"
            )
        drains = folded(given.get("drains", ""))
        if drains and drains not in DriveModel.Drains.values:
            self._refuse(
                line, self.layout.of("drains"), given["drains"], "Not a way of plumbing drains.", " or ".join(DriveModel.Drains.values)
            )
        air = self._asked(line, given, "ambient", lambda text: self._condition(text, self.layout.of("ambient")))
        return {"tested_by": person or self.book.by, "test_note": note, "drains": drains, "ambient_c": air}

    def _condition(self, text: str, column: Column | None) -> float | None:
        if column is None or not text:
            return None
        try:
            figure = MeasureField("temperature", least=-60, most=70).clean([plain_number(text, self.choices.decimal or None), column.unit])
        except ValidationError as refusal:
            raise CellRefused(" ".join(refusal.messages), "A temperature of the air") from refusal
        return figure.value if figure else None

    def _wide(self, line: int, given: dict, told: dict):
        """Yield an entry for each column of a reading that has something in it; blank is not read, not nought."""
        for column in self.layout.columns:
            if column.meaning.quantity and given[column.field]:
                own = {"quantity": column.meaning.quantity, "direction": column.meaning.direction, "unit": column.unit}
                yield self._entry(line, given, told, own | {"value": given[column.field], "note": ""}, column)

    def _long(self, line: int, given: dict, told: dict):
        named = self._asked(line, given, "quantity", quantity_named)
        way = self._asked(line, given, "direction", direction_named)
        if named is None or way is None:
            return
        quantity, direction = named[0], way or named[1]
        column = self.layout.of("value")
        unit = column.unit or self._asked(line, given, "unit", self._unit_of, QUANTITIES[quantity].kind)
        if not given["value"]:
            self._refuse(line, column, "", "No reading.", "The figure that was read; or leave the row out")
        elif unit:
            own = {"quantity": quantity, "direction": direction, "unit": unit, "value": given["value"], "note": given.get("note", "")}
            yield self._entry(line, given, told, own, column)

    def _unit_of(self, text: str, kind: str) -> str:
        return unit_for(text or only_unit(kind), kind)

    def _entry(self, line: int, given: dict, told: dict, own: dict, column: Column):
        """Return a reading as the line of the page takes it, or refuse what the line refuses."""
        gauge = self._asked(line, given, "gauge", self.book.gauge)
        if told["unit"] is None:
            return None
        decimal = self.choices.decimal or None
        sent = {name: given.get(name, "") for name in ("port", "repeats")} | {"stability": folded(given.get("stability", ""))}
        sent |= {"quantity": own["quantity"], "direction": own["direction"], "value": plain_number(own["value"], decimal)}
        sent |= {"value_unit": own["unit"], "note": own["note"], "instrument": str(gauge.pk) if gauge else ""}
        sent |= {"as_read": "on" if is_yes(given.get("as_read", "")) else "", "unit": str(told["unit"].pk)}
        for field, name in CONDITIONS.items():
            there = self.layout.of(field)
            if there and given[field] and self._belongs(field, own["quantity"]):
                sent |= {name: plain_number(given[field], decimal), f"{name}_unit": there.unit}
        form = ReadingLine(sent, shelf=self._shelf(told["unit"]))
        if form.is_valid():
            return replace(form.entry(), typed=own["value"], note=form.entry().note)
        self._refuse_line(line, given, own, column, form)
        return None

    def _belongs(self, field: str, quantity: str) -> bool:
        """In a row of many readings the loop pressure is that of the drains; in a row of one it is that of the reading."""
        return field != "at_loop" or not self.layout.is_wide or quantity.endswith(("_case_flow", "case_return"))

    def _refuse_line(self, line: int, given: dict, own: dict, column: Column, form: ReadingLine) -> None:
        for name, errors in form.errors.items():
            field = FROM_FORM.get(name, name)
            there = column if name in ("value", "__all__") else self.layout.of(field) or column
            text = own["value"] if there is column else given.get(there.field, "")
            asked = name == "value" and form.asks and form.cleaned_data.get("asked")
            is_long = errors.as_data()[0].code == "max_length"
            reason = asked or (f"This is too long: {len(text)} signs." if is_long else str(errors[0]))
            self._refuse(line, there, text, reason, AS_READ if asked else INSTEAD.get(name, "A figure such as 21.8"))

    def _shelf(self, unit: DriveUnit) -> Shelf:
        if unit.pk not in self._shelves:
            self._shelves[unit.pk] = Shelf(self.book.by, [unit], self.book.instruments, self._gauge_choices, {}, self._last)
        return self._shelves[unit.pk]

    def _row(self, line: int, told: dict, entry) -> ReadRow:
        return ReadRow(line=line, entry=entry, key=row_key(told["unit"], told["at"], entry), **told)

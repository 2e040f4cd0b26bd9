"""What a laboratory's sheet would do to the book: results for samples that wait for them, others into a queue with the reason."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from decimal import Decimal

from django.utils import timezone

from calcs.figures import NumberRefused, read_number
from fleet.judged_hours import tenth
from fleet.models import OilSample
from fleet.models.base import serial_key
from shop.exchange.cells import NOON, CellRefused, day_of, local_moment
from shop.exchange.columns import Column, Layout, layout_of
from shop.exchange.known import KnownBook
from shop.exchange.lab_cells import LabFound, figure_of
from shop.exchange.lab_columns import LAB_WORDS
from shop.exchange.plans import Choices, Plan, Refusal
from shop.exchange.sheets import NumberCell, Sheet, read_sheets
from shop.refusals import Refused

NEAR_DAYS, NEAR_H = 3, 10
MOST_H = 200_000
LONGEST_LABEL = 30


@dataclass(frozen=True)
class SampleRow:
    """One row of a laboratory's sheet: whose results they are, or why that is not known."""

    line: int
    label: str
    drawn: date
    sample: OilSample | None
    unmatched: str
    found: tuple[LabFound, ...]
    lab_number: str = ""
    words: str = ""
    place: str = ""
    oil_h: Decimal | None = None
    life_h: Decimal | None = None
    notes: tuple[str, ...] = field(default=(), compare=False)

    @property
    def key(self) -> str:
        figures = ";".join(f"{f.item}={f.typed}" for f in self.found)
        return f"{serial_key(self.label)} {self.sample.pk if self.sample else ''} {figures}"

    @property
    def drawn_at(self) -> datetime:
        return local_moment(self.drawn, NOON)


def plan_samples(body: bytes, by, choices: Choices, say: Callable[[int, int], None] = lambda done, of: None) -> Plan:
    """Return everything that a laboratory's sheet would do; nothing is written."""
    sheet, layout = _lab_sheet(read_sheets(body))
    rows = sheet.rows[layout.first :]
    plan = Plan(rows=len(rows), columns=layout.rows(), unknown=layout.unknown, notes=list(sheet.notes))
    plan.heading = layout.heading(next(cells for line, cells in sheet.rows if line == layout.line))
    gate = SampleGate(sheet, layout, plan, KnownBook(by), choices)
    for done, (line, cells) in enumerate(rows, start=1):
        gate.read(line, cells)
        if done % 100 == 0:
            say(done, len(rows))
    _sort_out(plan, gate)
    plan.refused.sort(key=lambda refusal: (refusal.line, refusal.column))
    lines = {refusal.line for refusal in plan.refused}
    plan.cells = {line: cells for line, cells in rows if line in lines}
    return plan


def _lab_sheet(sheets: list[Sheet]) -> tuple[Sheet, Layout]:
    sheet = sheets[0]
    layout = layout_of(sheet, LAB_WORDS)
    missing = [words for name, words in (("label", "the label of the sample"), ("drawn", "the day it was drawn")) if not layout.of(name)]
    if missing or not layout.is_wide:
        raise Refused(
            f"Line {layout.line} holds the headings, but no column for {' and none for '.join(missing) or 'anything found in the oil'}."
        )
    return sheet, layout


class SampleGate:
    """Judges the rows of a laboratory's sheet."""

    def __init__(self, sheet: Sheet, layout: Layout, plan: Plan, book: KnownBook, choices: Choices):
        self.sheet, self.layout, self.plan, self.book, self.choices = sheet, layout, plan, book, choices
        self.rows: list[SampleRow] = []
        samples = list(OilSample.objects.select_related("machine").prefetch_related("values"))
        self._by_label: dict[str, list[OilSample]] = {}
        for sample in samples:
            self._by_label.setdefault(serial_key(sample.label), []).append(sample)
        self._waiting = [sample for sample in samples if sample.machine_id and not sample.values.all()]

    def read(self, line: int, cells: list[str]) -> None:
        if len(cells) < self.layout.width and not self.sheet.pads_rows:
            self._refuse(line, None, "", f"Columns are missing: {len(cells)} of {self.layout.width} are there.", "All columns")
            return
        if any(cells[self.layout.width :]):
            self._refuse(line, None, "", f"More columns than headings: {len(cells)} for {self.layout.width}.", "One cell a heading")
            return
        given = {column.field: cells[column.place] if column.place < len(cells) else "" for column in self.layout.columns}
        before = len(self.plan.refused)
        told = self._told(line, given)
        found = tuple(self._found(line, given))
        if len(self.plan.refused) == before:
            sample, why, notes = self._sample(given, told)
            self._keep(line, given, told, found, sample, why, notes)

    def _refuse(self, line: int, column: Column | None, text: str, reason: str, instead: str = "") -> None:
        heading = f"{column.letters} {column.heading}" if column else ""
        self.plan.refused.append(Refusal(line, heading, text[:200], reason, instead, self.sheet.name))

    def _asked(self, line: int, given: dict, name: str, ask: Callable):
        try:
            return ask(given.get(name, ""))
        except CellRefused as refusal:
            self._refuse(line, self.layout.of(name), given.get(name, ""), refusal.reason, refusal.instead)
            return None

    def _told(self, line: int, given: dict) -> dict:
        return {
            "label": self._asked(line, given, "label", _label),
            "drawn": self._asked(line, given, "drawn", self._day),
            "oil_h": self._asked(line, given, "oil_h", self._hours),
            "life_h": self._asked(line, given, "life_h", self._hours),
        }

    def _day(self, text: str) -> date:
        day = day_of(text.split("T")[0], self.choices.day_order, self.sheet.epoch)
        if day > timezone.localdate() + timedelta(days=1) or day.year < 1970:
            raise CellRefused(f"{day} cannot be the day it was drawn.", "The day it was drawn")
        local_moment(day, NOON)
        return day

    def _hours(self, text: str) -> Decimal | None:
        if not text or text in ("-", "..", "n/a"):
            return None
        try:
            hours = read_number(text, None if isinstance(text, NumberCell) else self.choices.decimal or None)
        except NumberRefused as refusal:
            raise CellRefused(str(refusal), "Hours, or nothing where they are not known") from refusal
        if not 0 <= hours <= MOST_H:
            raise CellRefused(f"{text} h cannot be.", "Hours, or nothing where they are not known")
        return tenth(hours)

    def _found(self, line: int, given: dict):
        for column in self.layout.columns:
            code, text = column.meaning.quantity, given[column.field]
            if code and text:
                found = self._asked(line, given, code, lambda text, column=column: figure_of(text, column, self.choices.decimal or None))
                if found is not None:
                    yield found

    def _sample(self, given: dict, told: dict) -> tuple[OilSample | None, str, tuple[str, ...]]:
        """Return whose results these are: by the label first, then by machine, day and hours; or why that is not known."""
        same = self._by_label.get(serial_key(told["label"]), [])
        exact = [sample for sample in same if sample.label == told["label"]] or same
        if len(exact) == 1:
            return exact[0], exact[0].unmatched_reason, self._doubts(exact[0], told)
        if len(same) > 1:
            return None, "Several samples of ours carry this label", ()
        machine = self._machine(given.get("place", ""))
        if machine is None:
            return None, f"No sample of ours carries this label, and “{given.get('place', '')[:40]}” names no machine", ()
        near = [sample for sample in self._waiting if sample.machine_id == machine.pk and _is_near(sample, told)]
        if len(near) == 1:
            return near[0], "", (f"label “{told['label']}” is not ours: taken for {near[0].label}, by machine and day",)
        return None, f"No sample of ours carries this label, and {len(near) or 'none'} of {machine.number} waits from that day", ()

    def _machine(self, text: str):
        try:
            return self.book.machine(text)
        except CellRefused:
            return None

    def _doubts(self, sample: OilSample, told: dict) -> tuple[str, ...]:
        ours = timezone.localtime(sample.drawn_at).date()
        if abs((ours - told["drawn"]).days) > NEAR_DAYS:
            return (f"{sample.label}: drawn {ours} by our book, {told['drawn']} by the sheet",)
        return ()

    def _keep(self, line, given, told, found, sample, why, notes) -> None:
        words = "; ".join(filter(None, [given.get("comment", ""), f"Oil named: {given['fluid']}" if given.get("fluid") else ""]))
        if not found:
            self._refuse(line, None, "", "Nothing was found in this sample: every cell is empty.", "The figures; or leave the row out")
            return
        more = {"lab_number": given.get("lab_number", "")[:40], "words": words, "place": given.get("place", "")[:60], "notes": notes}
        self.rows.append(SampleRow(line=line, sample=sample, unmatched=why, found=found, **more, **told))


def _label(text: str) -> str:
    text = " ".join(text.split())
    if not text or not serial_key(text):
        raise CellRefused("No label.", "The label of the sample")
    if len(text) > LONGEST_LABEL or text.startswith("="):
        raise CellRefused("This cannot be a label.", f"The label of the sample, up to {LONGEST_LABEL} signs")
    return text


def _is_near(sample: OilSample, told: dict) -> bool:
    days = abs((timezone.localtime(sample.drawn_at).date() - told["drawn"]).days)
    hours = abs(sample.life_h - told["life_h"]) if sample.life_h is not None and told["life_h"] is not None else 0
    return days <= NEAR_DAYS and hours <= NEAR_H


def _sort_out(plan: Plan, gate: SampleGate) -> None:
    by_sample: dict[object, dict[str, SampleRow]] = {}
    for row in gate.rows:
        by_sample.setdefault(row.sample.pk if row.sample else serial_key(row.label), {}).setdefault(row.key, row)
    plan.doubles = len(gate.rows) - sum(len(same) for same in by_sample.values())
    for same in by_sample.values():
        for row in same.values():
            _sort_one(plan, gate, row, [other for other in same.values() if other is not row])


def _sort_one(plan: Plan, gate: SampleGate, row: SampleRow, rivals: list[SampleRow]) -> None:
    column = gate.layout.of("label")
    there = {value.item: value.typed for value in row.sample.values.all()} if row.sample else {}
    if rivals:
        gate._refuse(row.line, column, row.label, f"Line {rivals[0].line} has other figures for the same sample.", "One of them")
    elif there and there == {found.item: found.typed for found in row.found}:
        plan.known += 1
    elif there:
        reason = f"{row.sample.label} has results already, others than these: they are not overwritten."
        gate._refuse(row.line, column, row.label, reason, "Another label")
    else:
        plan.fresh.append(row)
        plan.notes += [f"Line {row.line}: {note}." for note in row.notes]

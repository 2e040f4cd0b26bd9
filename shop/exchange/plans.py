"""What a file would do to the book: rows to be written, rows that are there already, and rows that are refused."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime

from fleet.models import DriveUnit, Machine, Reading
from shop.refusals import Refused
from shop.visits.entries import HoursEntry, ReadingEntry


class Overtaken(Refused):
    """Somebody else wrote to the book since the file was looked at: what was promised no longer holds."""


@dataclass(frozen=True)
class Choices:
    """What the person said of a file."""

    decimal: str = ""
    day_order: str = ""
    good_rows_only: bool = False
    put_right: str = ""
    laboratory: str = ""


@dataclass(frozen=True)
class Refusal:
    """One cell that cannot be taken: where it stands, what it says, why not, and what to write instead."""

    line: int
    column: str
    value: str
    reason: str
    instead: str = ""
    sheet: str = ""

    def row(self) -> list:
        return [self.sheet, self.line, self.column, self.value, self.reason, self.instead]


@dataclass(frozen=True)
class ReadRow:
    """One reading of a sheet, understood: what, where, when, at which hours, by whom."""

    line: int
    unit: DriveUnit
    machine: Machine
    at: datetime
    hours: HoursEntry
    entry: ReadingEntry
    tested_by: object
    test_note: str = ""
    drains: str = ""
    ambient_c: float | None = None
    key: str = ""

    @property
    def place(self) -> tuple:
        """What makes two rows the same reading, whatever they show."""
        return (self.unit.pk, self.at, self.entry.quantity, self.entry.direction, self.entry.port)


@dataclass
class Plan:
    """Everything a file would do."""

    fresh: list = field(default_factory=list)
    amended: list[tuple[Reading, ReadRow]] = field(default_factory=list)
    refused: list[Refusal] = field(default_factory=list)
    known: int = 0
    doubles: int = 0
    rows: int = 0
    notes: list[str] = field(default_factory=list)
    columns: list[dict] = field(default_factory=list)
    unknown: list[str] = field(default_factory=list)
    heading: list[str] = field(default_factory=list)
    cells: dict[int, list[str]] = field(default_factory=dict)  # the rows that were refused, as they stand in the file

    @property
    def refused_lines(self) -> list[tuple[str, int]]:
        return sorted({(refusal.sheet, refusal.line) for refusal in self.refused})

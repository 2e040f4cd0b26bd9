"""Which column of a sheet means what: headings by a table of words that the page shows, units from the heading or a row of their own."""

from __future__ import annotations

import re
from dataclasses import dataclass

from calcs.quantities import QUANTITIES
from fleet.models.base import folded
from shop.exchange.sheets import Sheet, column_letters
from shop.exchange.units import apart, fits, only_unit, unit_known
from shop.measures import spoken
from shop.refusals import Refused

LINES_TO_HEADING = 25


@dataclass(frozen=True)
class Meaning:
    """What a column may hold: name, label, the kind of measure if any, and the headings that mean it."""

    field: str
    label: str
    words: tuple[str, ...]
    kind: str = ""
    quantity: str = ""
    direction: str = ""


@dataclass(frozen=True)
class Column:
    """One column of a sheet, understood."""

    place: int
    heading: str
    meaning: Meaning
    unit: str = ""

    @property
    def field(self) -> str:
        return self.meaning.field

    @property
    def letters(self) -> str:
        return column_letters(self.place)


PLAIN = (
    Meaning("serial", "Serial of the drive", ("serial", "serial no", "serial number", "drive serial", "s n", "sn", "unit serial")),
    Meaning("tag", "Tag of the drive", ("tag", "drive", "drive tag", "shop tag", "unit tag")),
    Meaning("model", "Drive model", ("model", "drive model", "type", "drive type")),
    Meaning("machine", "Machine", ("machine", "machine no", "machine number", "vehicle")),
    Meaning("moment", "Day and time", ("tested at", "date time", "date and time", "moment", "timestamp", "read at", "taken at", "when")),
    Meaning("day", "Day", ("date", "day", "tested on", "test date")),
    Meaning("clock", "Time of day", ("time", "clock", "time of day")),
    Meaning("hours", "Hour meter", ("hours", "meter hours", "meter", "hour meter", "hrs", "meter reading", "engine hours"), "hours"),
    Meaning("by", "Who tested", ("by", "tested by", "who", "technician", "name")),
    Meaning("ambient", "Air temperature", ("air", "air temp", "air temperature", "ambient"), "temperature"),
    Meaning("oil_temp", "Oil temperature", ("oil", "oil temp", "oil temperature", "t oil"), "temperature"),
    Meaning("engine_speed", "Engine speed", ("engine", "engine speed", "engine rpm", "n eng", "revs"), "speed"),
    Meaning("at_loop", "Loop pressure at the reading", ("loop", "loop pressure", "drain at", "at loop", "loop at"), "pressure"),
    Meaning("at_case", "Case pressure at the reading", ("case pressure at reading", "case at", "at case"), "pressure"),
    Meaning("drains", "Case drains as plumbed", ("drains", "drains as plumbed", "plumbed")),
    Meaning("gauge", "Instrument", ("gauge", "instrument", "gauge tag", "instrument tag")),
    Meaning("port", "Port", ("port", "test port")),
    Meaning("stability", "Needle", ("needle", "stability")),
    Meaning("repeats", "Further values", ("further values", "repeats", "repeat")),
    Meaning("note", "Remark", ("note", "notes", "remark", "remarks", "comment", "comments")),
    Meaning("as_read", "Stands as read (yes)", ("as read", "stands as read", "checked")),
    Meaning("quantity", "What was read", ("quantity", "what", "what was read", "measured", "measurement", "parameter")),
    Meaning("direction", "Direction", ("direction", "dir")),
    Meaning("value", "Reading", ("value", "reading", "figure", "result")),
    Meaning("unit", "Unit of the reading", ("unit", "units", "in", "unit of value")),
    Meaning(
        "left_out", "Left out", ("refused sheet", "refused line", "refused column", "refused value", "refused because", "write instead")
    ),
)
SHORT = {
    "charge_neutral": ("charge n", "charge neutral"),
    "charge_neutral_idle": ("charge idle", "charge n idle"),
    "charge_stroked": ("charge",),
    "main_relief": ("relief",),
    "pump_case_flow": ("pump drain", "pump case", "q case", "pump case drain"),
    "motor_case_flow": ("motor drain", "motor case", "motor case drain"),
    "total_case_return": ("total drain", "all drains"),
    "case_pressure": ("case",),
    "charge_inlet_pressure": ("charge inlet", "charge inlet absolute"),
    "flushing_flow": ("flushing",),
    "top_speed": ("speed",),
    "output_speed": ("shaft speed",),
    "neutral_creep": ("creep",),
    "stroke_time": ("stroke",),
    "filter_differential": ("filter", "filter difference", "filter dp"),
    "loop_pressure": ("working pressure", "loop working"),
    "cross_port_leakage": ("cross port",),
    "drain_temp_rise": ("drain rise",),
}
WAYS = {"forward": ("f", "fwd", "forward"), "reverse": ("r", "rev", "reverse")}


def _wide_meanings() -> list[Meaning]:
    found = []
    for quantity in QUANTITIES.values():
        names = (*SHORT[quantity.code], quantity.code.replace("_", " "))
        if not quantity.directional:
            found.append(Meaning(quantity.code, quantity.label, names, quantity.kind, quantity.code))
        for way, ends in WAYS.items() if quantity.directional else ():
            words = tuple(f"{name} {end}" for name in names for end in ends)
            found.append(Meaning(f"{quantity.code} {way}", f"{quantity.label}, {way}", words, quantity.kind, quantity.code, way))
    return found


MEANINGS = (*PLAIN, *_wide_meanings())
BY_WORDS = {words: meaning for meaning in MEANINGS for words in meaning.words}
QUANTITY_WORDS = {
    folded(words): (meaning.quantity, meaning.direction)
    for meaning in MEANINGS
    if meaning.quantity
    for words in (*meaning.words, meaning.label)
} | {folded(word): (code, "") for code, quantity in QUANTITIES.items() for word in (code, code.replace("_", " "), quantity.label)}


@dataclass
class Layout:
    """How a sheet is read: its columns, the line of headings, the first row below it, and what was not understood."""

    columns: list[Column]
    unknown: list[str]
    line: int
    first: int
    width: int
    has_units_row: bool = False

    @property
    def is_wide(self) -> bool:
        return any(column.meaning.quantity for column in self.columns)

    def of(self, field: str) -> Column | None:
        return next((column for column in self.columns if column.field == field), None)

    def heading(self, cells: list[str]) -> list[str]:
        """Return the headings with the units that stood in a row below them, so that they can stand alone."""
        told = {column.place: column for column in self.columns if column.unit and not meaning_of(column.heading)[1] and self.has_units_row}
        return [f"{text} [{told[place].unit}]" if place in told and text else text for place, text in enumerate(cells)]

    def rows(self) -> list[dict]:
        """Return the columns as they were understood, for the page."""
        return [{"at": c.letters, "heading": c.heading, "label": c.meaning.label, "unit": spoken(c.unit)} for c in self.columns]


def meaning_of(heading: str, table: dict[str, Meaning] = BY_WORDS) -> tuple[Meaning | None, str]:
    """Return what a heading means, and the unit it names."""
    key = heading_key(heading)
    if key in table:
        return table[key], ""
    for name, unit_text in apart(heading):
        meaning, unit = table.get(heading_key(name)), unit_known(unit_text)
        if meaning and unit and fits(unit, meaning.kind or "none"):
            return meaning, unit
    return None, ""


def heading_key(heading: str) -> str:
    return folded(re.sub(r"[\s_.,:/#-]+", " ", heading))


def layout_of(sheet: Sheet, table: dict[str, Meaning] = BY_WORDS) -> Layout:
    """Return how a sheet is read, or refuse it where its columns cannot be told."""
    at = _heading_row(sheet, table)
    line, cells = sheet.rows[at]
    found = [(place, text, *meaning_of(text, table)) for place, text in enumerate(cells) if text]
    columns = [Column(place, text, meaning, unit) for place, text, meaning, unit in found if meaning]
    _refuse_twice(columns, line)
    unknown = [f"{column_letters(place)} “{text[:40]}”" for place, text, meaning, _ in found if meaning is None]
    units = _units_row(sheet.rows[at + 1][1]) if at + 1 < len(sheet.rows) else None
    columns = [_with_unit(column, units) for column in columns]
    return Layout(columns, unknown, line, at + (2 if units else 1), len(cells), bool(units))


def reading_layout(sheet: Sheet) -> Layout:
    """Return how a sheet of readings is read, or refuse it with what is missing."""
    layout = layout_of(sheet)
    _refuse_missing(layout)
    return layout


def _heading_row(sheet: Sheet, table: dict[str, Meaning]) -> int:
    """Return the place of the row of headings: the one among the first with the most that are understood."""
    known = [sum(meaning_of(text, table)[0] is not None for text in cells if text) for _, cells in sheet.rows[:LINES_TO_HEADING]]
    if not known or max(known) < 3:
        raise Refused(
            f"No row of headings was found in the first {LINES_TO_HEADING} rows: name the columns with words of the list below, such as "
            "Serial, Date, Hours, Quantity, Value, Unit."
        )
    return known.index(max(known))


def _refuse_twice(columns: list[Column], line: int) -> None:
    seen: dict[str, Column] = {}
    for column in columns:
        before = seen.setdefault(column.field, column)
        if before is not column and column.field != "left_out":
            raise Refused(
                f"Line {line}: columns {before.letters} “{before.heading}” and {column.letters} “{column.heading}” both mean "
                f"{column.meaning.label.lower()}. Take one away."
            )


def _units_row(cells: list[str]) -> dict[int, str] | None:
    """Return units by column where a row holds nothing but units; None where it is a row like others."""
    given = {place: text for place, text in enumerate(cells) if text and text not in ("-", "[-]")}
    return given if given and all(unit_known(text) for text in given.values()) else None


def _with_unit(column: Column, units: dict[int, str] | None) -> Column:
    kind = column.meaning.kind
    if not kind:
        return column
    below = unit_known(units.get(column.place, "")) if units and units.get(column.place) else ""
    if below and not fits(below, kind):
        raise Refused(f"Column {column.letters} “{column.heading}” has {spoken(below)} below it, which is no unit of {kind}.")
    if below and column.unit and below != column.unit:
        raise Refused(f"Column {column.letters}: the heading says {spoken(column.unit)}, the row below {spoken(below)}. Settle on one.")
    return Column(column.place, column.heading, column.meaning, column.unit or below or only_unit(kind))


def _refuse_missing(layout: Layout) -> None:
    missing = []
    if not layout.of("serial") and not layout.of("tag"):
        missing.append("the serial or the tag of the drive")
    if not layout.of("moment") and not layout.of("day"):
        missing.append("the day of the test")
    if not layout.of("hours"):
        missing.append("the hours of the meter")
    if not layout.is_wide:
        missing += [word for field, word in (("quantity", "what was read"), ("value", "the reading")) if not layout.of(field)]
    if missing:
        raise Refused(f"Line {layout.line} holds the headings, but no column for {' and none for '.join(missing)}.")
    if layout.is_wide and layout.of("value"):
        raise Refused(f"Line {layout.line}: both a column for one reading and columns for many. Keep one of the two ways.")
    bare = [f"{c.letters} “{c.heading}”" for c in layout.columns if c.meaning.kind and not c.unit]
    if bare:
        raise Refused(
            f"No unit stands for {', '.join(bare)}: write it in the heading, such as “{bare[0][3:-1]} [unit]”, or in a row below."
        )

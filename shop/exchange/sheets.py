"""A file as a sheet: rows of texts with the line number that a spreadsheet shows. Nothing is guessed to be a number or a date here."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import datetime

from calcs.thousands import grouped
from shop.exchange.limits import LONGEST_CELL, MOST_BYTES, MOST_CELLS, MOST_COLUMNS, MOST_ROWS
from shop.refusals import Refused

DELIMITERS = {";": "semicolons", ",": "commas", "\t": "tabs"}
FOREIGN = {
    b"%PDF": "a PDF",
    b"\x89PNG": "a picture",
    b"\xff\xd8\xff": "a picture",
    b"\xd0\xcf\x11\xe0": "a workbook of the old kind",
    b"\x1f\x8b": "a packed file",
}
SAMPLE_LINES = 30
NO_TEXT = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\ud800-\udfff\ufffe\uffff]")
SHIELDED = re.compile("'[ \u00a0\u3000\n]*[=+\\-@\t\r＝＋－＠]")


class NumberCell(str):
    """A cell that a workbook itself holds as a number: its decimal sign is always the point."""


@dataclass
class Sheet:
    """One sheet: rows that have something in them, each with its line, and what was found out on the way."""

    name: str
    rows: list[tuple[int, list[str]]]
    notes: list[str] = field(default_factory=list)
    epoch: datetime | None = None  # day nought of a workbook's day numbers
    pads_rows: bool = False  # workbooks leave out empty cells at the end of a row; text files do not


def read_sheets(body: bytes) -> list[Sheet]:
    """Return the sheets of a file: one of a text file, each of a workbook."""
    if len(body) > MOST_BYTES:
        raise Refused(f"The file has {len(body) / 1048576:.1f} MB; up to {MOST_BYTES // 1048576} MB are read. Split it.")
    if not body.strip():
        raise Refused("The file is empty.")
    for start, name in FOREIGN.items():
        if body.startswith(start):
            raise Refused(f"This is {name}, not a sheet: save the sheet as CSV or xlsx.")
    if body.startswith(b"PK"):
        from shop.exchange.workbooks import read_workbook

        return read_workbook(body)
    return [read_text_sheet(body)]


def read_text_sheet(body: bytes) -> Sheet:
    """Return the sheet of a text file, however it is encoded and whatever stands between its cells."""
    text, notes = decoded(body)
    delimiter = delimiter_of(text)
    rows = list(limited(split_rows(text, delimiter)))
    return Sheet("", rows, [*notes, f"Cells are parted by {DELIMITERS[delimiter]}."])


def decoded(body: bytes) -> tuple[str, list[str]]:
    """Return the text of a file, and a note where its encoding had to be guessed."""
    if body.startswith((b"\xff\xfe", b"\xfe\xff")):
        return _decoded_as(body, "utf-16"), ["The file is in UTF-16."]
    if b"\x00" in body:
        line = body[: body.index(0)].count(10) + 1
        raise Refused(f"The file has a zero byte in line {line}: it is damaged or no text. Save it anew as CSV in UTF-8.")
    try:
        return body.decode("utf-8-sig"), []
    except UnicodeDecodeError:
        return _decoded_as(body, "cp1252"), [
            "The file is not in UTF-8: it was read as Windows Western European. Look at the letters with accents."
        ]


def _decoded_as(body: bytes, encoding: str) -> str:
    try:
        text = body.decode(encoding)
    except UnicodeDecodeError as trouble:
        raise Refused(f"The signs of the file cannot be read (byte {trouble.start}): save it anew as CSV in UTF-8.") from trouble
    if "\x00" in text:
        raise Refused("The file has a zero sign in it: it is damaged or no text. Save it anew as CSV in UTF-8.")
    return text


def delimiter_of(text: str) -> str:
    """Return the sign between cells: the one that makes the widest row among the first lines."""
    head = "\n".join(text[:20_000].splitlines()[:SAMPLE_LINES])
    return max(DELIMITERS, key=lambda sign: _widths(head, sign))


def _widths(head: str, delimiter: str) -> tuple[int, int]:
    """Return how many rows share the commonest width above one, times that width."""
    try:
        widths = [len(row) for row in csv.reader(io.StringIO(head, newline=""), delimiter=delimiter) if row]
    except csv.Error:
        return (0, 0)
    wide = [width for width in widths if width > 1]
    return max(((wide.count(width) * width, width) for width in set(wide)), default=(0, 0))


def split_rows(text: str, delimiter: str) -> Iterator[tuple[int, list[str]]]:
    """Yield every row with its line as a spreadsheet counts it: a line break inside quotes begins no new one."""
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)
    line = 0
    while True:
        line += 1
        try:
            yield line, next(reader)
        except StopIteration:
            return
        except csv.Error as trouble:
            raise Refused(f"Line {line}: {_csv_trouble(str(trouble))}") from trouble


def _csv_trouble(words: str) -> str:
    if "limit" in words:
        return f"one cell is longer than {LONGEST_CELL} signs; perhaps a quotation mark is missing at its end."
    return "a quotation mark opens or closes in the wrong place, so that cells cannot be told apart. Save the sheet anew as CSV."


def limited(rows) -> Iterator[tuple[int, list[str]]]:
    """Yield rows with something in them, cells trimmed, within the limits."""
    cells = seen = 0
    for line, row in rows:
        cells += len(row)
        if len(row) > MOST_COLUMNS and any(cell.strip() for cell in row[MOST_COLUMNS:]):
            raise Refused(f"Line {line} has {len(row)} columns; up to {MOST_COLUMNS} are read.")
        if cells > MOST_CELLS:
            raise Refused(f"The sheet has more than {grouped(MOST_CELLS)} cells: split it.")
        trimmed = [checked_cell(line, place, cell) for place, cell in enumerate(row[:MOST_COLUMNS])]
        if any(trimmed):
            seen += 1
            if seen > MOST_ROWS:
                raise Refused(f"The sheet has more than {grouped(MOST_ROWS)} rows: split it.")
            yield line, trimmed


def checked_cell(line: int, place: int, cell: str) -> str:
    """Return a cell without space around it, or refuse what is no text; an apostrophe that shields a formula is taken away again."""
    if isinstance(cell, NumberCell):
        return cell
    cell = cell.strip()
    if len(cell) > LONGEST_CELL:
        raise Refused(
            f"Line {line}, column {column_letters(place)}: the cell has {grouped(len(cell))} signs; up to {grouped(LONGEST_CELL)} are read."
        )
    if NO_TEXT.search(cell):
        raise Refused(f"Line {line}, column {column_letters(place)}: the cell holds signs that are no text. Save the sheet anew.")
    return cell[1:] if SHIELDED.match(cell) else cell


def column_letters(place: int) -> str:
    """Return the name of a column as a spreadsheet shows it: A for the first, AA after Z."""
    letters, rest = "", place + 1
    while rest:
        rest, last = divmod(rest - 1, 26)
        letters = chr(65 + last) + letters
    return letters

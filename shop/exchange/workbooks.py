"""A workbook as sheets: looked into before it is opened, so that a small file cannot become a large one."""

from __future__ import annotations

import io
import logging
import re
import warnings
import zipfile
import zlib
from datetime import date, datetime, time, timedelta

from calcs.thousands import grouped
from shop.exchange.cells import unmistakable
from shop.exchange.limits import HIGHEST_RATIO, MOST_COLUMNS, MOST_MEMBERS, MOST_ROWS, MOST_UNPACKED
from shop.exchange.sheets import NumberCell, Sheet, column_letters, limited
from shop.refusals import Refused

log = logging.getLogger("shop.exchange")
ROW, CELL = re.compile(rb'<(?:\w+:)?row[^>]{0,300}?\sr="(\d{1,9})"'), re.compile(rb'\sr="([A-Z]{1,4})(\d{1,9})"')
ROWS_AHEAD = 100  # heading lines and blank rows beside the rows that count
ZEROS = re.compile(r"0{2,12}")
BROKEN = "This workbook cannot be read: it is damaged. Open it, save it anew as xlsx or CSV, and try again."


def read_workbook(body: bytes) -> list[Sheet]:
    """Return the sheets of a workbook, values as they are shown and not as formulas."""
    formulas = look_inside(body)
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            return _sheets(body, formulas)
    except Refused:
        raise
    except Exception as trouble:  # a library of others before a file of strangers: whatever it stumbles over, the file is broken
        log.info("workbook refused: %s", type(trouble).__name__)
        raise Refused(BROKEN) from trouble


def look_inside(body: bytes) -> bool:
    """Refuse a workbook that would unpack beyond the limits or holds entities; return whether it has formulas."""
    try:
        with zipfile.ZipFile(io.BytesIO(body)) as packed:
            parts = packed.infolist()
            _refuse_bomb(parts)
            return any([_look_at(part.filename, packed.read(part)) for part in parts if part.filename.lower().endswith((".xml", ".rels"))])
    except (zipfile.BadZipFile, zlib.error, EOFError, OSError, NotImplementedError, RuntimeError, ValueError) as trouble:
        raise Refused(BROKEN) from trouble


def _refuse_bomb(parts: list[zipfile.ZipInfo]) -> None:
    if len(parts) > MOST_MEMBERS:
        raise Refused(f"The workbook holds {grouped(len(parts))} parts; up to {grouped(MOST_MEMBERS)} are unpacked.")
    if sum(part.file_size for part in parts) > MOST_UNPACKED:
        raise Refused(f"The workbook would unpack to more than {MOST_UNPACKED // 1048576} MB.")
    for part in parts:
        if part.file_size > 1_000_000 and part.file_size > HIGHEST_RATIO * max(part.compress_size, 1):
            raise Refused(f"A part of the workbook is packed more than {HIGHEST_RATIO} to 1: it is not unpacked.")
        if part.filename.lower().endswith((".zip", ".xlsx", ".xlsm", ".gz")):
            raise Refused("The workbook holds another packed file: it is not unpacked.")


def _look_at(name: str, part: bytes) -> bool:
    """Refuse entities, and a sheet that reaches too far; return whether it holds formulas."""
    if b"<!DOCTYPE" in part or b"<!ENTITY" in part or part[:2] in (b"\xff\xfe", b"\xfe\xff"):
        raise Refused("The workbook defines entities of its own, which is never needed: it is not read.")
    if "worksheets/" not in name:
        return False
    furthest = max((int(found) for found in ROW.findall(part)), default=0)
    for letters, row in set(CELL.findall(part)):
        furthest = max(furthest, int(row))
        if _place(letters) > MOST_COLUMNS:
            raise Refused(f"A cell stands in column {letters.decode()}; up to {column_letters(MOST_COLUMNS - 1)} are read.")
    if furthest > MOST_ROWS + ROWS_AHEAD:
        raise Refused(f"A cell stands in row {grouped(furthest)}; up to {grouped(MOST_ROWS)} rows are read.")
    return b"<f>" in part or b"<f " in part


def _place(letters: bytes) -> int:
    place = 0
    for letter in letters:
        place = place * 26 + letter - 64
    return place


def _sheets(body: bytes, formulas: bool) -> list[Sheet]:
    import openpyxl

    book = openpyxl.load_workbook(io.BytesIO(body), read_only=True, data_only=True, keep_links=False)
    written = openpyxl.load_workbook(io.BytesIO(body), read_only=True, keep_links=False) if formulas else None
    try:
        found = []
        for page in book.worksheets:
            rows = _rows(page, written[page.title] if written else None, book.epoch)
            found.append(Sheet(page.title, list(limited(rows)), [], book.epoch, pads_rows=True))
        return [sheet for sheet in found if sheet.rows] or [Sheet("", [])]
    finally:
        book.close()
        if written:
            written.close()


def _rows(page, written, epoch):
    """Yield rows with their line; where a formula has no value kept, the formula itself stands, to be refused by name."""
    formulas = written.iter_rows(max_row=MOST_ROWS + ROWS_AHEAD) if written else None
    for line, row in enumerate(page.iter_rows(max_row=MOST_ROWS + ROWS_AHEAD), start=1):
        cells = [cell_text(cell, epoch) for cell in row]
        if formulas is not None:
            beside = [str(cell.value or "") for cell in next(formulas, ())]
            cells = [text or (beside[at] if at < len(beside) and beside[at].startswith("=") else "") for at, text in enumerate(cells)]
        yield line, cells


def cell_text(cell, epoch: datetime) -> str:
    """Return what a cell shows: a number that is shown with leading zeros keeps them."""
    value = cell.value
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, (int, float)):
        shown = str(getattr(cell, "number_format", "") or "")
        if ZEROS.fullmatch(shown) and float(value).is_integer() and value >= 0:
            return f"{int(value):0{len(shown)}d}"
        return NumberCell(unmistakable(float(value)))
    return _moment_text(value, epoch)


def _moment_text(value, epoch: datetime) -> str:
    if isinstance(value, datetime):
        nearest = value + timedelta(microseconds=500_000)
        nearest = nearest.replace(microsecond=0)
        return nearest.date().isoformat() if nearest.time() == time() else nearest.isoformat()
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, time):
        return value.replace(microsecond=0).isoformat()
    if isinstance(value, timedelta):
        return NumberCell(unmistakable(value.total_seconds() / 86_400))
    return str(value)

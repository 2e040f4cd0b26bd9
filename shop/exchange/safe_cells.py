"""Cells for files that are opened in a spreadsheet: a text can never act as a formula, a number stays a number."""

from __future__ import annotations

import csv
import io
import re

ACTS = re.compile("[ \u00a0\u3000\n]*[=+\\-@\t\r\x00＝＋－＠]")
NOT_TEXT = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\ud800-\udfff]")
PLAIN_NUMBER = re.compile(r"[+-]?\d+(?:[.,]\d+)?(?:[eE][+-]?\d{1,3})?")


def safe_cell(value) -> str:
    """Return a cell as text; one that a spreadsheet would take as a formula gets an apostrophe before it."""
    if value is None:
        return ""
    if not isinstance(value, str):
        return str(value)
    text = NOT_TEXT.sub("", value)
    if not text or PLAIN_NUMBER.fullmatch(text):
        return text
    return f"'{text}" if ACTS.match(value) else text


def csv_text(rows) -> str:
    """Return rows as a file of comma-separated cells, every one of them safe."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerows([safe_cell(cell) for cell in row] for row in rows)
    return out.getvalue()


REFUSED_HEADINGS = ("refused_sheet", "refused_line", "refused_column", "refused_value", "refused_because", "write_instead")


def refused_rows_text(found: dict) -> str:
    """Return the refused rows as they stood in the file, with what is wrong beside them: a file to put right and bring again."""
    heading = found.get("heading", [])
    by_line: dict[tuple, list] = {}
    for sheet, line, *told in found.get("refused", []):
        by_line.setdefault((sheet, line), []).append(told)
    rows = [[*heading, *REFUSED_HEADINGS]]
    for (sheet, line), all_told in by_line.items():
        cells = (found.get("cells", {}).get(str(line)) or [])[: len(heading)]
        merged = [" | ".join(told[place] for told in all_told if told[place]) for place in range(4)]
        rows.append([*cells, *[""] * (len(heading) - len(cells)), sheet, line, *merged])
    return "\ufeff" + csv_text(rows)

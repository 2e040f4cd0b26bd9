"""A cell of a laboratory's sheet: a figure, a limit it lies below, not detected, not measured; water in per cent; a cleanliness code."""

from __future__ import annotations

from dataclasses import dataclass

from calcs.cleanliness import parse_code
from calcs.figures import NumberRefused, read_number
from calcs.lab_figures import FIGURE, NOT_MEASURED, LabFigure, parse_lab_figure, parse_water_ppm
from calcs.water import PPM_PER_PERCENT
from fleet.models.base import folded
from shop.exchange.cells import CellRefused, unmistakable
from shop.exchange.columns import Column
from shop.exchange.lab_columns import ITEM_BY_CODE
from shop.exchange.sheets import NumberCell

LONGEST = 30
HIGHEST_FIGURE = 1e8
A_FIGURE = "A figure, <1, ND, or nothing"


@dataclass(frozen=True)
class LabFound:
    """One figure of a laboratory as it is kept."""

    item: str
    typed: str
    value: float | None
    unit: str
    is_below_limit: bool = False


def figure_of(text: str, column: Column, decimal: str | None) -> LabFound | None:
    """Return what was found; None where the cell says that nothing was measured."""
    item = ITEM_BY_CODE[column.meaning.quantity]
    if len(text) > LONGEST:
        raise CellRefused("This is too long for a figure.", A_FIGURE)
    if item.code == "ISO4406":
        return _code_of(text)
    figure = _parsed(text, item.code, column, decimal)
    if figure is None:
        return None
    value = figure.value
    if value is not None and value > HIGHEST_FIGURE:
        raise CellRefused(f"{text} is beyond any figure of a laboratory.", A_FIGURE)
    if item.code == "Water" and value is not None:
        value /= PPM_PER_PERCENT
    is_below = figure.sign == "<"
    return LabFound(item.code, text, None if is_below else value, item.unit, is_below)


def _code_of(text: str) -> LabFound | None:
    if text.lower() in NOT_MEASURED:
        return None
    try:
        return LabFound("ISO4406", str(parse_code(text)), None, "")
    except ValueError as trouble:
        raise CellRefused(f"“{text}” is no cleanliness code: three numbers, none higher than the one before it.", "20/18/14") from trouble


def _parsed(text: str, code: str, column: Column, decimal: str | None) -> LabFigure | None:
    try:
        plain = _in_one_way(text, decimal)
        return parse_water_ppm(plain, is_percent="ppm" not in folded(column.heading)) if code == "Water" else parse_lab_figure(plain)
    except NumberRefused as doubt:
        raise CellRefused(str(doubt), A_FIGURE) from doubt
    except ValueError as trouble:
        raise CellRefused(f"“{text}” is no figure of a laboratory for {code}.", A_FIGURE) from trouble


def _in_one_way(text: str, decimal: str | None) -> str:
    """Return a laboratory's cell with its number written so that it reads in one way."""
    if isinstance(text, NumberCell):
        return str(text)
    bare = text.strip().lstrip("<>").strip()
    number = bare.lower().removesuffix("ppm").removesuffix("mg/kg").removesuffix("%").strip()
    if not number or not number[0].isdigit() or "e" in number:
        return text
    plain = unmistakable(read_number(number, decimal))
    rebuilt = text.replace(number, plain) if number in text else text
    return rebuilt if FIGURE.match(rebuilt.strip()) else text

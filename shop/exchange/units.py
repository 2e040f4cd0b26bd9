"""Units as they stand in the head of a column, in a row of their own or beside a figure."""

from __future__ import annotations

import re

from calcs.units import DIFFERENCE, UNITS, unit_named, units_for
from shop.exchange.cells import CellRefused
from shop.measures import spoken

SMALL = {
    "c": "degC", "f": "degF", "degc": "degC", "degf": "degF", "deg c": "degC", "deg f": "degF", "celsius": "degC", "fahrenheit": "degF",
    "lpm": "L/min", "l min": "L/min", "gal/min": "gpm", "us gpm": "gpm", "1/min": "rpm", "min-1": "rpm", "u/min": "rpm", "kmh": "km/h",
    "hours": "h", "hrs": "h", "seconds": "s", "sec": "s", "k": "K",
}  # fmt: skip
SMALL |= {unit.lower(): unit for unit in UNITS if unit.lower() not in SMALL}
BRACKETED = re.compile(r"^(.*?)\s*[\[(]([^\[\]()]{1,12})[\])]\s*$")


def unit_known(text: str) -> str | None:
    """Return the unit that a text means, or None."""
    text = text.strip().strip("[]()").strip()
    try:
        return unit_named(text)
    except ValueError:
        return SMALL.get(text.lower())


def unit_for(text: str, kind: str) -> str:
    """Return the unit that a text means for something measured, or refuse it with those that would do."""
    wanted = ", ".join(spoken(unit) for unit in units_for(kind))
    if not text:
        raise CellRefused("No unit.", f"One of {wanted}")
    unit = unit_known(text)
    if unit is None:
        raise CellRefused(f"No unit “{text[:20]}” is known here.", f"One of {wanted}")
    if unit not in units_for(kind):
        raise CellRefused(f"{spoken(unit)} is no unit of {kind}.", f"One of {wanted}")
    return unit


def apart(heading: str) -> list[tuple[str, str]]:
    """Return the ways to read a heading as a name with a unit after it."""
    if found := BRACKETED.match(heading):
        return [(found[1], found[2])]
    words = re.split(r"[\s_,]+", heading.strip())
    return [(" ".join(words[:-count]), " ".join(words[-count:])) for count in (1, 2) if len(words) > count]


def only_unit(kind: str) -> str:
    """Return the unit of something that is measured in one unit alone; else nothing."""
    known = units_for(kind)
    return known[0] if len(known) == 1 or kind == "hours" else ""


def fits(unit: str, kind: str) -> bool:
    return bool(kind) and (unit in units_for(kind) or (kind == DIFFERENCE and unit in ("degC", "degF", "K")))

"""Words of a sheet of readings: what was read, which way, yes; and what to write instead of what is refused."""

from __future__ import annotations

from fleet.models.base import folded
from shop.exchange.cells import CellRefused
from shop.exchange.columns import QUANTITY_WORDS, WAYS, meaning_of

YES = {"yes", "y", "true", "1", "x", "ja", "oui", "si"}
AS_READ = "The right figure or unit; or yes in a column “As read” if it stands so"
LONGEST_NOTE = 240
HOURS_INSTEAD = {
    "meter_h": "What the meter showed; or yes in a column “As read” if it showed that",
    "read_at": "The day and time it was read",
}
INSTEAD = {
    "direction": "forward or reverse",
    "note": f"A shorter remark: up to {LONGEST_NOTE} signs",
    "port": "Up to 10 signs",
    "instrument": "The tag of an instrument that can show this, or nothing",
    "stability": "steady or hunting, or nothing",
    "oil_temp": "The oil temperature, or nothing where it was not read",
    "engine_speed": "The engine speed, or nothing where it was not read",
}


def is_yes(text: str) -> bool:
    return folded(text) in YES


def quantity_named(text: str) -> tuple[str, str]:
    """Return code and direction of what a text names."""
    found = QUANTITY_WORDS.get(folded(text)) or QUANTITY_WORDS.get(folded(text.replace("_", " ")))
    if found is None:
        meaning, _ = meaning_of(text) if text else (None, "")
        found = (meaning.quantity, meaning.direction) if meaning and meaning.quantity else None
    if found is None:
        reason = f"“{text[:40]}” is nothing that is read here." if text else "It is not said what was read."
        raise CellRefused(reason, "A word of the list, such as charge_neutral")
    return found


def direction_named(text: str) -> str:
    """Return forward, reverse or nothing."""
    key = folded(text.strip("-–"))
    for way, words in WAYS.items():
        if key in words:
            return way
    if key:
        raise CellRefused(f"“{text[:40]}” is no direction.", "forward or reverse, or nothing where there is none")
    return ""

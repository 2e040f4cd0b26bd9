"""Columns of a laboratory's sheet: what was found in the oil, and of which sample."""

from __future__ import annotations

from dataclasses import dataclass

from shop.exchange.columns import Meaning

ELEMENTS = {
    "Fe": "iron", "Cu": "copper", "Cr": "chromium", "Al": "aluminium", "Pb": "lead", "Sn": "tin", "Ni": "nickel", "Mn": "manganese",
    "Ti": "titanium", "Ag": "silver", "V": "vanadium", "Mo": "molybdenum", "Cd": "cadmium", "Si": "silicon", "Na": "sodium", "K": "potassium",
    "Li": "lithium", "B": "boron", "Zn": "zinc", "Ca": "calcium", "P": "phosphorus", "Mg": "magnesium", "Ba": "barium", "S": "sulphur",
}  # fmt: skip


@dataclass(frozen=True)
class Item:
    """Something a laboratory finds: its short name in the book, unit, and headings."""

    code: str
    unit: str
    words: tuple[str, ...]


ITEMS = (
    *(Item(symbol, "ppm", (symbol.lower(), name)) for symbol, name in ELEMENTS.items()),
    Item("V40", "mm2/s", ("v40", "viscosity 40", "visc 40", "kv40")),
    Item("V100", "mm2/s", ("v100", "viscosity 100", "visc 100", "kv100")),
    Item("Water", "%", ("water%", "water %", "water", "water ppm")),
    Item("TAN", "mgKOH/g", ("tan", "acid number")),
    Item("TBN", "mgKOH/g", ("tbn", "base number")),
    Item("PQ", "", ("pq", "pq index")),
    Item("4um", "1/mL", ("4um", "4 um", "4μm", "particles 4um")),
    Item("6um", "1/mL", ("6um", "6 um", "6μm", "particles 6um")),
    Item("14um", "1/mL", ("14um", "14 um", "14μm", "particles 14um")),
    Item("ISO4406", "", ("iso4406", "iso 4406", "iso code", "cleanliness")),
)
ITEM_BY_CODE = {item.code: item for item in ITEMS}
LAB_MEANINGS = (
    Meaning("lab_number", "Number of the laboratory", ("labno", "lab no", "lab number", "report")),
    Meaning("label", "Label of the sample", ("samplelabel", "sample label", "label", "sample", "bottle")),
    Meaning("drawn", "Day it was drawn", ("sampled", "date", "drawn", "sample date")),
    Meaning("place", "Machine or place", ("unit", "machine", "unit id", "point")),
    Meaning("oil_h", "Hours on the oil", ("hrsoil", "hrs oil", "oil hours", "hours on oil")),
    Meaning("life_h", "Hours of the machine", ("hrsunit", "hrs unit", "unit hours", "machine hours")),
    Meaning("fluid", "Oil as the laboratory names it", ("fluid", "oil", "product")),
    Meaning("comment", "Words of the laboratory", ("comment", "comments", "remark", "remarks", "severity")),
    Meaning(
        "left_out", "Left out", ("refused sheet", "refused line", "refused column", "refused value", "refused because", "write instead")
    ),
    *(Meaning(item.code, item.code, item.words, quantity=item.code) for item in ITEMS),
)
LAB_WORDS = {words: meaning for meaning in LAB_MEANINGS for words in meaning.words}

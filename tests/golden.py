"""Published check values: the rows of `fixtures/golden/physics.csv`, each with its tolerance and its source.

`golden("F16").expected` is the published figure, `golden("F16").close(value)` says whether ours agrees within the row's own tolerance.
"""

from __future__ import annotations

import csv
from dataclasses import dataclass
from functools import cache
from pathlib import Path

CHECK_VALUES = Path(__file__).parent.parent / "fixtures" / "golden" / "physics.csv"


@dataclass(frozen=True)
class CheckValue:
    """One published figure."""

    id: str
    quantity: str
    inputs: str
    expected: float
    unit: str
    tolerance: str
    source: str
    source_kind: str
    note: str

    @property
    def allowed(self) -> float:
        """Return how far off a figure may be, in the unit of the row; a tolerance with `%` is a share of the expected figure."""
        if self.tolerance.endswith("%"):
            return float(self.tolerance[:-1]) / 100 * abs(self.expected)
        return float(self.tolerance)

    def close(self, value: float) -> bool:
        """Say whether `value` agrees with the published figure within the row's own tolerance."""
        return abs(value - self.expected) <= self.allowed * (1 + 1e-9)


@cache
def check_values() -> dict[str, CheckValue]:
    """Return all rows of the file by id; an id that stands twice is refused."""
    rows: dict[str, CheckValue] = {}
    with CHECK_VALUES.open(newline="", encoding="utf-8") as file:
        for row in csv.DictReader(file):
            if row["id"] in rows:
                raise ValueError(f"id {row['id']} stands twice in {CHECK_VALUES.name}")
            rows[row["id"]] = CheckValue(**{**row, "expected": float(row["expected"])})
    return rows


def golden(id: str) -> CheckValue:
    """Return the row with this id; KeyError if there is none."""
    return check_values()[id]

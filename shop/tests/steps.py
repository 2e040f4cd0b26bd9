"""The steps of an open test in the order of walking, each with the key that its marks carry."""

from __future__ import annotations

from dataclasses import dataclass, field
from itertools import product

from fleet.models import DriveModel, Machine
from shop.models import Procedure
from shop.tests.procedures import why_not
from shop.workorders.steps import Step

BEFORE, AFTER = "before", "after"
COLUMN_WORDS = {BEFORE: "Before", AFTER: "After"}


@dataclass(frozen=True)
class PageStep:
    """One step of one procedure: something to do, to read, or to tick."""

    procedure: Procedure
    place: int
    told: dict = field(hash=False)

    @property
    def key(self) -> str:
        return f"{self.procedure.code}_{self.place}"

    @property
    def text(self) -> str:
        return self.told["text"]

    @property
    def cautions(self) -> list[str]:
        return self.told.get("cautions", [])

    @property
    def is_reading(self) -> bool:
        return bool(self.told.get("quantity"))

    @property
    def is_check(self) -> bool:
        return bool(self.told.get("check"))

    @property
    def is_idle(self) -> bool:
        return self.told.get("at") == "low idle"

    @property
    def is_loaded(self) -> bool:
        return bool(self.told.get("loaded"))

    @property
    def direction(self) -> str:
        return self.told.get("direction", "")

    @property
    def as_read(self) -> Step:
        """The same step as a sheet of paper knows it."""
        return Step(
            self.procedure.code,
            self.told["quantity"],
            self.direction,
            self.told.get("at", "high idle"),
            self.is_loaded,
            self.told.get("port", ""),
        )

    @property
    def cells(self) -> list[tuple[str, str]]:
        """The things to tick: the cells of a truth table, else the step itself; each with the name of its field."""
        grid = self.told.get("grid")
        if not grid:
            return [("found", self.text)]
        rows = product(*([f"{name} {value}" for value in values] for name, values in grid))
        return [(f"cell{place}", ", ".join(row)) for place, row in enumerate(rows, start=1)]

    @property
    def grid_heads(self) -> list[str]:
        return [name for name, _ in self.told.get("grid", ())]


@dataclass(frozen=True)
class PagePart:
    """One procedure on the page of an open test."""

    procedure: Procedure
    steps: list[PageStep]

    @property
    def is_written_in(self) -> bool:
        return any(step.is_reading or step.is_check for step in self.steps)


def parts_of(procedures, model: DriveModel, machine: Machine) -> list[PagePart]:
    """Return procedures in the order of walking, with the steps that apply to this drive."""
    ordered = sorted(procedures, key=lambda row: (row.walk_order, row.code))
    return [PagePart(procedure, steps_of(procedure, model, machine)) for procedure in ordered]


def steps_of(procedure: Procedure, model: DriveModel, machine: Machine) -> list[PageStep]:
    """Return the steps of a procedure that apply; where the gearing is not known the shaft is read instead of the road."""
    steps = []
    for place, told in enumerate(procedure.steps, start=1):
        if why_not(told.get("only_if", {}), model):
            continue
        if told.get("quantity") == "top_speed" and not (machine.final_ratio and machine.rolling_radius_m):
            told = {**told, "quantity": "output_speed"}
        steps.append(PageStep(procedure, place, told))
    return steps

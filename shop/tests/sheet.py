"""The page of an open test as it stands: parts, steps and columns, with what each step carries on from those before it."""

from __future__ import annotations

from dataclasses import dataclass

from django.utils import timezone
from django.utils.functional import cached_property

from calcs.quantities import QUANTITIES
from shop.models import OpenTest
from shop.tests.lines import WRONG, ConditionsForm, OwnConditions, StepCheck, StepReading, names_of
from shop.tests.marks import field_name, standing
from shop.tests.steps import AFTER, BEFORE, COLUMN_WORDS, PagePart, PageStep, parts_of
from shop.visits.entries import ReadingEntry, RoundConditions
from shop.visits.rows import port_for
from shop.visits.shelf import Shelf
from shop.workorders.expected import DriveFacts, facts_of

CONDITIONS = "conditions"
CARRIED_ON = ("oil_temp", "loop_pressure")  # what a step wrote for itself holds for the steps after it


@dataclass
class StepColumn:
    """One step in one column: the form as written, the same with what it carries, and where that comes from."""

    step: PageStep
    column: str
    form: StepReading | StepCheck
    judged: StepReading | StepCheck
    conditions: OwnConditions | None = None
    carried: dict[str, str] | None = None

    @property
    def key(self) -> str:
        return f"{self.step.key}-{self.column}"

    @property
    def words(self) -> str:
        return COLUMN_WORDS[self.column]

    @property
    def has_value(self) -> bool:
        return bool(self.form.data.get(self.form.add_prefix("value")))

    @property
    def could_not(self) -> str:
        return self.form.data.get(self.form.add_prefix("could_not")) or ""

    @property
    def is_written(self) -> bool:
        names = [
            f"{self.form.add_prefix(name)}" for name in self.form.fields if name not in ("preset", "quantity", "direction", "unit", "port")
        ]
        return any(self.form.data.get(name) for name in names if not name.endswith("unit"))

    @property
    def is_valid(self) -> bool:
        return self.judged.is_valid()

    @property
    def entry(self) -> ReadingEntry | None:
        return self.judged.entry() if self.step.is_reading and self.has_value and self.is_valid else None


class OpenSheet:
    """Everything on the page of one open test."""

    def __init__(self, test: OpenTest, by, values: dict[str, str] | None = None):
        self.test, self.by, self.unit, self.machine = test, by, test.unit, test.machine
        self.day = timezone.localdate()
        self.values = standing(test) if values is None else values
        self.columns = (BEFORE, AFTER) if test.conditions.get("columns") == "two" else (BEFORE,)
        self.parts: list[PagePart] = parts_of(test.procedures.all(), self.unit.drive_model, self.machine)
        self.shelf = Shelf.of(by, [self.unit])
        self.conditions = {column: self._conditions(column) for column in self.columns}
        self.lines: dict[str, StepColumn] = {}
        for column in self.columns:
            self._lay(column)

    @cached_property
    def facts(self) -> DriveFacts:
        return facts_of(self.unit, self.machine, self.day)

    def _conditions(self, column: str) -> ConditionsForm:
        return ConditionsForm(self.values, prefix=f"{CONDITIONS}-{column}", in_units=self.shelf.in_units, label_suffix="")

    def _lay(self, column: str) -> None:
        """Lay the steps of one column in order, each with what was said before it."""
        now = {
            name: self._said(CONDITIONS, column, name, "conditions") for name in ("oil_temp", "engine_speed", "idle_speed", "loop_pressure")
        }
        gauges: dict[tuple[str, str], tuple] = {}
        for part in self.parts:
            for step in part.steps:
                if step.is_reading:
                    self.lines[f"{step.key}-{column}"] = self._reading(step, column, now, gauges)
                elif step.is_check:
                    form = StepCheck(self.values, prefix=f"{step.key}-{column}", step=step, label_suffix="")
                    self.lines[f"{step.key}-{column}"] = StepColumn(step, column, form, form)

    def _said(self, step: str, column: str, name: str, source: str) -> tuple[str, str, str] | None:
        """Return a figure as typed, its unit, and where it was said; None where nothing was."""
        typed = self.values.get(field_name(step, column, name))
        unit = self.values.get(field_name(step, column, f"{name}_unit"), "")
        return (typed, unit, source) if typed else None

    def _reading(self, step: PageStep, column: str, now: dict, gauges: dict) -> StepColumn:
        base = self._base(step, column)
        for name in CARRIED_ON:
            own = self._said(step.key, column, name, step.procedure.code)
            now[name] = own if own and (name != "loop_pressure" or step.is_loaded) else now[name]
        carried, told = self._carried(step, column, now), {}
        data = base | self.values
        for name, (typed, unit, source) in carried.items():
            prefix = field_name(step.key, column, name)
            if not data.get(prefix):
                data |= {prefix: typed, f"{prefix}_unit": unit}
                told[name] = source
        told |= self._carry_gauge(step, column, data, gauges)
        given = {"shelf": self.shelf, "prefix": f"{step.key}-{column}", "label_suffix": ""}
        form = StepReading(base | self.values, **given)
        judged = StepReading(data, **given) if data.get(field_name(step.key, column, "value")) else form
        return StepColumn(step, column, form, judged, OwnConditions(data, prefix=given["prefix"]), told)

    def _base(self, step: PageStep, column: str) -> dict[str, str]:
        """Return what a reading line says of itself before anybody writes in it."""
        quantity, model = step.told["quantity"], self.unit.drive_model
        port = port_for(model, quantity) or step.told.get("port", "")
        said = {"preset": "1", "quantity": quantity, "direction": step.direction, "unit": str(self.unit.pk), "port": port}
        return {field_name(step.key, column, name): value for name, value in said.items()}

    def _carried(self, step: PageStep, column: str, now: dict) -> dict:
        speed = now["idle_speed"] if step.is_idle else now["engine_speed"]
        found = {"oil_temp": now["oil_temp"], "engine_speed": speed, "loop_pressure": now["loop_pressure"] if step.is_loaded else None}
        return {name: said for name, said in found.items() if said}

    def _carry_gauge(self, step: PageStep, column: str, data: dict, gauges: dict) -> dict[str, str]:
        """A gauge stays on its port until another one is named there."""
        name, kind = field_name(step.key, column, "instrument"), QUANTITIES[step.told["quantity"]].kind
        place = (data.get(field_name(step.key, column, "port"), ""), kind)
        if data.get(name):
            gauges[place] = (data[name], step.procedure.code)
        elif place in gauges:
            data[name], source = gauges[place]
            return {"instrument": source}
        return {}

    @property
    def known(self) -> set[str]:
        """Every name that a mark may carry."""
        forms = [*self.conditions.values(), *(line.form for line in self.lines.values())]
        return set().union(*(names_of(form) for form in forms)) if forms else set()

    def in_column(self, column: str) -> list[StepColumn]:
        return [line for line in self.lines.values() if line.column == column]

    def beside(self, step: PageStep) -> list[StepColumn]:
        return [self.lines[f"{step.key}-{column}"] for column in self.columns]

    def entries(self, column: str) -> tuple[ReadingEntry, ...]:
        return tuple(line.entry for line in self.in_column(column) if line.entry)

    def round_conditions(self, column: str, moment: str) -> RoundConditions:
        form = self.conditions[column]
        form.is_valid()
        plain = {name: form.cleaned_data.get(name) or "" for name in ("temperature_point", "drains")}
        figures = {"oil_temp_c": form.house("oil_temp"), "engine_speed_rpm": form.house("engine_speed"), "ambient_c": form.house("ambient")}
        return RoundConditions(**figures, **plain, moment=moment, procedure_version=self.test.number)

    def sentences(self) -> list[str]:
        """Every field that cannot be kept as it stands, as one sentence."""
        said = []
        for column, form in self.conditions.items():
            said += [
                f"{COLUMN_WORDS[column]}, {form.fields[name].label.lower()}: {one}" for name, all_ in form.errors.items() for one in all_
            ]
        for line in self.lines.values():
            said += [f"{self.heading(line)}: {one}" for all_ in line.judged.errors.values() for one in all_]
        return said

    def heading(self, line: StepColumn) -> str:
        words = line.judged.heading if line.step.is_reading else line.step.text
        column = f", {line.words.lower()}" if len(self.columns) > 1 else ""
        return f"{line.step.procedure.code} {words}{column}"

    def wrong(self) -> list[tuple[StepColumn, str]]:
        """What was ticked as not so, in the column that counts last."""
        return [(line, words) for line in self.lines.values() if line.step.is_check for words in line.form.found(WRONG)]

    def not_done(self) -> list[str]:
        return [f"{self.heading(line)}: could not, because {line.could_not}" for line in self.lines.values() if line.could_not]

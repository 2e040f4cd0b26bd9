"""Forms of an open test: conditions said once, a reading, a tick. Each is bound to what stands in the marks, and is the same gate as a visit's."""

from __future__ import annotations

from django import forms

from fleet.models import DriveModel
from shop.measures import MeasureField
from shop.tests.steps import PageStep
from shop.visits.reading_lines import ReadingLine

DRAINS = [("", "as the drive model has it"), *DriveModel.Drains.choices]
RIGHT, WRONG = "right", "wrong"
FOUND = [("", "not yet"), (RIGHT, "as it should be"), (WRONG, "not so")]
REASON = {"label": "Could not, because", "required": False, "max_length": 200}


class ConditionsForm(forms.Form):
    """What holds for every step of a column, unless a step says otherwise."""

    oil_temp = MeasureField("temperature", label="Oil temperature", least=-60, most=200)
    engine_speed = MeasureField("speed", label="Engine, high idle", least=0, most=6000)
    idle_speed = MeasureField("speed", label="Engine, low idle", least=0, most=6000)
    loop_pressure = MeasureField("pressure", label="Loop pressure at loaded steps", least=-1.1, most=1500)
    temperature_point = forms.CharField(label="Oil temperature read at", required=False, max_length=40)
    ambient = MeasureField("temperature", label="Air temperature", least=-60, most=70)
    drains = forms.ChoiceField(label="Case drains as plumbed today", required=False, choices=DRAINS)

    def __init__(self, *args, in_units: dict[str, str], **kwargs):
        super().__init__(*args, **kwargs)
        pick_own_units(self, in_units)

    def house(self, name: str) -> float | None:
        measure = self.cleaned_data.get(name) if self.is_valid() or name not in self.errors else None
        return measure.value if measure else None


class OwnConditions(forms.Form):
    """The conditions of one step: its own, or those carried to it."""

    oil_temp = MeasureField("temperature", label="Oil", least=-60, most=200)
    engine_speed = MeasureField("speed", label="Engine", least=0, most=6000)
    loop_pressure = MeasureField("pressure", label="Loop pressure", least=-1.1, most=1500)
    case_pressure = MeasureField("pressure", label="Case pressure", least=-1.1, most=60)

    def house(self) -> dict[str, float | None]:
        self.is_valid()
        return {name: measure.value if (measure := self.cleaned_data.get(name)) else None for name in self.fields}


class StepReading(ReadingLine):
    """A reading at a step, or why there is none."""

    could_not = forms.CharField(**REASON)


class StepCheck(forms.Form):
    """Something to tick: as it should be, or not so; a truth table has one for each cell."""

    note = forms.CharField(label="Remark", required=False, max_length=240)
    could_not = forms.CharField(**REASON)

    def __init__(self, *args, step: PageStep, **kwargs):
        super().__init__(*args, **kwargs)
        self.step = step
        for name, words in step.cells:
            self.fields[name] = forms.ChoiceField(label=words, required=False, choices=FOUND)

    @property
    def cells(self) -> list:
        return [self[name] for name, _ in self.step.cells]

    def found(self, wanted: str) -> list[str]:
        """Return the words of the cells that were ticked so."""
        self.is_valid()
        return [words for name, words in self.step.cells if self.cleaned_data.get(name) == wanted]


def pick_own_units(form: forms.Form, in_units: dict[str, str]) -> None:
    for field in form.fields.values():
        if isinstance(field, MeasureField):
            field.in_units(in_units)


def names_of(form: forms.Form) -> set[str]:
    """Return the names under which the fields of a form are sent, hidden ones left out."""
    names = set()
    for name, field in form.fields.items():
        if not field.widget.is_hidden and name not in ("preset", "unit"):
            names.add(form.add_prefix(name))
            if isinstance(field, MeasureField):
                names.add(f"{form.add_prefix(name)}_unit")
    return names

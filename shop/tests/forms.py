"""Forms of testing: which procedures a test is opened with, closing it, giving it up, and a procedure's next version."""

from __future__ import annotations

import json

from django import forms

from calcs.figures import NumberRefused, read_number
from calcs.quantities import QUANTITIES
from fleet.judged_hours import believed_hours, tenth
from fleet.models import Reading
from shop.cautions import CAUTIONS
from shop.forms_base import ActForm
from shop.models import Procedure, WorkOrder
from shop.models.procedures import GAUGE_CAUTIONS, reads_by_gauge
from shop.tests.procedures import WORDS, in_force, why_not
from shop.visits.entries import HoursEntry

COLUMNS = [("one", "One round of readings"), ("two", "Before and after a repair")]
FIGURE = {"inputmode": "decimal", "autocomplete": "off", "class": "figure"}
USUAL = ("T01", "T02", "T03", "T05", "T07", "T08", "T09", "T11", "T20")
MOST_METER_H = 100_000


class OpenTestForm(ActForm):
    """What is tested: the procedures that apply to the drive; the usual ones are ticked."""

    columns = forms.ChoiceField(label="This test is", choices=COLUMNS, initial="one", widget=forms.RadioSelect)
    order = forms.ModelChoiceField(label="For order", queryset=None, required=False)
    procedures = forms.MultipleChoiceField(
        label="Procedures, in the order of walking",
        widget=forms.CheckboxSelectMultiple,
        error_messages={"required": "Tick one procedure or more."},
    )

    def __init__(self, *args, unit, machine, **kwargs):
        super().__init__(*args, **kwargs)
        self.rows = list(in_force())
        apply = [row for row in self.rows if not why_not(row.applies_if, unit.drive_model)]
        self.left_out = [(row, why_not(row.applies_if, unit.drive_model)) for row in self.rows if row not in apply]
        self.fields["procedures"].choices = [(row.code, f"{row.code} {row.title}") for row in apply]
        self.fields["procedures"].initial = [row.code for row in apply if row.code in USUAL and row.code != "T20"]
        self.fields["order"].queryset = WorkOrder.objects.open().of(machine).order_by("-pk")

    def picked(self) -> list[Procedure]:
        return [row for row in self.rows if row.code in self.cleaned_data["procedures"]]


class CloseTestForm(ActForm):
    """Closing needs the hour meter, as every visit does."""

    meter_h = forms.CharField(
        label="Hour meter shows",
        max_length=30,
        widget=forms.TextInput(attrs=FIGURE),
        error_messages={"required": "Write what the hour meter shows."},
    )
    keep_hours = forms.BooleanField(label="Keep as read, unconfirmed: the meter shows this", required=False)
    note = forms.CharField(label="Looks odd, remark", required=False, max_length=2000, widget=forms.Textarea(attrs={"rows": 2}))

    def __init__(self, *args, machine, **kwargs):
        super().__init__(*args, **kwargs)
        last = believed_hours(machine)
        if last:
            self.fields["meter_h"].help_text = f"Last read {last.meter_h} h on {last.read_at:%-d %b %Y}"

    def clean_meter_h(self):
        typed = self.cleaned_data["meter_h"].strip()
        try:
            number = read_number(typed)
        except NumberRefused as refusal:
            raise forms.ValidationError(str(refusal)) from refusal
        if not 0 <= number <= MOST_METER_H:
            raise forms.ValidationError(f"{typed} h cannot stand on a meter: write hours from 0 to {MOST_METER_H}.")
        self.cleaned_data["meter_figure"] = tenth(number)
        return typed

    def hours(self) -> HoursEntry:
        given = self.cleaned_data
        return HoursEntry(given["meter_figure"], given["meter_h"], bool(given.get("keep_hours")))


class GiveUpForm(ActForm):
    reason = forms.CharField(label="Given up, because", max_length=200, error_messages={"required": "Write why the test is given up."})


class ProcedureForm(ActForm):
    """The next version of a procedure: words in fields, steps one a line."""

    title = forms.CharField(max_length=120)
    why = forms.CharField(widget=forms.Textarea(attrs={"rows": 2}))
    kit = forms.CharField(label="Kit", required=False, widget=forms.Textarea(attrs={"rows": 2}))
    conditions = forms.CharField(label="Conditions", required=False, widget=forms.Textarea(attrs={"rows": 2}))
    steps = forms.CharField(
        label="Steps",
        widget=forms.Textarea(attrs={"rows": 12}),
        help_text="One a line: words | charge_stroked; forward; loaded; port CH | C1 C2 C3. "
        "In the middle write check where something is ticked, nothing where something is only done.",
    )
    expectation = forms.CharField(required=False, widget=forms.Textarea(attrs={"rows": 2}))
    judgement = forms.CharField(required=False, widget=forms.Textarea(attrs={"rows": 2}))
    traps = forms.CharField(required=False, widget=forms.Textarea(attrs={"rows": 2}))
    cautions = forms.MultipleChoiceField(
        choices=[(code, f"{code} {caution.title}") for code, caution in CAUTIONS.items()],
        widget=forms.CheckboxSelectMultiple,
        error_messages={"required": "No procedure stands without a caution: tick those that it calls for."},
    )
    applies_if = forms.MultipleChoiceField(
        label="Applies to drives with", required=False, choices=WORDS.items(), widget=forms.CheckboxSelectMultiple
    )
    walk_order = forms.IntegerField(label="Place on the way round", min_value=1, max_value=999)
    source = forms.CharField(required=False, max_length=200)
    based_on = forms.IntegerField(widget=forms.HiddenInput)

    def __init__(self, *args, procedure: Procedure, **kwargs):
        fields = ("title", "why", "kit", "conditions", "expectation", "judgement", "traps", "cautions", "walk_order", "source")
        initial = {name: getattr(procedure, name) for name in fields}
        initial |= {"steps": "\n".join(line_of(step) for step in procedure.steps), "based_on": procedure.version}
        initial |= {"applies_if": [name for name, wanted in procedure.applies_if.items() if wanted]}
        super().__init__(*args, **kwargs | {"initial": initial})
        self.before = {line_of(step): step for step in procedure.steps}

    def clean_steps(self):
        lines = [line.strip() for line in self.cleaned_data["steps"].splitlines() if line.strip()]
        steps, wrong = [], []
        for number, line in enumerate(lines, start=1):
            try:
                steps.append(self.before.get(line) or step_of(line))
            except ValueError as refusal:
                wrong.append(f"Line {number}: {refusal}")
        if wrong:
            raise forms.ValidationError(wrong)
        return steps

    def clean_applies_if(self):
        return {name: True for name in self.cleaned_data["applies_if"]}

    def clean(self):
        given = super().clean()
        missing = [code for code in GAUGE_CAUTIONS if code not in given.get("cautions", ())]
        if missing and any(map(reads_by_gauge, given.get("steps", ()))):
            self.add_error("cautions", f"A step reads a pressure or a flow: {', '.join(missing)} must be ticked too.")
        used = sorted({code for step in given.get("steps", ()) for code in step["cautions"]} - set(given.get("cautions", ())))
        if used and given.get("cautions"):
            self.add_error("cautions", f"Steps call for {', '.join(used)}: tick them for the whole procedure as well.")
        return given


def line_of(step: dict) -> str:
    """Return a step as one line of text."""
    told = [step["quantity"]] if step.get("quantity") else ["check"] if step.get("check") else []
    told += [step[name] for name in ("direction", "at") if step.get(name)]
    told += ["loaded"] if step.get("loaded") else []
    told += [f"port {step['port']}"] if step.get("port") else []
    told += [f"grid {json.dumps(dict(step['grid']), ensure_ascii=False)}"] if step.get("grid") else []
    told += [f"only {' '.join(step['only_if'])}"] if step.get("only_if") else []
    return " | ".join([step["text"], "; ".join(told), " ".join(step["cautions"])]).strip()


def step_of(line: str) -> dict:
    """Return a line of text as a step; ValueError says what cannot be read."""
    parts = [part.strip() for part in line.split("|")] + ["", ""]
    step: dict = {"text": parts[0][:400], "cautions": parts[2].replace(",", " ").split()}
    strange = [code for code in step["cautions"] if code not in CAUTIONS]
    if not step["text"]:
        raise ValueError("the words of the step are missing.")
    if strange:
        raise ValueError(f"there is no caution {strange[0]}; they run from C1 to C{len(CAUTIONS)}.")
    for word in (part.strip() for part in parts[1].split(";") if part.strip()):
        read_word(step, word)
    if "quantity" in step and QUANTITIES[step["quantity"]].directional and not step.get("direction"):
        raise ValueError(f"{QUANTITIES[step['quantity']].label.lower()} is read forward or reverse: say which.")
    return step


def read_word(step: dict, word: str) -> None:
    """Take one word of the middle part of a line into its step."""
    head, _, rest = word.partition(" ")
    if word in QUANTITIES:
        step["quantity"] = word
    elif word in (Reading.Direction.FORWARD, Reading.Direction.REVERSE):
        step["direction"] = word
    elif word in ("low idle", "high idle"):
        step["at"] = word
    elif word in ("loaded", "check"):
        step[word] = True
    elif head == "port" and rest:
        step["port"] = rest[:10]
    elif head == "only" and set(rest.split()) <= set(WORDS):
        step["only_if"] = {name: True for name in rest.split()}
    elif head == "grid":
        step["grid"] = grid_of(rest)
    else:
        raise ValueError(f"“{word}” is no quantity, way, idle, loaded, check, port or only; quantities are {', '.join(QUANTITIES)}.")


def grid_of(text: str) -> list[list]:
    """Return the heads and values of a truth table, as pairs: a database may keep the names of a JSON object in another order."""
    try:
        grid = json.loads(text)
    except json.JSONDecodeError as refusal:
        raise ValueError("the table after “grid” cannot be read.") from refusal
    is_table = isinstance(grid, dict) and grid and all(isinstance(row, list) and 0 < len(row) <= 4 for row in grid.values())
    if not is_table or len(grid) > 5:
        raise ValueError("a table has one to five heads with up to four values each.")
    return [[str(head), [str(value) for value in row]] for head, row in grid.items()]

"""Lines of a visit beside readings: oil filled, tasks done or not, findings. A line with nothing on it is left out."""

from __future__ import annotations

from decimal import Decimal

from django import forms

from fleet.models import DriveUnit, FluidFill, FluidProduct
from shop.checked_fields import DayField
from shop.measures import MeasureField
from shop.models import Finding, ServiceTask
from shop.visits.entries import FillEntry, FindingEntry, TaskEntry
from shop.visits.rows import TaskToDo

NOT_KNOWN = "not known"
MOST_LITRES = 2000.0
DONE = [("", "not today"), ("yes", "done"), ("no", "not done")]


class FillLine(forms.Form):
    """Oil that went in, and out before it."""

    kind = forms.ChoiceField(label="What was done", required=False, choices=[("", "–"), *FluidFill.Kind.choices])
    product = forms.ChoiceField(label="Product", required=False)
    fill = MeasureField("volume", label="In", least=0, most=MOST_LITRES)
    drained = MeasureField("volume", label="Out", least=0, most=MOST_LITRES)
    is_measured = forms.BooleanField(label="Measured, not estimated", required=False, initial=True)
    batch = forms.CharField(label="Drum or batch", required=False, max_length=40)
    note = forms.CharField(label="Remark", required=False, max_length=240)

    def __init__(self, *args, products: dict[str, FluidProduct], has_oil: bool, in_units: dict[str, str], **kwargs):
        super().__init__(*args, **kwargs)
        self.products, self.has_oil = products, has_oil
        self.fields["product"].choices = [("", "–"), *((key, str(product)) for key, product in products.items()), (NOT_KNOWN, "not known")]
        self.fields["fill"].in_units(in_units)
        self.fields["drained"].in_units(in_units)

    def is_blank(self) -> bool:
        given = getattr(self, "cleaned_data", {})
        return not self.errors and not any(given.get(name) for name in ("kind", "product", "fill", "drained", "batch", "note"))

    def clean(self):
        cleaned = super().clean()
        if self.errors or not any(cleaned.get(name) for name in ("kind", "product", "fill", "drained", "batch", "note")):
            return cleaned
        if not cleaned.get("kind"):
            self.add_error("kind", "Say whether it was a first fill, a change, a top-up or a flush.")
        self._refuse_litres(cleaned)
        if litres(cleaned, "fill") and not cleaned.get("product"):
            self.add_error("product", "Pick the oil that went in, or not known.")
        if cleaned.get("kind") == FluidFill.Kind.FIRST and self.has_oil:
            self.add_error("kind", "This machine has been filled before: a first fill can only be the first. Was it a change?")
        return cleaned

    def _refuse_litres(self, cleaned) -> None:
        filled, drained = litres(cleaned, "fill"), litres(cleaned, "drained")
        if not filled and not drained:
            self.add_error("fill", "Write how much went in, or came out.")
        if cleaned.get("kind") == FluidFill.Kind.TOP_UP and drained:
            self.add_error("drained", "A top-up drains nothing: call it a change, or leave out what came out.")

    def entry(self) -> FillEntry:
        given = self.cleaned_data
        return FillEntry(
            kind=given["kind"],
            product=self.products.get(given.get("product") or ""),
            fill_l=litres(given, "fill"),
            drained_l=litres(given, "drained"),
            is_measured=bool(given.get("is_measured")),
            batch=given.get("batch") or "",
            note=given.get("note") or "",
        )


def litres(cleaned, name: str) -> Decimal:
    """Return litres to the hundredth, as they are kept."""
    measure = cleaned.get(name)
    return Decimal(str(measure.value)).quantize(Decimal("0.01")) if measure else Decimal("0.00")


class TaskLine(forms.Form):
    """A task that applies: done, not done and why, or not on today's round."""

    key = forms.CharField(widget=forms.HiddenInput)
    was_done = forms.ChoiceField(label="", required=False, choices=DONE, widget=forms.RadioSelect)
    why_not = forms.CharField(label="Not done because", required=False, max_length=200)
    finding = forms.CharField(label="What was seen", required=False, max_length=200)
    part_number = forms.CharField(label="Part number fitted", required=False, max_length=40)
    item_date = DayField(label="Date on the new hose or certificate", required=False)

    def __init__(self, *args, to_do: dict[str, TaskToDo], **kwargs):
        super().__init__(*args, **kwargs)
        self.to_do = to_do
        self.fields["was_done"].initial = ""

    @property
    def task(self) -> TaskToDo | None:
        key = self.data.get(self.add_prefix("key")) if self.is_bound else self.initial.get("key")
        return self.to_do.get(key)

    @property
    def heading(self) -> str:
        return self.task.words if self.task else "A task that no longer applies"

    @property
    def is_open(self) -> bool:
        return self.is_bound and any(self.data.get(self.add_prefix(name)) for name in ("finding", "part_number", "item_date"))

    def is_blank(self) -> bool:
        return not self.errors and not self.cleaned_data.get("was_done")

    def clean(self):
        cleaned = super().clean()
        if cleaned.get("was_done") and self.task is None:
            self.add_error("was_done", "This task no longer applies to the machine: open the page anew.")
        if cleaned.get("was_done") == "no" and not cleaned.get("why_not"):
            self.add_error("why_not", "Write why it was not done.")
        told = [name for name in ("why_not", "finding", "part_number", "item_date") if cleaned.get(name)]
        if told and not cleaned.get("was_done"):
            self.add_error("was_done", "Something is written here: tick done, or not done.")
        return cleaned

    def entry(self) -> TaskEntry:
        given = self.cleaned_data
        is_done = given["was_done"] == "yes"
        why = "" if is_done else given["why_not"]
        more = {name: given.get(name) or "" for name in ("finding", "part_number")}
        return TaskEntry(self.task.task, self.task.unit, is_done, why, item_date=given.get("item_date"), **more)


class FindingLine(forms.Form):
    """Something seen."""

    words = forms.CharField(label="What was found", required=False, max_length=300)
    urgency = forms.ChoiceField(label="How soon", required=False, choices=Finding.Urgency.choices, initial=Finding.Urgency.CAN_WAIT)
    unit = forms.ChoiceField(label="On", required=False)
    calls_task = forms.ChoiceField(label="Makes due at once", required=False)
    sign = forms.ChoiceField(label="Sign", required=False, choices=[("", "–"), *Finding._meta.get_field("sign").choices])
    oil_was_cold = forms.BooleanField(label="Seen with cold oil", required=False)

    def __init__(self, *args, units: list[DriveUnit], tasks: dict[str, ServiceTask], **kwargs):
        super().__init__(*args, **kwargs)
        self.tasks = tasks
        self.fields["calls_task"].choices = [("", "–"), *((key, str(task)) for key, task in tasks.items())]
        self.units = {str(unit.pk): unit for unit in units}
        self.fields["unit"].choices = [("", "the machine"), *((key, str(unit)) for key, unit in self.units.items())]

    @property
    def is_open(self) -> bool:
        return self.is_bound and any(self.data.get(self.add_prefix(name)) for name in ("calls_task", "sign"))

    def is_blank(self) -> bool:
        return not self.errors and not self.cleaned_data.get("words")

    def clean(self):
        cleaned = super().clean()
        if not cleaned.get("words") and (cleaned.get("calls_task") or cleaned.get("sign")):
            self.add_error("words", "Write what was found.")
        return cleaned

    def entry(self) -> FindingEntry:
        given = self.cleaned_data
        urgency = given.get("urgency") or Finding.Urgency.CAN_WAIT
        unit, task = self.units.get(given.get("unit") or ""), self.tasks.get(given.get("calls_task") or "")
        return FindingEntry(given["words"], urgency, unit, task, given.get("sign") or "", not given.get("oil_was_cold"))


FillLines = forms.formset_factory(FillLine, extra=0, max_num=20, absolute_max=20, validate_max=True)
TaskLines = forms.formset_factory(TaskLine, extra=0, max_num=200, absolute_max=200, validate_max=True)
FindingLines = forms.formset_factory(FindingLine, extra=0, max_num=40, absolute_max=40, validate_max=True)

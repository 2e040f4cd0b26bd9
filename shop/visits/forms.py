"""The form of a visit: who, when, hours and conditions once; then lines of readings, oil, tasks and findings."""

from __future__ import annotations

from datetime import timedelta

from django import forms
from django.contrib.auth import get_user_model
from django.utils import timezone

from calcs.figures import NumberRefused, read_number
from fleet.judged_hours import believed_hours, judge_hours, tenth
from fleet.models import DriveModel, DriveTest, FluidProduct, Machine
from shop.forms_base import ActForm
from shop.measures import MeasureField, units_of
from shop.models import WorkOrder
from shop.roles import RIGHTS
from shop.visits.entries import HoursEntry, RoundConditions, VisitEntry
from shop.visits.lines import FillLines, FindingLines, TaskLines
from shop.visits.reading_lines import FIGURE, ReadingLines
from shop.visits.rows import fitted_units, starting_readings, tasks_that_apply
from shop.visits.shelf import Shelf

MOMENT = forms.DateTimeInput(format="%Y-%m-%dT%H:%M", attrs={"type": "datetime-local"})
MOMENT_FORMATS = ["%Y-%m-%dT%H:%M", "%Y-%m-%dT%H:%M:%S", "%Y-%m-%d %H:%M", "%Y-%m-%d"]
DRAINS = [("", "as the drive model has it"), *DriveModel.Drains.choices]
MOST_METER_H = 100_000
PHOTO_ENDINGS = ".jpg,.jpeg,.png,.webp,.pdf,.csv,.xlsx,.txt"


def needs(sentence: str) -> dict:
    """Return the sentence for a field left empty."""
    return {"required": sentence}


NO_HOURS = needs("Write what the hour meter shows.")


class MomentField(forms.DateTimeField):
    """A moment in the shop's own time; more than a day ahead is refused."""

    def __init__(self, **kwargs):
        super().__init__(widget=MOMENT, input_formats=MOMENT_FORMATS, **kwargs)

    def clean(self, value):
        moment = super().clean(value)
        if moment and moment > timezone.now() + timedelta(days=1):
            raise forms.ValidationError("This lies in the future: write when it was done.")
        if moment and moment.year < 1970:
            raise forms.ValidationError("This is before hour meters: check the year.")
        return moment


class HoursForm(ActForm):
    """A reading of the hour meter, asked about once if it is hard to believe."""

    read_at = MomentField(label="When", error_messages=needs("Write when it was read."))
    meter_h = forms.CharField(label="Hour meter shows", max_length=30, widget=forms.TextInput(attrs=FIGURE), error_messages=NO_HOURS)
    keep_hours = forms.BooleanField(label="Keep as read, unconfirmed: the meter shows this", required=False)

    moment, corrected = "read_at", None

    def __init__(self, *args, machine: Machine, **kwargs):
        super().__init__(*args, **kwargs)
        self.machine, self.asks_hours = machine, False
        self.last = believed_hours(machine)
        if self.last:
            day = timezone.localtime(self.last.read_at)
            self.fields["meter_h"].help_text = f"Last read {self.last.meter_h} h on {day:%-d %b %Y}"

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

    def clean(self):
        cleaned = super().clean()
        if cleaned.get(self.moment) and "meter_figure" in cleaned:
            self._ask_hours(cleaned, judge_hours(self.machine, cleaned["meter_figure"], cleaned[self.moment], self.corrected))
        return cleaned

    def _ask_hours(self, cleaned, judged) -> None:
        if judged.is_plausible:
            return
        self.asks_hours = True
        if not cleaned.get("keep_hours"):
            meant = " or ".join(f"{float(hours):g}" for hours in judged.suggestions[:2])
            asked = f" {cleaned['meter_h']} or {meant}?" if meant else ""
            doubt = f"{cleaned['meter_h']} h is hard to believe: {judged.sentence}"
            self.add_error("meter_h", f"{doubt}{asked} Put it right, or tick keep as read.")

    def hours(self) -> HoursEntry:
        given = self.cleaned_data
        return HoursEntry(given["meter_figure"], given["meter_h"], bool(given.get("keep_hours")))


class SeveralFiles(forms.ClearableFileInput):
    allow_multiple_selected = True


class PhotosField(forms.FileField):
    """Any number of files; each is looked at when it is kept."""

    def clean(self, data, initial=None):
        given = data if isinstance(data, (list, tuple)) else [data] if data else []
        return [super(PhotosField, self).clean(each, initial) for each in given]


class VisitForm(HoursForm):
    """What is said once of a visit."""

    visited_at = MomentField(label="When", error_messages=needs("Write when the visit was."))
    visited_by = forms.ModelChoiceField(label="Who", queryset=None, error_messages=needs("Pick who was there."))
    order = forms.ModelChoiceField(label="For order", queryset=None, required=False)
    oil_temp = MeasureField("temperature", label="Oil temperature", least=-60, most=200)
    engine_speed = MeasureField("speed", label="Engine speed", least=0, most=6000)
    ambient = MeasureField("temperature", label="Air temperature", least=-60, most=70)
    temperature_point = forms.CharField(label="Oil temperature read at", required=False, max_length=40)
    drains = forms.ChoiceField(label="Case drains as plumbed today", required=False, choices=DRAINS)
    test_moment = forms.ChoiceField(label="This test is", required=False, choices=DriveTest.Moment.choices)
    note = forms.CharField(label="Remark", required=False, max_length=4000, widget=forms.Textarea(attrs={"rows": 3}))
    photos = PhotosField(label="Photos and papers", required=False, widget=SeveralFiles(attrs={"accept": PHOTO_ENDINGS}))

    moment = "visited_at"
    read_at = None

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        workers = get_user_model().objects.filter(is_active=True, groups__name__in=RIGHTS["record work"]).distinct()
        self.fields["visited_by"].queryset = workers.order_by("first_name", "username")
        self.fields["visited_by"].label_from_instance = lambda person: person.get_full_name() or person.get_username()
        self.fields["order"].queryset = WorkOrder.objects.open().of(self.machine).order_by("-pk")
        self.fields["visited_at"].initial = timezone.localtime().replace(second=0, microsecond=0)
        self.fields["visited_by"].initial = self.by.pk if self.by else None
        if not self.machine.customer.agrees_to_photos:
            self.fields["photos"].help_text = f"{self.machine.customer} has not agreed to photos on record: ask first."

    def conditions(self) -> RoundConditions:
        given = self.cleaned_data
        figures = {name: given[name].value if given.get(name) else None for name in ("oil_temp", "engine_speed", "ambient")}
        return RoundConditions(
            oil_temp_c=figures["oil_temp"],
            engine_speed_rpm=figures["engine_speed"],
            ambient_c=figures["ambient"],
            temperature_point=given.get("temperature_point") or "",
            drains=given.get("drains") or "",
            moment=given.get("test_moment") or DriveTest.Moment.ALONE,
        )


class VisitSheet:
    """The whole page: the form and its lines, valid together or not at all."""

    MORE = {"readings": 4, "fills": 1, "findings": 2}

    def __init__(self, machine: Machine, by, sent=None, order=None, files=None):
        self.machine, self.by, self.units = machine, by, fitted_units(machine)
        in_units = units_of(by)
        to_do = {line.key: line for line in tasks_that_apply(machine, self.units)}
        called = {str(line.task.pk): line.task for line in to_do.values()}
        products = {str(product.pk): product for product in FluidProduct.objects.filter(is_retired=False)}
        fill_facts = {"products": products, "has_oil": machine.fills.exists(), "in_units": in_units}
        self.form = VisitForm(sent, files, by=by, machine=machine, initial={"order": order})
        self.readings = ReadingLines(
            sent,
            prefix="reading",
            form_kwargs={"shelf": Shelf.of(by, self.units)},
            initial=starting_readings(self.units, machine) + [{}] * (2 if self.units else 0),
        )
        self.fills = FillLines(sent, prefix="fill", form_kwargs=fill_facts, initial=[{}])
        self.tasks = TaskLines(sent, prefix="task", form_kwargs={"to_do": to_do}, initial=[{"key": key} for key in to_do])
        self.findings = FindingLines(sent, prefix="finding", form_kwargs={"units": self.units, "tasks": called}, initial=[{}, {}])

    @property
    def lines(self) -> dict:
        return {"readings": self.readings, "fills": self.fills, "tasks": self.tasks, "findings": self.findings}

    def is_valid(self) -> bool:
        return all([self.form.is_valid(), *(lines.is_valid() for lines in self.lines.values())])

    def sentences(self) -> list[str]:
        """Every refusal as one sentence that names the line and the field."""
        said = self.form.sentences()
        names = {"readings": "Reading", "fills": "Oil", "tasks": "Task", "findings": "Finding"}
        for kind, lines in self.lines.items():
            said += [str(error) for error in lines.non_form_errors()]
            for number, line in enumerate(lines.forms, start=1):
                said += line_sentences(f"{names[kind]} {number}", line)
        return said

    def entry(self) -> VisitEntry:
        filled = {kind: tuple(line.entry() for line in lines.forms if not line.is_blank()) for kind, lines in self.lines.items()}
        return VisitEntry(self.form.hours(), self.form.conditions(), note=self.form.cleaned_data.get("note") or "", **filled)


def line_sentences(name: str, line) -> list[str]:
    heading = getattr(line, "heading", "")
    named = f"{name} ({heading})" if heading else name
    return [
        f"{named}, {str(line.fields[field].label or field).lower()}: {error}" if field in line.fields else f"{named}: {error}"
        for field, errors in line.errors.items()
        for error in errors
    ]


def with_more_lines(sent, kind: str):
    """Return what was sent with room for more lines of a kind; nothing typed is lost."""
    prefix = {"readings": "reading", "fills": "fill", "findings": "finding"}.get(kind)
    more = sent.copy()
    if prefix:
        name = f"{prefix}-TOTAL_FORMS"
        now = int(more.get(name)) if str(more.get(name, "")).isdigit() else 0
        more[name] = str(min(now, 100) + VisitSheet.MORE[kind])
    return more


def hush(sheet: VisitSheet) -> None:
    """Show a sheet as it was sent, without judging it yet."""
    for form in [sheet.form, *(line for lines in sheet.lines.values() for line in lines.forms)]:
        form._errors, form.cleaned_data = forms.utils.ErrorDict(), {}

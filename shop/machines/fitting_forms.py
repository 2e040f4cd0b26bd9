"""Forms of what goes in and out of a machine: its hour meter, and drives with the hours of both machines."""

from django import forms
from django.db.models import Q

from fleet.hours import moment_on
from fleet.judged_hours import judge_hours, tenth
from fleet.models import DriveUnit, HourMeter, Installation, Machine
from shop.forms_base import ActForm
from shop.machines.forms import day_field, hours_field


class HoursOn:
    """A meter reading of a machine on the day of the form; refused where it cannot be right, asked about where it is unusual."""

    def read_on(self, field: str, machine: Machine | None) -> None:
        given = self.cleaned_data
        if not (machine and given.get("on") and given.get(field)):
            return
        given[field] = tenth(given[field].value)
        judged = judge_hours(machine, given[field], moment_on(given["on"], machine))
        if judged.meter is None:
            self.add_error(field, f"{machine.number} has no hour meter on record for {given['on']:%-d %B %Y}.")
        elif judged.state == "impossible" or (judged.state == "unusual" and not given.get("hours_are_right")):
            self.add_error(field, self.question(machine, judged))

    def question(self, machine: Machine, judged) -> str:
        meant = f" Was {judged.suggestions[0]:f} h meant?" if judged.suggestions else ""
        ask = " Read it again; if it is so, tick that below." if judged.state == "unusual" else ""
        return f"{judged.meter_h} h on {machine.number} cannot be taken as it is: {judged.question}.{meant}{ask}"


def hours_are_right() -> forms.BooleanField:
    return forms.BooleanField(label="I read the meter again: unusual hours are right", required=False)


class MeterForm(HoursOn, ActForm):
    on = day_field("Replaced on")
    end_meter_h = hours_field("The old meter showed")
    start_meter_h = hours_field("The new meter shows")
    reason = forms.CharField(label="Why replaced", max_length=200)
    hours_are_right = hours_are_right()

    def __init__(self, *args, meter: HourMeter, **kwargs):
        super().__init__(*args, **kwargs)
        self.meter = meter

    def clean(self):
        given = super().clean()
        self.read_on("end_meter_h", self.meter.machine)
        if given.get("start_meter_h"):
            given["start_meter_h"] = tenth(given["start_meter_h"].value)
        if given.get("on") and self.meter.readings.accepted().filter(read_at__date__gt=given["on"]).exists():
            self.add_error("on", "The old meter was read after that day.")
        return given


class PlaceOfDrive(HoursOn, ActForm):
    """Shared rules: a position holds one unit at a time, and a unit is in one machine at a time."""

    def refuse_taken(self, machine: Machine | None, but: Installation | None = None) -> None:
        position, day = self.cleaned_data.get("position"), self.cleaned_data.get("on")
        if not (machine and position and day):
            return
        taken = machine.installations.filter(Q(to_date=None) | Q(to_date__gt=day), position=position).exclude(pk=but.pk if but else None)
        if there := taken.select_related("unit").first():
            self.add_error(
                "position",
                f"{there.unit.tag} is in that position of {machine.number} since {there.from_date:%-d %B %Y}: take it out first.",
            )

    def refuse_elsewhere(self, unit: DriveUnit | None) -> None:
        day = self.cleaned_data.get("on")
        later = unit and day and unit.installations.filter(Q(to_date=None) | Q(to_date__gt=day)).select_related("machine").first()
        if later:
            self.add_error("on", f"{unit.tag} was in {later.machine.number} on that day.")


class FitForm(PlaceOfDrive):
    unit = forms.ModelChoiceField(DriveUnit.objects.none(), label="Drive unit")
    position = forms.ChoiceField(choices=Installation.Position.choices)
    on = day_field("Fitted on")
    meter_h = hours_field("Hour meter shows")
    reason = forms.CharField(label="Why fitted", max_length=200, required=False)
    hours_are_right = hours_are_right()

    def __init__(self, *args, machine: Machine, **kwargs):
        super().__init__(*args, **kwargs)
        self.machine = machine
        fitted = Installation.objects.running().values("unit")
        kept = DriveUnit.objects.exclude(pk__in=fitted).exclude(keeping=DriveUnit.Keeping.SCRAPPED)
        self.fields["unit"].queryset = kept.select_related("drive_model")

    def clean(self):
        given = super().clean()
        self.read_on("meter_h", self.machine)
        self.refuse_taken(self.machine)
        self.refuse_elsewhere(given.get("unit"))
        return given


class RemoveForm(PlaceOfDrive):
    on = day_field("Taken out on")
    meter_h = hours_field("Hour meter shows")
    reason = forms.CharField(label="Why taken out", max_length=200)
    keeping = forms.ChoiceField(label="Where it is now", choices=DriveUnit.Keeping.choices)
    hours_are_right = hours_are_right()

    def __init__(self, *args, installation: Installation, **kwargs):
        super().__init__(*args, **kwargs)
        self.installation = installation

    def clean(self):
        given = super().clean()
        self.read_on("meter_h", self.installation.machine)
        self.refuse_before_fitting()
        return given

    def refuse_before_fitting(self) -> None:
        day = self.cleaned_data.get("on")
        if day and day < self.installation.from_date:
            self.add_error("on", f"It was fitted on {self.installation.from_date:%-d %B %Y}: it cannot have been taken out before.")


class MoveForm(RemoveForm):
    keeping = None
    machine = forms.ModelChoiceField(Machine.objects.none(), label="Into machine")
    position = forms.ChoiceField(choices=Installation.Position.choices)
    out_meter_h = hours_field("Hour meter of the old machine shows")
    in_meter_h = hours_field("Hour meter of the new machine shows")
    meter_h = None
    on = day_field("Moved on")
    reason = forms.CharField(label="Why moved", max_length=200)

    field_order = ["machine", "position", "on", "out_meter_h", "in_meter_h", "reason", "hours_are_right"]

    def __init__(self, *args, installation: Installation, **kwargs):
        super().__init__(*args, installation=installation, **kwargs)
        self.fields["machine"].queryset = Machine.objects.in_use().exclude(pk=installation.machine_id)

    def clean(self):
        given = super().clean()
        self.read_on("out_meter_h", self.installation.machine)
        self.read_on("in_meter_h", given.get("machine"))
        self.refuse_taken(given.get("machine"))
        return given

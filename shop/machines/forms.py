"""Forms of the machine room: the machine itself, its sale, its meter, and drives that go in and out."""

from django import forms
from django.db.models import Q
from django.utils import timezone

from fleet.hours import moment_on
from fleet.judged_hours import judge_hours, tenth
from fleet.models import Customer, DriveUnit, HourMeter, Installation, Machine, Site
from fleet.models.base import serial_key
from shop.editing import DayInput, RecordForm
from shop.forms_base import ActForm
from shop.lists import FilterForm, any_of
from shop.measures import MeasureField


class MachineFilter(FilterForm):
    q = forms.CharField(label="Serial, number or model", max_length=80)
    customer = forms.ModelChoiceField(Customer.objects.all(), label="Owner", empty_label="All")
    kind = forms.ChoiceField(choices=any_of(Machine.Kind.choices))
    status = forms.ChoiceField(choices=any_of(Machine.Status.choices))


def hours_field(label: str, **kwargs) -> MeasureField:
    return MeasureField("hours", label=label, required=True, least=0, most=99_999, **kwargs)


def day_field(label: str) -> forms.DateField:
    return forms.DateField(label=label, widget=DayInput(), initial=timezone.localdate)


class NotAheadOfToday:
    """A day of something that happened cannot lie ahead."""

    def clean_on(self):
        day = self.cleaned_data["on"]
        if day > timezone.localdate():
            raise forms.ValidationError(f"{day:%-d %B %Y} lies ahead: write the day on which it was done.")
        return day


class MachineForm(RecordForm):
    engine_rated_speed_rpm = MeasureField("speed", label="Engine rated speed", required=True, least=300, most=4000)
    engine_idle_speed_rpm = MeasureField("speed", label="Engine low idle", least=200, most=2500)
    engine_power_kw = MeasureField("power", label="Engine power", least=1, most=2000)
    rolling_radius_m = MeasureField(
        "length", label="Tyre rolling radius", least=0.1, most=2, help_text="Way of ten tyre turns divided by 62.8"
    )
    height_m = MeasureField("length", label="Height at the bay door", least=0.5, most=8)

    class Meta:
        model = Machine
        fields = (
            "kind", "maker", "model", "serial", "year", "customer", "site", "engine_rated_speed_rpm", "engine_idle_speed_rpm", "engine_power_kw",
            "mass_kg", "tyre", "rolling_radius_m", "final_ratio", "height_m", "shares_oil_with", "status", "note",
        )  # fmt: skip
        labels = {
            "serial": "Serial number on the plate",
            "customer": "Owner",
            "mass_kg": "Mass in kg",
            "final_ratio": "Motor turns for one wheel turn",
        }

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["customer"].queryset = Customer.objects.filter(Q(is_retired=False) | Q(pk=self.instance.customer_id))
        self.fields["site"].queryset = Site.objects.select_related("customer").filter(customer__is_retired=False)

    def clean_serial(self):
        serial = self.cleaned_data["serial"].strip()
        if not serial_key(serial):
            raise forms.ValidationError("A serial has at least one letter or digit.")
        twin = Machine.objects.filter(serial_key=serial_key(serial)).exclude(pk=self.instance.pk).select_related("customer").first()
        if twin:
            raise forms.ValidationError(
                f"{twin} of {twin.customer} already carries the serial {twin.serial} (case, spaces, dashes and O for 0 do not count)."
            )
        return serial

    def clean_year(self):
        year = self.cleaned_data.get("year")
        if year is not None and not 1940 <= year <= timezone.localdate().year + 1:
            raise forms.ValidationError(f"{year} cannot be the year of a machine: write four digits.")
        return year

    def clean(self):
        given = super().clean()
        site, customer = given.get("site"), given.get("customer")
        if site and customer and site.customer_id != customer.pk:
            self.add_error("site", f"{site.name} belongs to {site.customer}, not to {customer}.")
        for name in ("mass_kg", "final_ratio"):
            if given.get(name) is not None and given[name] <= 0:
                self.add_error(name, "This must be above zero; leave it empty where it is not known.")
        return given


class NewMachineForm(MachineForm):
    owned_from = forms.DateField(label="Owned since", widget=DayInput(), initial=timezone.localdate)
    meter_h = hours_field("Hour meter shows")
    life_h = MeasureField(
        "hours", label="Life hours at that reading", least=0, most=99_999, help_text="Leave empty if the meter was never replaced"
    )

    def clean(self):
        given = super().clean()
        if given.get("meter_h"):
            given["meter_h"] = tenth(given["meter_h"].value)
            given["life_h"] = tenth(given["life_h"].value) if given.get("life_h") else given["meter_h"]
        if given.get("owned_from") and given["owned_from"] > timezone.localdate():
            self.add_error("owned_from", "This day lies ahead.")
        return given


class SaleForm(NotAheadOfToday, ActForm):
    customer = forms.ModelChoiceField(Customer.objects.filter(is_retired=False), label="New owner")
    site = forms.ModelChoiceField(Site.objects.select_related("customer"), label="Stands at", required=False)
    on = day_field("Sold on")
    version = forms.IntegerField(widget=forms.HiddenInput)

    def __init__(self, *args, machine: Machine, **kwargs):
        super().__init__(*args, **kwargs)
        self.machine = machine
        self.fields["customer"].queryset = Customer.objects.filter(is_retired=False).exclude(pk=machine.customer_id)
        self.fields["version"].initial = machine.version

    def clean(self):
        given = super().clean()
        site, customer, day = given.get("site"), given.get("customer"), given.get("on")
        if site and customer and site.customer_id != customer.pk:
            self.add_error("site", f"{site.name} belongs to {site.customer}, not to {customer}.")
        running = self.machine.ownerships.filter(to_date=None).first()
        if running and day and day < running.from_date:
            self.add_error("on", f"{running.customer} has owned it since {running.from_date:%-d %B %Y}: the sale cannot be before that.")
        return given


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


class MeterForm(NotAheadOfToday, HoursOn, ActForm):
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


class PlaceOfDrive(NotAheadOfToday, HoursOn, ActForm):
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

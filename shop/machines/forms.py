"""Forms of the machine itself, and of its sale."""

from django import forms
from django.utils import timezone

from fleet.judged_hours import tenth
from fleet.models import Customer, Machine, Site
from fleet.models.base import serial_key
from shop.checked_fields import FIRST_DRIVES, DayField
from shop.editing import RecordForm
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
    return DayField(label=label, earliest=FIRST_DRIVES, ahead_days=0, initial=timezone.localdate)


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
            "kind",
            "maker",
            "model",
            "serial",
            "year",
            "site",
            "engine_rated_speed_rpm",
            "engine_idle_speed_rpm",
            "engine_power_kw",
            "mass_kg",
            "tyre",
            "rolling_radius_m",
            "final_ratio",
            "height_m",
            "shares_oil_with",
            "status",
            "note",
        )
        labels = {
            "serial": "Serial number on the plate",
            "customer": "Owner",
            "mass_kg": "Mass in kg",
            "final_ratio": "Motor turns for one wheel turn",
        }

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        sites = Site.objects.select_related("customer").filter(customer__is_retired=False)
        self.fields["site"].queryset = sites.filter(customer=self.instance.customer_id) if self.instance.pk else sites

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
        for name in ("mass_kg", "final_ratio"):
            if given.get(name) is not None and given[name] <= 0:
                self.add_error(name, "This must be above zero; leave it empty where it is not known.")
        return given


class NewMachineForm(MachineForm):
    """A machine that is new in the book, with its owner; a later owner comes by a sale, which keeps the history."""

    customer = forms.ModelChoiceField(Customer.objects.filter(is_retired=False), label="Owner")
    owned_from = day_field("Owned since")
    meter_h = hours_field("Hour meter shows")
    life_h = MeasureField(
        "hours", label="Life hours at that reading", least=0, most=99_999, help_text="Leave empty if the meter was never replaced"
    )

    class Meta(MachineForm.Meta):
        fields = ("customer", *MachineForm.Meta.fields)

    def clean(self):
        given = super().clean()
        site, customer = given.get("site"), given.get("customer")
        if site and customer and site.customer_id != customer.pk:
            self.add_error("site", f"{site.name} belongs to {site.customer}, not to {customer}.")
        if given.get("meter_h"):
            given["meter_h"] = tenth(given["meter_h"].value)
            given["life_h"] = tenth(given["life_h"].value) if given.get("life_h") else given["meter_h"]
        return given


class SaleForm(ActForm):
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

"""Forms that put one row right: what stands there is filled in, and why it is corrected must be said."""

from __future__ import annotations

from django import forms
from django.utils import timezone

from fleet.models import DriveTest, FluidFill, FluidProduct, HourReading, Machine, Reading
from shop.forms_base import ActForm
from shop.measures import MeasureField, units_of
from shop.visits.forms import DRAINS, HoursForm, MomentField, needs
from shop.visits.lines import NOT_KNOWN, FillLine
from shop.visits.reading_lines import ReadingLine
from shop.visits.shelf import Shelf

LEDGER = "Blank: as the ledger of fills has it"
WHY = {"label": "Why is this corrected", "max_length": 300, "error_messages": needs("Write why this is corrected.")}


class CorrectHoursForm(HoursForm):
    """A meter reading as it should have been."""

    reason = forms.CharField(**WHY)

    def __init__(self, *args, reading: HourReading, **kwargs):
        self.corrected = reading
        kwargs["initial"] = {"read_at": timezone.localtime(reading.read_at), "meter_h": reading.typed}
        super().__init__(*args, machine=reading.meter.machine, **kwargs)

    def changes(self) -> dict:
        return {"hours": self.hours(), "read_at": self.cleaned_data["read_at"], "reason": self.cleaned_data["reason"]}


class CorrectReadingForm(ActForm, ReadingLine):
    """A reading as it should have been, or a word why it does not count."""

    is_not_valid = forms.BooleanField(label="This reading does not count", required=False)
    invalid_reason = forms.CharField(label="Because", required=False, max_length=200)
    reason = forms.CharField(**WHY)

    def __init__(self, *args, reading: Reading, by=None, **kwargs):
        day = timezone.localtime(reading.drive_test.tested_at).date()
        shelf = Shelf.of(by, [reading.drive_test.unit], day, reading.instrument, reading)
        super().__init__(*args, by=by, shelf=shelf, initial=as_typed(reading), **kwargs)

    def clean(self):
        cleaned = super().clean()
        if not cleaned.get("value") and "value" not in self.errors:
            self.add_error("value", "Write the reading; one that does not count is marked so, not emptied.")
        if cleaned.get("is_not_valid") and not cleaned.get("invalid_reason"):
            self.add_error("invalid_reason", "Write why this reading does not count.")
        return cleaned

    def changes(self) -> dict:
        given, entry = self.cleaned_data, self.entry()
        same = {name: getattr(entry, name) for name in entry.__dataclass_fields__ if name not in ("unit", "house_unit", "repeats")}
        is_valid = not given.get("is_not_valid")
        valid = {"is_valid": is_valid, "invalid_reason": "" if is_valid else given["invalid_reason"]}
        return same | valid | {"unit": entry.house_unit, "repeats": list(entry.repeats), "reason": given["reason"]}


def as_typed(reading: Reading) -> dict:
    """Return a stored reading as the form shows it; further values stand in the house unit and are left as they are."""
    own = {"oil_temp": reading.oil_temp_c, "engine_speed": reading.engine_speed_rpm}
    own |= {"loop_pressure": reading.loop_pressure_bar, "case_pressure": reading.case_pressure_bar}
    figures = {name: float(f"{value:.6g}") for name, value in own.items() if value is not None}
    same = {"quantity": reading.quantity, "direction": reading.direction, "value": reading.typed, "value_unit": reading.typed_unit}
    more = {"port": reading.port, "stability": reading.stability, "note": reading.note, "instrument": str(reading.instrument_id or "")}
    if reading.typed_unit == reading.unit and len(reading.repeats) > 1:
        more["repeats"] = "; ".join(f"{value:g}" for value in reading.repeats[1:])
    doubt = {"is_not_valid": not reading.is_valid, "invalid_reason": reading.invalid_reason}
    return figures | same | more | doubt


class CorrectTestForm(ActForm):
    """The conditions of a test as they should have been written."""

    oil_temp = MeasureField("temperature", label="Oil temperature", least=-60, most=200)
    engine_speed = MeasureField("speed", label="Engine speed", least=0, most=6000)
    ambient = MeasureField("temperature", label="Air temperature", least=-60, most=70)
    temperature_point = forms.CharField(label="Oil temperature read at", required=False, max_length=40)
    drains = forms.ChoiceField(label="Case drains as plumbed", required=False, choices=DRAINS)
    fluid = forms.ModelChoiceField(label="Oil, as named at the test", required=False, queryset=FluidProduct.objects.all(), help_text=LEDGER)
    moment = forms.ChoiceField(label="This test is", choices=DriveTest.Moment.choices)
    note = forms.CharField(label="Remark", required=False, max_length=4000, widget=forms.Textarea(attrs={"rows": 3}))
    reason = forms.CharField(**WHY)

    version = forms.IntegerField(widget=forms.HiddenInput)

    FIGURES = {"oil_temp": "oil_temp_c", "engine_speed": "engine_speed_rpm", "ambient": "ambient_c"}

    def __init__(self, *args, test: DriveTest, **kwargs):
        same = {name: getattr(test, name) for name in ("temperature_point", "drains", "fluid", "moment", "note", "version")}
        kwargs["initial"] = same | {name: getattr(test, stored) for name, stored in self.FIGURES.items()}
        super().__init__(*args, **kwargs)

    def changes(self) -> dict:
        given = self.cleaned_data
        same = {name: given[name] for name in ("temperature_point", "drains", "fluid", "moment", "note", "reason", "version")}
        return same | {stored: given[name].value if given.get(name) else None for name, stored in self.FIGURES.items()}


class FillForm(ActForm, FillLine):
    """One fill on its own."""

    filled_at = MomentField(label="When", error_messages=needs("Write when it was filled."))

    def __init__(self, *args, machine: Machine, by=None, leaving_out: FluidFill | None = None, **kwargs):
        products = {str(row.pk): row for row in FluidProduct.objects.filter(is_retired=False)}
        earlier = machine.fills.standing().exclude(pk=leaving_out.pk if leaving_out else None)
        super().__init__(*args, by=by, products=products, has_oil=earlier.exists(), in_units=units_of(by), **kwargs)
        self.fields["filled_at"].initial = timezone.localtime().replace(second=0, microsecond=0)

    def clean(self):
        cleaned = super().clean()
        if not self.errors and self.is_blank():
            self.add_error("kind", "Say what was done, and how much oil went in or came out.")
        return cleaned


class CorrectFillForm(FillForm):
    """A fill as it should have been written."""

    reason = forms.CharField(**WHY)

    def __init__(self, *args, fill: FluidFill, **kwargs):
        product = str(fill.product_id or NOT_KNOWN)
        same = {"kind": fill.kind, "product": product, "batch": fill.batch, "note": fill.note, "is_measured": fill.is_measured}
        litres = {"fill": float(fill.fill_l), "drained": float(fill.drained_l) or None}
        kwargs["initial"] = same | litres | {"filled_at": timezone.localtime(fill.filled_at)}
        super().__init__(*args, machine=fill.machine, leaving_out=fill, **kwargs)

    def changes(self) -> dict:
        entry = self.entry()
        same = {name: getattr(entry, name) for name in entry.__dataclass_fields__}
        return same | {"filled_at": self.cleaned_data["filled_at"], "reason": self.cleaned_data["reason"]}

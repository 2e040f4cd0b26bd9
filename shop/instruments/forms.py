"""Forms of instruments and calibrations."""

from datetime import timedelta

from django import forms
from django.utils import timezone

from calcs.units import units_for
from fleet.models import Calibration, Instrument
from shop.checked_fields import DayField
from shop.editing import RecordForm
from shop.forms_base import ActForm
from shop.lists import FilterForm, any_of

UNIT_KINDS = ("pressure", "flow", "temperature", "speed", "ground speed", "time")
UNIT_CHOICES = [(kind.capitalize(), [(unit, unit) for unit in units_for(kind)]) for kind in UNIT_KINDS]
YEAR = timedelta(days=365)


class InstrumentFilter(FilterForm):
    q = forms.CharField(label="Tag, serial or place", max_length=80)
    kind = forms.ChoiceField(choices=any_of(Instrument.Kind.choices))
    status = forms.ChoiceField(choices=any_of(Instrument.Status.choices))
    only_due = forms.BooleanField(label="Only what needs calibration")


class InstrumentForm(RecordForm):
    unit = forms.ChoiceField(choices=UNIT_CHOICES)
    accuracy_class_pct = forms.FloatField(
        label="Class, per cent", required=False, min_value=0, max_value=20, help_text="Leave empty if not known"
    )

    class Meta:
        model = Instrument
        fields = (
            "tag",
            "kind",
            "maker",
            "serial",
            "span_low",
            "span_high",
            "unit",
            "accuracy_class_pct",
            "accuracy_basis",
            "resolution",
            "location",
            "status",
            "note",
        )
        labels = {"tag": "Shop tag", "accuracy_basis": "Class is"}

    def clean_tag(self):
        tag = self.cleaned_data["tag"].strip()
        twin = Instrument.objects.filter(tag__iexact=tag).exclude(pk=self.instance.pk).first()
        if twin:
            raise forms.ValidationError(f"A {twin.get_kind_display().lower()} already carries the tag {twin.tag}.")
        return tag

    def clean(self):
        given = super().clean()
        kind, unit = given.get("kind"), given.get("unit")
        if kind and unit and unit not in units_for(kind.replace("_", " ")):
            self.add_error("unit", f"A {dict(Instrument.Kind.choices)[kind].lower()} is not marked in {unit}.")
        low, high = given.get("span_low"), given.get("span_high")
        if low is not None and high is not None and high <= low:
            self.add_error("span_high", "The end of the scale must lie above its beginning.")
        return given


class CalibrationForm(ActForm):
    done_on = DayField(label="Done on", ahead_days=0, initial=timezone.localdate)
    due_on = DayField(label="Good to", ahead_days=5 * 366, initial=lambda: timezone.localdate() + YEAR)
    result = forms.ChoiceField(
        choices=Calibration.Result.choices,
        help_text="Outside its class: the instrument is withdrawn, "
        "and every reading taken with it since the last good calibration is judged again",
    )
    certificate = forms.CharField(label="Certificate number", max_length=60, required=False)
    found_bias = forms.FloatField(label="Bias as found, in the instrument's unit", required=False, help_text="Reading less true value")
    note = forms.CharField(label="Remark", required=False, widget=forms.Textarea(attrs={"rows": 3}))

    def __init__(self, *args, instrument: Instrument, **kwargs):
        super().__init__(*args, **kwargs)
        self.instrument = instrument

    def clean_found_bias(self):
        bias, scale = self.cleaned_data["found_bias"], self.instrument.span_high - self.instrument.span_low
        if bias is not None and abs(bias) > scale:
            raise forms.ValidationError(f"{bias:g} {self.instrument.unit} is more than its whole scale of {scale:g}.")
        return bias

    def clean(self):
        given = super().clean()
        done, due = given.get("done_on"), given.get("due_on")
        if done and due and due < done:
            self.add_error("due_on", "It cannot be good to a day before it was done.")
        return given

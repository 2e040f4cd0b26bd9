"""Forms of drives: the unit, and what befell it."""

from decimal import Decimal

from django import forms
from django.utils import timezone

from calcs.quantities import QUANTITIES
from fleet.judged_hours import tenth
from fleet.models import DriveModel, DriveUnit, UnitEvent
from fleet.models.base import serial_key
from shop.checked_fields import FIRST_DRIVES, DayField
from shop.editing import RecordForm
from shop.forms_base import ActForm
from shop.lists import FilterForm, any_of
from shop.measures import MeasureField


class DriveFilter(FilterForm):
    q = forms.CharField(label="Serial or tag", max_length=80)
    drive_model = forms.ModelChoiceField(DriveModel.objects.all(), label="Model", empty_label="All")
    place = forms.ChoiceField(label="Where", choices=any_of([("fitted", "Fitted"), *DriveUnit.Keeping.choices]))
    verdict = forms.ChoiceField(
        label="Latest verdict",
        choices=any_of([("outside", "Something outside"), ("undecided", "Something undecided"), ("doubtful", "Reading in doubt")]),
    )


class ReadingFilter(FilterForm):
    quantity = forms.ChoiceField(label="What was read", choices=any_of([(code, quantity.label) for code, quantity in QUANTITIES.items()]))


class DriveForm(RecordForm):
    tag = forms.CharField(label="Shop tag", max_length=20, required=False, help_text="Leave empty for the next number")
    born_on = DayField(required=False, earliest=FIRST_DRIVES, ahead_days=0)
    warranty_to = DayField(label="Warranty to", required=False, ahead_days=10 * 366)
    hours_at_birth_h = MeasureField("hours", label="Hours before our record", least=0, most=99_999)
    warranty_to_h = MeasureField("hours", label="Warranty to component hours", least=0, most=99_999)

    class Meta:
        model = DriveUnit
        fields = (
            "tag",
            "serial",
            "drive_model",
            "birth",
            "born_on",
            "hours_at_birth_h",
            "keeping",
            "warranty_payer",
            "warranty_to",
            "warranty_to_h",
            "note",
        )
        labels = {"serial": "Maker's serial", "warranty_payer": "Who pays under warranty"}

    def clean_tag(self):
        tag = self.cleaned_data["tag"].strip()
        twin = DriveUnit.objects.filter(tag__iexact=tag).exclude(pk=self.instance.pk).first() if tag else None
        if twin:
            raise forms.ValidationError(f"{twin.drive_model} serial {twin.serial} already carries the tag {twin.tag}.")
        return tag or self.instance.tag

    def clean_hours_at_birth_h(self):
        given = self.cleaned_data["hours_at_birth_h"]
        return tenth(given.value) if given else Decimal(0)

    def clean_warranty_to_h(self):
        given = self.cleaned_data["warranty_to_h"]
        return tenth(given.value) if given else None

    def clean(self):
        given = super().clean()
        serial, model = given.get("serial"), given.get("drive_model")
        if serial and not serial_key(serial):
            self.add_error("serial", "A serial has at least one letter or digit.")
        elif serial and model:
            twin = DriveUnit.objects.filter(drive_model=model, serial_key=serial_key(serial)).exclude(pk=self.instance.pk).first()
            if twin:
                self.add_error(
                    "serial", f"{twin.tag} already carries the serial {twin.serial} (case, spaces, dashes and O for 0 do not count)."
                )
        return given


class EventForm(ActForm):
    kind = forms.ChoiceField(label="What happened", choices=UnitEvent.Kind.choices)
    happened_on = DayField(label="When", ahead_days=0, initial=timezone.localdate)
    component_h = MeasureField(
        "hours",
        label="Component hours then",
        least=0,
        most=199_999,
        help_text="Leave empty: the book works them out from the machine's meter",
    )
    quantities = forms.MultipleChoiceField(
        label="What starts anew",
        required=False,
        choices=[(code, quantity.label) for code, quantity in QUANTITIES.items()],
        widget=forms.CheckboxSelectMultiple,
        help_text="Tick only what the work touched; with nothing ticked everything starts anew",
    )
    note = forms.CharField(label="Remark", max_length=300, required=False, widget=forms.Textarea(attrs={"rows": 3}))

    def __init__(self, *args, unit: DriveUnit, **kwargs):
        super().__init__(*args, **kwargs)
        self.unit = unit

    def clean_component_h(self):
        given = self.cleaned_data["component_h"]
        return tenth(given.value) if given else None

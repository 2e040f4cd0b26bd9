"""Forms of the import: the file and what is said of it; and the word to write it."""

from __future__ import annotations

from django import forms
from django.db.models import Q

from fleet.models import Machine
from fleet.models.base import serial_key
from shop.exchange.plans import Choices
from shop.forms_base import ActForm
from shop.models import ImportFile

DECIMALS = [
    ("", "Not stated (asked where in doubt)"),
    (",", "Comma: 1,234 is just over one"),
    (".", "Point: 1.234 is just over one"),
]
ORDERS = [
    ("", "Not stated (asked where in doubt)"),
    ("day", "Day first: 03/04/2025 is 3 April"),
    ("month", "Month first: 03/04/2025 is 4 March"),
]
ENDINGS = ".csv,.txt,.tsv,.xlsx,.xml,.json"


class BringForm(ActForm):
    """A file, and what the person knows of it."""

    file = forms.FileField(
        label="File",
        widget=forms.FileInput(attrs={"accept": ENDINGS}),
        error_messages={"required": "Pick the file.", "empty": "The file is empty."},
        allow_empty_file=False,
    )
    kind = forms.ChoiceField(label="What is in it", choices=ImportFile.Kind.choices, initial=ImportFile.Kind.READINGS)
    decimal = forms.ChoiceField(label="Decimal sign", choices=DECIMALS, required=False)
    day_order = forms.ChoiceField(label="Order of day and month", choices=ORDERS, required=False)
    laboratory = forms.CharField(label="Laboratory", max_length=60, required=False, help_text="For laboratory results: whose they are")

    def choices(self) -> Choices:
        given = self.cleaned_data
        return Choices(decimal=given["decimal"], day_order=given["day_order"], laboratory=given["laboratory"].strip())


class WriteForm(forms.Form):
    """How a file that was looked at is to be written."""

    digest = forms.CharField(widget=forms.HiddenInput, max_length=64, required=False)
    good_rows_only = forms.BooleanField(label="Write the good rows although others are refused", required=False)


class AgainForm(forms.Form):
    """What is said of a file that is looked at once more."""

    decimal = forms.ChoiceField(label="Decimal sign", choices=DECIMALS, required=False)
    day_order = forms.ChoiceField(label="Order of day and month", choices=ORDERS, required=False)
    put_right = forms.CharField(
        label="Rows that differ put the book right, because",
        max_length=300,
        required=False,
        help_text="Left empty, rows that differ from what stands in the book are refused",
    )


class MatchForm(ActForm):
    """Whose oil a sample was."""

    machine = forms.CharField(
        label="Machine", max_length=60, help_text="Its number, or its serial", error_messages={"required": "Write which machine."}
    )
    reason = forms.CharField(label="How is that known", max_length=200, error_messages={"required": "Write how that is known."})

    def clean_machine(self):
        text = self.cleaned_data["machine"].strip()
        key = serial_key(text)
        found = Machine.objects.filter(Q(number__iexact=text) | Q(serial_key=key or "-")).first()
        if found is None:
            raise forms.ValidationError(f"No machine “{text}” is in the book.")
        return found

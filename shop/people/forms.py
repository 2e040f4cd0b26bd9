"""Signing in, and what a person may change of their own account."""

from django import forms
from django.contrib.auth.forms import AuthenticationForm

from shop.measures import HOUSE_UNITS, spoken
from shop.models import Person


class SignInForm(AuthenticationForm):
    error_messages = {
        "invalid_login": "Name or password is not right. Both are case-sensitive.",
        "inactive": "Name or password is not right. Both are case-sensitive.",
    }


class PersonForm(forms.ModelForm):
    pressure = forms.ChoiceField(label="Pressure in", choices=[(u, spoken(u)) for u in ("", "bar", "psi", "kPa", "MPa")], required=False)

    class Meta:
        model = Person
        fields = ["system", "decimal_sign", "paper"]
        labels = {"system": "Units", "decimal_sign": "Decimal sign", "paper": "Paper"}

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["pressure"].initial = self.instance.units.get("pressure", "")

    def clean(self):
        cleaned = super().clean()
        pressure = cleaned.get("pressure")
        self.instance.units = {"pressure": pressure} if pressure and pressure != HOUSE_UNITS.get("pressure") else {}
        return cleaned

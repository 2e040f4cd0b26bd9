"""Signing in, what a person may change of their own account, and the manager's pages on people."""

import unicodedata

from django import forms
from django.contrib.auth import get_user_model, password_validation
from django.contrib.auth.forms import AuthenticationForm
from django.contrib.auth.validators import UnicodeUsernameValidator

from shop.forms_base import ActForm
from shop.measures import HOUSE_UNITS, spoken
from shop.models import Person
from shop.roles import ROLES


class SignInForm(AuthenticationForm):
    error_messages = {
        "invalid_login": "Name or password is not right. Both are case-sensitive.",
        "inactive": "Name or password is not right. Both are case-sensitive.",
    }


class PersonForm(forms.ModelForm):
    pressure = forms.ChoiceField(
        label="Pressure in",
        choices=[("", "as the units above say"), *((u, spoken(u)) for u in ("bar", "psi", "kPa", "MPa"))],
        required=False,
    )

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
        wanted = HOUSE_UNITS | ({"pressure": "psi"} if cleaned.get("system") == "us" else {})
        self.instance.units = {"pressure": pressure} if pressure and pressure != wanted["pressure"] else {}
        return cleaned


ROLE_CHOICES = [(role, role) for role in ROLES]


class RolesField(forms.MultipleChoiceField):
    def __init__(self):
        super().__init__(
            choices=ROLE_CHOICES,
            widget=forms.CheckboxSelectMultiple,
            help_text="Manager, office or technician; instrument keeper and parts are further rights, beside one of them or alone.",
        )


class NewPersonForm(ActForm):
    username = forms.CharField(label="Sign-in name", max_length=60)
    first_name = forms.CharField(max_length=60, required=False)
    last_name = forms.CharField(max_length=60, required=False)
    password = forms.CharField(
        widget=forms.PasswordInput, strip=False, help_text="10 signs or more; the person changes it on their own page."
    )
    roles = RolesField()

    def clean_username(self):
        name = unicodedata.normalize("NFKC", self.cleaned_data["username"])
        UnicodeUsernameValidator(message="A sign-in name has letters, digits and @ . + - _ alone, without spaces.")(name)
        if get_user_model().objects.filter(username__iexact=name).exists():
            raise forms.ValidationError(f"{name} is taken. Choose another sign-in name.")
        return name

    def clean(self):
        given = super().clean()
        names = {name: given.get(name, "") for name in ("username", "first_name", "last_name")}
        refuse_weak(self, get_user_model()(**names))
        return given


def refuse_weak(form: forms.Form, user) -> None:
    """Refuse a password that is short, common, or like the name of whoever is to have it."""
    if form.cleaned_data.get("password"):
        try:
            password_validation.validate_password(form.cleaned_data["password"], user)
        except forms.ValidationError as refusal:
            form.add_error("password", refusal)


class RolesForm(ActForm):
    roles = RolesField()
    approval_limit = forms.DecimalField(label="May approve up to", min_value=0, max_digits=9, decimal_places=2, required=False)
    reason = forms.CharField(max_length=200, label="Why")


class ReasonForm(ActForm):
    reason = forms.CharField(max_length=200, label="Why")


class AccountForm(ReasonForm):
    """Says which of the two is wanted, so that a second click does not undo the first."""

    wanted = forms.ChoiceField(choices=[("open", "open"), ("closed", "closed")], widget=forms.HiddenInput)


class NewPasswordForm(ActForm):
    password = forms.CharField(widget=forms.PasswordInput, strip=False, label="New password")
    reason = forms.CharField(max_length=200, label="Why")

    def __init__(self, *args, user, **kwargs):
        super().__init__(*args, **kwargs)
        self.user = user

    def clean(self):
        given = super().clean()
        refuse_weak(self, self.user)
        return given

"""What every form of an act shares: a token, so that it counts once, and the person's own units first."""

import secrets

from django import forms

from shop.measures import MeasureField, units_of


class ActForm(forms.Form):
    """A form that acts. Sent twice, it acts once."""

    token = forms.CharField(widget=forms.HiddenInput, max_length=64, required=False)

    def __init__(self, *args, by=None, **kwargs):
        super().__init__(*args, **kwargs)
        self.by = by
        self.fields["token"].initial = secrets.token_urlsafe(24)
        for field in self.fields.values():
            if isinstance(field, MeasureField):
                field.in_units(units_of(by) if by else {})

    def sentences(self) -> list[str]:
        """Every refusal as one sentence that names its field."""
        lines = []
        for name, errors in self.errors.items():
            label = self.fields[name].label or name.replace("_", " ").capitalize() if name in self.fields else ""
            lines += [f"{label}: {error}" if label else str(error) for error in errors]
        return lines

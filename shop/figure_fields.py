"""Boxes for bare figures: decimal comma and point are both understood, and one sentence says why a figure cannot be."""

from decimal import Decimal

from django import forms

from calcs.figures import NumberRefused, read_number
from calcs.thousands import grouped


class FigureField(forms.CharField):
    """A figure kept as a decimal."""

    def __init__(self, *, least=None, most=None, places: int = 2, length: int = 20, **kwargs):
        self.least, self.most, self.places = least, most, places
        super().__init__(
            max_length=length, widget=forms.TextInput(attrs={"inputmode": "decimal", "class": "figure", "autocomplete": "off"}), **kwargs
        )

    def prepare_value(self, value):
        return f"{value:f}".rstrip("0").rstrip(".") if isinstance(value, Decimal) and "." in f"{value:f}" else value

    def clean(self, value):
        typed = super().clean(value)
        return self.figure(typed) if typed else None

    def figure(self, typed: str) -> Decimal:
        try:
            exact = Decimal(str(read_number(typed)))
        except NumberRefused as refusal:
            raise forms.ValidationError(str(refusal)) from refusal
        if self.least is not None and exact < Decimal(str(self.least)):
            raise forms.ValidationError(f"{typed} is below {self._shown(self.least)}, which is the least this can be.")
        if self.most is not None and exact > Decimal(str(self.most)):
            raise forms.ValidationError(f"{typed} is above {self._shown(self.most)}, which is the most this can be.")
        if self.places == 0 and exact != round(exact):
            raise forms.ValidationError(f"{typed} is not a whole number.")
        return round(exact, self.places)

    def _shown(self, limit) -> str:
        return grouped(limit, 3)


class FiguresField(FigureField):
    """Several figures that rise, typed with commas or semicolons between them."""

    def __init__(self, **kwargs):
        super().__init__(length=80, **kwargs)

    def prepare_value(self, value):
        return ", ".join(f"{step:g}" for step in value) if isinstance(value, list) else value

    def clean(self, value):
        typed = forms.CharField.clean(self, value)
        steps = [float(self.figure(part.strip())) for part in typed.replace(";", ",").split(",") if part.strip()]
        for earlier, later in zip([0.0, *steps], steps, strict=False):
            if later <= earlier:
                raise forms.ValidationError(f"{later:g} comes after {earlier:g}: the steps must rise from above zero, such as 20, 100.")
        return steps

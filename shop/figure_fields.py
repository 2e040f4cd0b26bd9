"""Boxes for bare figures: decimal comma and point are both understood, and one sentence says why a figure cannot be."""

from decimal import Decimal

from django import forms

from calcs.figures import NumberRefused, read_number


class FigureField(forms.CharField):
    """A figure kept as a decimal."""

    def __init__(self, *, least=None, most=None, places: int = 2, **kwargs):
        self.least, self.most, self.places = least, most, places
        super().__init__(
            max_length=20, widget=forms.TextInput(attrs={"inputmode": "decimal", "class": "figure", "autocomplete": "off"}), **kwargs
        )

    def prepare_value(self, value):
        return f"{value:f}".rstrip("0").rstrip(".") if isinstance(value, Decimal) and "." in f"{value:f}" else value

    def clean(self, value):
        typed = super().clean(value)
        return self.figure(typed) if typed else None

    def figure(self, typed: str) -> Decimal:
        try:
            number = round(Decimal(str(read_number(typed))), self.places)
        except NumberRefused as refusal:
            raise forms.ValidationError(str(refusal)) from refusal
        if self.least is not None and number < self.least:
            raise forms.ValidationError(f"{typed} is below {self.least:g}, which is the least this can be.")
        if self.most is not None and number > self.most:
            raise forms.ValidationError(f"{typed} is above {self.most:g}, which is the most this can be.")
        return number


class FiguresField(FigureField):
    """Several figures that rise, typed with commas or semicolons between them."""

    def __init__(self, **kwargs):
        super().__init__(**kwargs)
        self.max_length = 80

    def prepare_value(self, value):
        return ", ".join(f"{step:g}" for step in value) if isinstance(value, list) else value

    def clean(self, value):
        typed = forms.CharField.clean(self, value)
        steps = [float(self.figure(part.strip())) for part in typed.replace(";", ",").split(",") if part.strip()]
        if any(later <= earlier for earlier, later in zip([0.0, *steps], steps, strict=False)):
            raise forms.ValidationError("The steps must rise from above zero, such as 20, 100.")
        return steps

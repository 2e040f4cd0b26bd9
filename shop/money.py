"""Sums of money as they are typed: at most two places, kept in whole cents."""

from django import forms

from shop.forms_base import figure_text


class MoneyField(forms.DecimalField):
    """A sum with at most two places, cleaned to whole cents."""

    def __init__(self, **kwargs):
        super().__init__(max_digits=12, decimal_places=2, min_value=0, **kwargs)
        self.widget = forms.TextInput(attrs={"inputmode": "decimal", "class": "figure", "autocomplete": "off"})

    def to_python(self, value):
        return super().to_python(figure_text(value))

    def clean(self, value):
        figure = super().clean(value)
        return None if figure is None else int(figure * 100)

    def prepare_value(self, value):
        return f"{value // 100}.{value % 100:02d}" if isinstance(value, int) else value

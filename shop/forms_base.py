"""What every form of an act shares: a token, so that it counts once, and the person's own units first."""

import secrets
from decimal import Decimal

from django import forms

from calcs.figures import NumberRefused, read_number
from shop.measures import MeasureField, as_typed, units_of

DASHES = "---------"  # what Django shows for no choice
NOTHING_PICKED = "–"


class ActForm(forms.Form):
    """A form that acts. Sent twice, it acts once."""

    token = forms.CharField(widget=forms.HiddenInput, max_length=64, required=False)

    def __init__(self, *args, by=None, **kwargs):
        super().__init__(*args, **{"label_suffix": "", **kwargs})
        self.by = by
        self.fields["token"].initial = secrets.token_urlsafe(24)
        for field in self.fields.values():
            if isinstance(field, MeasureField):
                field.in_units(units_of(by) if by else {})
            shorten_dashes(field)
            take_figures_by_one_rule(field)

    def sentences(self) -> list[str]:
        """Every refusal as one sentence that names its field."""
        lines = []
        for name, errors in self.errors.items():
            label = self.fields[name].label or name.replace("_", " ").capitalize() if name in self.fields else ""
            lines += [f"{label}: {error}" if label else str(error) for error in errors]
        return lines


def shorten_dashes(field: forms.Field) -> None:
    """Show one dash where nothing is picked, the same as in tables."""
    if getattr(field, "empty_label", None) == DASHES:
        field.empty_label = NOTHING_PICKED
    elif isinstance(field, forms.ChoiceField) and not isinstance(field, forms.ModelChoiceField) and isinstance(field.choices, list):
        field.choices = [(key, NOTHING_PICKED if label == DASHES else label) for key, label in field.choices]


def take_figures_by_one_rule(field: forms.Field) -> None:
    """Read every bare figure, measured or counted, as a measured one is read."""
    if type(field) in (forms.FloatField, forms.DecimalField):
        understand_both_signs(field)
    elif type(field) is forms.IntegerField:
        read_as_figure(field)


def understand_both_signs(field: forms.Field) -> None:
    """Let a bare figure be typed with decimal comma or point, as a measured one is."""
    read_as_figure(field)
    field.prepare_value = lambda value: as_typed(value) if isinstance(value, (float, Decimal)) else value
    field.widget.input_type = "text"
    field.widget.attrs = {"inputmode": "decimal", "autocomplete": "off", "class": "figure"}


def read_as_figure(field: forms.Field) -> None:
    """Let one rule say what a typed figure is; the field then says whether it fits."""
    plain = field.to_python
    field.to_python = lambda value: plain(figure_text(value))


def figure_text(value):
    """Return what was typed as a figure that Django's fields take, or refuse it; what is no text goes through."""
    if not isinstance(value, str) or not value.strip():
        return value
    try:
        return repr(read_number(value))
    except NumberRefused as refusal:
        raise forms.ValidationError(str(refusal)) from refusal

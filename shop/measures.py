"""Figures between people and the book: typed with any unit, kept in the house unit, shown in the person's own."""

from dataclasses import dataclass

from django import forms
from django.core.exceptions import ObjectDoesNotExist

from calcs.figures import DOUBTFUL, NumberRefused, read_number
from calcs.thousands import grouped
from calcs.units import UNITS, from_house, to_house, units_for

US_UNITS = {
    "pressure": "psi",
    "flow": "gpm",
    "temperature": "degF",
    "temperature difference": "degF",
    "ground speed": "mph",
    "displacement": "in3",
    "power": "hp",
    "torque": "lbf.ft",
    "force": "lbf",
    "volume": "gal",
    "length": "in",
}
HOUSE_UNITS = {
    "pressure": "bar",
    "flow": "L/min",
    "temperature": "degC",
    "temperature difference": "K",
    "ground speed": "km/h",
    "displacement": "cm3",
    "power": "kW",
    "torque": "N.m",
    "force": "N",
    "volume": "L",
    "length": "m",
    "speed": "rpm",
    "time": "s",
    "hours": "h",
    "viscosity": "mm2/s",
}
DIGITS = {
    "bar": 1, "psi": 0, "kPa": 0, "MPa": 2, "L/min": 1, "gpm": 2, "degC": 0, "degF": 0, "K": 1, "km/h": 1, "mph": 1, "cm3": 1, "in3": 2,
    "kW": 1, "hp": 1, "N.m": 0, "lbf.ft": 0, "N": 0, "lbf": 0, "L": 1, "gal": 2, "qt": 1, "m": 3, "in": 1, "rpm": 0, "s": 1, "h": 1, "mm2/s": 1,
}  # fmt: skip
SPOKEN = {"degC": "°C", "degF": "°F", "cm3": "cm³", "in3": "in³", "N.m": "N·m", "lbf.ft": "lbf·ft", "mm2/s": "mm²/s", "rpm": "rpm"}


def spoken(unit: str) -> str:
    """Return a unit as it is printed."""
    return SPOKEN.get(unit, unit)


def units_of(user) -> dict[str, str]:
    """Return the unit a person wants for each kind of measure."""
    if not hasattr(user, "_units"):
        try:
            person = user.person
        except (AttributeError, ObjectDoesNotExist):
            person = None
        own = {**US_UNITS, **person.units} if person and person.system == "us" else (person.units if person else {})
        user._units = HOUSE_UNITS | own
    return user._units


def shown(value: float | None, kind: str, units: dict[str, str] | None = None, digits: int | None = None) -> str:
    """Return a house figure in the wanted unit as text, without the unit; a dash where nothing is known."""
    if value is None:
        return "–"
    unit = (units or HOUSE_UNITS).get(kind, HOUSE_UNITS.get(kind, ""))
    figure = from_house(float(value), unit, kind) if unit in UNITS else float(value)
    places = DIGITS.get(unit, 1) if digits is None else digits
    return grouped(figure, places, fixed=True)


def shown_with_unit(value: float | None, kind: str, units: dict[str, str] | None = None, digits: int | None = None) -> str:
    """Return a house figure in the wanted unit as text with its unit after it."""
    unit = (units or HOUSE_UNITS).get(kind, HOUSE_UNITS.get(kind, ""))
    return f"{shown(value, kind, units, digits)}\u00a0{spoken(unit)}" if value is not None else "–"


def as_typed(value: float) -> str:
    """Return a kept figure as somebody would type it, so that it reads in one way alone: 1.234 might be 1234, 1.2340 is not."""
    text = f"{value:.10g}"
    return f"{text}0" if DOUBTFUL.fullmatch(text) else text


@dataclass(frozen=True)
class Measure:
    """A figure as it was typed and as it is kept."""

    typed: str
    typed_unit: str
    value: float
    unit: str


class MeasureWidget(forms.MultiWidget):
    """A box for the figure and a picker for its unit, side by side."""

    template_name = "shop/_measure.html"
    use_fieldset = False  # the field's label is the label of the box

    def __init__(self, kind: str, attrs=None):
        self.kind = kind
        self.label = ""
        box = forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off", "class": "figure", **(attrs or {})})
        picker = forms.Select(choices=[(unit, spoken(unit)) for unit in units_for(kind)], attrs={"class": "unit", "data-kind": kind})
        super().__init__({"": box, "unit": picker})

    def get_context(self, name, value, attrs):
        context = super().get_context(name, value, attrs)
        box, picker = context["widget"]["subwidgets"]
        given = context["widget"]["attrs"]
        box["attrs"].update({key: given[key] for key in ("id", "aria-describedby") if key in given})
        picker["attrs"]["aria-label"] = f"Unit of {self.label or given.get('aria-label') or name.replace('_', ' ')}"
        return context

    def id_for_label(self, id_):
        return id_

    def decompress(self, value):
        if isinstance(value, Measure):
            return [value.typed, value.typed_unit]
        if isinstance(value, (int, float)):
            return [as_typed(value), HOUSE_UNITS[self.kind]]
        return [None, None]


class MeasureField(forms.MultiValueField):
    """A figure with its unit: cleaned to a `Measure`, or one sentence says why not."""

    def __init__(self, kind: str, *, required=False, least=None, most=None, attrs=None, **kwargs):
        self.kind, self.least, self.most = kind, least, most
        units = units_for(kind)
        super().__init__(
            (forms.CharField(required=False, max_length=40), forms.ChoiceField(choices=[(u, u) for u in units], required=False)),
            widget=MeasureWidget(kind, attrs),
            required=required,
            require_all_fields=False,
            **kwargs,
        )

    def in_units(self, units: dict[str, str]):
        """Offer the person's own unit first."""
        self.widget.widgets[1].choices = sorted(
            self.widget.widgets[1].choices, key=lambda pair: pair[0] != units.get(self.kind, HOUSE_UNITS[self.kind])
        )
        self.widget.label = self.label
        return self

    def compress(self, data):
        typed = (data[0] or "").strip() if data else ""
        if not typed and self.required:
            raise forms.ValidationError(self.error_messages["required"], code="required")
        if not typed:
            return None
        unit = data[1] or HOUSE_UNITS[self.kind]
        return self.measured(typed, unit)

    def measured(self, typed: str, unit: str) -> Measure:
        try:
            value = to_house(read_number(typed), unit, self.kind)
        except (NumberRefused, ValueError) as refusal:
            raise forms.ValidationError(str(refusal), code="not_a_number") from refusal
        self.refuse_outside(value, typed, unit)
        return Measure(typed, unit, value, HOUSE_UNITS[self.kind])

    def refuse_outside(self, value: float, typed: str, unit: str) -> None:
        if self.least is not None and value < self.least:
            least = shown(self.least, self.kind, {self.kind: unit})
            raise forms.ValidationError(f"{typed} {spoken(unit)} is below {least} {spoken(unit)}, which is the least this can be.")
        if self.most is not None and value > self.most:
            most = shown(self.most, self.kind, {self.kind: unit})
            raise forms.ValidationError(f"{typed} {spoken(unit)} is above {most} {spoken(unit)}, which is the most this can be.")

"""A reading on a form: what was read, in which unit, with which gauge, under which conditions of its own."""

from __future__ import annotations

import re

from django import forms

from calcs.figures import NumberRefused, read_number
from calcs.quantities import QUANTITIES, Quantity, unit_question
from calcs.thousands import grouped
from calcs.units import UNITS, to_house
from fleet.models import Reading
from shop.measures import HOUSE_UNITS, MeasureField, spoken
from shop.visits.entries import ReadingEntry
from shop.visits.shelf import READS, Shelf, unlike_last

KINDS = sorted({quantity.kind for quantity in QUANTITIES.values()})
HARD_LIMITS = {  # in house units; what lies beyond is no reading of any drive. From memory
    "pressure": (-1.1, 10_000.0),
    "speed": (0.0, 6000.0),
    "flow": (-1.0, 1000.0),
    "ground speed": (0.0, 200.0),
    "time": (0.0, 3600.0),
}
WHAT = [("", "–"), *((quantity.code, quantity.label) for quantity in QUANTITIES.values())]
UNIT_PICKER = {"class": "unit", "aria-label": "Unit of reading"}
FIGURE = {"inputmode": "decimal", "autocomplete": "off", "class": "figure"}
OWN_CONDITIONS = ("oil_temp", "engine_speed", "loop_pressure", "case_pressure")
EXTRAS = (*OWN_CONDITIONS, "repeats", "note")
MOST_REPEATS = 12
LOADED = {"charge_stroked", "pump_case_flow", "motor_case_flow", "total_case_return", "cross_port_leakage", "drain_temp_rise"}


class ReadingLine(forms.Form):
    """One reading. A line without a figure is left out."""

    preset = forms.CharField(required=False, widget=forms.HiddenInput)
    unit = forms.ChoiceField(label="Drive", required=False)
    quantity = forms.ChoiceField(label="What was read", required=False, choices=WHAT)
    direction = forms.ChoiceField(label="Direction", required=False, choices=Reading.Direction.choices)
    value = forms.CharField(label="Reading", required=False, max_length=40, widget=forms.TextInput(attrs=FIGURE))
    value_unit = forms.ChoiceField(label="in", required=False, widget=forms.Select(attrs=UNIT_PICKER))
    as_read = forms.BooleanField(label="Yes, that is what the gauge showed, in that unit", required=False)
    instrument = forms.ChoiceField(label="Instrument", required=False)
    loop_pressure = MeasureField("pressure", label="Loop pressure", least=-1.1, most=1500)
    oil_temp = MeasureField("temperature", label="Oil", least=-60, most=200)
    engine_speed = MeasureField("speed", label="Engine", least=0, most=6000)
    case_pressure = MeasureField("pressure", label="Case pressure", least=-1.1, most=60)
    port = forms.CharField(label="Port", required=False, max_length=10)
    repeats = forms.CharField(label="Further values", required=False, max_length=160, help_text="Same reading, same unit, ; between")
    stability = forms.ChoiceField(label="Needle", required=False, choices=Reading.Stability.choices)
    note = forms.CharField(label="Remark", required=False, max_length=240)

    def __init__(self, *args, shelf: Shelf, **kwargs):
        super().__init__(*args, **kwargs)
        self.shelf, self.asks = shelf, False
        self.fields["unit"].choices = shelf.unit_choices if len(shelf.units) == 1 else [("", "–"), *shelf.unit_choices]
        self.fields["instrument"].choices = shelf.gauge_choices
        for each in self.fields.values():
            if isinstance(each, MeasureField):
                each.in_units(shelf.in_units)
        self._settle_widgets()

    def _settle_widgets(self) -> None:
        """Offer for a line that names its quantity only the units of that; hide what is settled."""
        quantity = QUANTITIES.get(self._given("quantity"))
        kinds = [quantity.kind] if quantity and self.is_preset else KINDS
        groups = [(kind.capitalize(), [(unit, spoken(unit)) for unit in self.shelf.units_in_order(kind)]) for kind in kinds]
        self.fields["value_unit"].choices = groups[0][1] if len(groups) == 1 else [("", "unit"), *groups]
        if len(kinds) == 1:
            self.fields["value_unit"].widget.attrs["data-kind"] = kinds[0]
            self.fields["instrument"].choices = self.shelf.gauges_for(kinds[0])
        hidden = ["quantity", "direction", "unit"] if self.is_preset else ["unit"] if len(self.shelf.units) == 1 else []
        for name in hidden:
            self.fields[name].widget = forms.HiddenInput()
        if len(self.shelf.units) == 1:
            self.fields["unit"].initial = self.shelf.unit_choices[0][0]

    def _given(self, name: str) -> str:
        return (self.data.get(self.add_prefix(name)) if self.is_bound else self.initial.get(name)) or ""

    @property
    def is_preset(self) -> bool:
        return bool(self._given("preset"))

    @property
    def heading(self) -> str:
        """The name of a line that says itself what is to be read."""
        quantity = QUANTITIES.get(self._given("quantity"))
        label = quantity.label if quantity else "Another reading"
        return f"{label}, {self._given('direction')}" if self._given("direction") and quantity else label

    @property
    def asks_loop(self) -> bool:
        """Whether the loop pressure belongs to the reading itself."""
        return not self.is_preset or self._given("quantity") in LOADED

    @property
    def drive_words(self) -> str:
        unit = self.shelf.unit(self._given("unit"))
        return unit.tag if unit and len(self.shelf.units) > 1 else ""

    @property
    def is_open(self) -> bool:
        """Whether the fold with the line's own conditions has something in it, or something refused."""
        if not self.is_bound:
            return False
        refused = set(self._errors or ()) & {*EXTRAS, "port", "stability"}
        return bool(refused) or any(self._given(name) for name in EXTRAS if name != "loop_pressure" or not self.asks_loop)

    def is_blank(self) -> bool:
        given = getattr(self, "cleaned_data", {})
        return not given.get("value") and not any(given.get(name) for name in EXTRAS) and not (set(self.errors) & {*EXTRAS, "value"})

    def clean(self):
        cleaned = super().clean()
        if self.is_blank():
            return cleaned
        quantity = self._quantity(cleaned)
        if not cleaned.get("value"):
            self.add_error("value", "Something is written on this line but no reading: write the figure, or empty the line.")
        elif quantity:
            self._read_value(cleaned, quantity)
        return cleaned

    def _quantity(self, cleaned) -> Quantity | None:
        quantity = QUANTITIES.get(cleaned.get("quantity"))
        if quantity is None:
            self.add_error("quantity", "Say what was read.")
            return None
        if quantity.directional and not cleaned.get("direction"):
            self.add_error("direction", f"{quantity.label} is read forward or reverse: pick one.")
        if not quantity.directional and cleaned.get("direction") and not quantity.code.endswith("_flow"):
            cleaned["direction"] = ""
        if self.shelf.unit(cleaned.get("unit")) is None:
            self.add_error("unit", "Pick the drive that was read.")
        self._refuse_wrong_instrument(cleaned, quantity)
        return quantity

    def _refuse_wrong_instrument(self, cleaned, quantity: Quantity) -> None:
        instrument = self.shelf.instruments.get(cleaned.get("instrument") or "")
        if instrument and quantity.kind not in READS[instrument.kind]:
            words = instrument.get_kind_display().lower()
            self.add_error("instrument", f"{instrument.tag} is a {words} and cannot show {quantity.label.lower()}: pick another.")

    def _read_value(self, cleaned, quantity: Quantity) -> None:
        unit = cleaned.get("value_unit") or HOUSE_UNITS[quantity.kind]
        try:
            number = read_number(cleaned["value"])
            cleaned["house"] = to_house(number, unit, quantity.kind)
            cleaned["repeats_house"] = tuple(to_house(each, unit, quantity.kind) for each in further_values(cleaned.get("repeats", "")))
        except (NumberRefused, ValueError) as refusal:
            self.add_error("value", str(refusal))
            return
        cleaned["value_unit"] = unit
        self._refuse_beyond(cleaned["house"], quantity)
        self._ask(cleaned, quantity, number, unit)

    def _refuse_beyond(self, house: float, quantity: Quantity) -> None:
        low, high = HARD_LIMITS.get(quantity.kind, (-1e6, 1e6))
        if not low <= house <= high:
            unit = spoken(HOUSE_UNITS[quantity.kind])
            band = f"it would have to lie between {low:g} and {high:g} {unit}"
            self.add_error("value", f"{grouped(house)} {unit} cannot be: {band}. Check figure and unit.")

    def _ask(self, cleaned, quantity: Quantity, number: float, unit: str) -> None:
        """Ask once about a figure that looks like one in another unit, or that lies beyond the scale of its gauge."""
        last = self.shelf.last_of(cleaned.get("unit"), quantity.code, cleaned.get("direction") or "")
        slip = unit_question(quantity.code, number, unit) or unlike_last(last, number, unit, quantity.kind)
        questions = [slip, self._beyond_scale(cleaned, quantity)]
        cleaned["asked"] = " ".join(question for question in questions if question)
        if cleaned["asked"] and "value" not in self.errors:
            self.asks = True
            if not cleaned.get("as_read"):
                self.add_error("value", f"{cleaned['asked']} Put it right, or tick that it stands so.")

    def _beyond_scale(self, cleaned, quantity: Quantity) -> str:
        instrument = self.shelf.instruments.get(cleaned.get("instrument") or "")
        if not instrument or instrument.unit not in UNITS or UNITS[instrument.unit].kind != quantity.kind:
            return ""
        if cleaned["house"] <= to_house(instrument.span_high, instrument.unit, quantity.kind) * 1.0001:
            return ""
        return f"The scale of {instrument.tag} ends at {instrument.span_high:g} {spoken(instrument.unit)}: was it another gauge?"

    def entry(self) -> ReadingEntry:
        """Return the line as an entry; only after it was found valid and not blank."""
        given = self.cleaned_data
        quantity = QUANTITIES[given["quantity"]]
        own = {name: given[name].value if given.get(name) else None for name in OWN_CONDITIONS}
        asked = f"as read, though: {given['asked']}" if given.get("asked") else ""
        return ReadingEntry(
            unit=self.shelf.unit(given.get("unit")),
            quantity=quantity.code,
            direction=given.get("direction") or "",
            typed=given["value"],
            typed_unit=given["value_unit"],
            value=given["house"],
            house_unit=quantity.unit,
            repeats=(given["house"], *given["repeats_house"]) if given["repeats_house"] else (),
            stability=given.get("stability") or Reading.Stability.STEADY,
            instrument=self.shelf.instruments.get(given.get("instrument") or ""),
            port=given.get("port") or "",
            oil_temp_c=own["oil_temp"],
            engine_speed_rpm=own["engine_speed"],
            loop_pressure_bar=own["loop_pressure"],
            case_pressure_bar=own["case_pressure"],
            note="; ".join(part for part in (given.get("note"), asked) if part)[:300],
        )


def further_values(text: str) -> list[float]:
    """Return the further values of a reading, typed one after the other."""
    parts = [part for part in re.split(r"[;|/\n]|\s{1,}(?=\S)", text.strip()) if part.strip()]
    if len(parts) > MOST_REPEATS:
        raise NumberRefused(f"Further values: {len(parts)} figures stand there, {MOST_REPEATS} can be kept.")
    return [read_number(part) for part in parts]


ReadingLines = forms.formset_factory(ReadingLine, extra=0, max_num=120, absolute_max=120, validate_max=True)

"""What every form of an act shares."""

import re
from decimal import Decimal

import pytest
from django import forms

from shop.forms_base import ActForm
from shop.measures import MeasureField


class Figures(ActForm):
    radius = MeasureField("length", label="Rolling radius", help_text="Way of ten turns divided by 62.8")
    ratio = forms.FloatField(label="Motor turns for one wheel turn", required=False)
    price = forms.DecimalField(required=False)
    place = forms.ChoiceField(choices=[("", "---------"), ("bay", "Bay")], required=False)


@pytest.mark.parametrize("kept", [1.234, 12.345, 123.456, 0.9, 2400.0, 12345.678])
def test_a_kept_figure_comes_back_through_the_form_as_it_was(kept):
    shown = Figures(initial={"radius": kept, "ratio": kept})
    given = {"radius": _value(shown["radius"]), "radius_unit": "m", "ratio": _value(shown["ratio"])}
    back = Figures(given)
    assert back.is_valid(), back.errors
    assert back.cleaned_data["radius"].value == pytest.approx(kept)
    assert back.cleaned_data["ratio"] == pytest.approx(kept)


def _value(field) -> str:
    return re.search(r'value="([^"]*)"', str(field)).group(1)


def test_bare_figures_take_comma_and_point_and_ask_about_what_may_be_either():
    form = Figures({"ratio": "0,5", "price": "12,50"})
    assert form.is_valid()
    assert (form.cleaned_data["ratio"], form.cleaned_data["price"]) == (0.5, Decimal("12.5"))
    asked = Figures({"ratio": "1,234"})
    assert asked.sentences() == ['Motor turns for one wheel turn: "1,234" may mean 1234 or 1.234: please write 1234 or 1.2340.']
    assert 'value="1,234"' in str(asked["ratio"])


def test_the_box_of_a_measured_figure_has_its_label_help_and_named_unit():
    drawn = Figures()["radius"].as_field_group()
    assert '<label for="id_radius">Rolling radius</label>' in drawn
    assert re.search(r'<input[^>]*aria-describedby="id_radius_helptext"[^>]*id="id_radius"', drawn)
    assert 'aria-label="Unit of Rolling radius"' in drawn


def test_nothing_picked_is_one_dash():
    assert '<option value="" selected>–</option>' in str(Figures()["place"])

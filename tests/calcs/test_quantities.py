"""The table of quantities and its questions."""

import pytest

from calcs.quantities import QUANTITIES, is_plausible, quantity_of, unit_question
from calcs.units import units_for


def test_each_quantity_is_in_the_house_unit_of_its_kind():
    for quantity in QUANTITIES.values():
        assert quantity.unit == units_for(quantity.kind)[0]
        assert quantity.worse in {"up", "down", "either"} and quantity.scale in {"cuberoot", "log"}
        assert quantity.plausible_low < quantity.plausible_high


def test_leakage_wears_on_the_cube_root_scale_and_nothing_else_does():
    """Leakage goes with the cube of the gap (laminar slot flow)."""
    assert {code for code, q in QUANTITIES.items() if q.scale == "cuberoot"} == {
        "pump_case_flow", "motor_case_flow", "total_case_return", "cross_port_leakage",
    }  # fmt: skip


@pytest.mark.parametrize(
    ("code", "value", "unit", "asked"),
    [
        ("charge_neutral", 320, "bar", "psi"),
        ("main_relief", 5800, "bar", "psi"),
        ("main_relief", 40, "bar", "MPa"),
        ("charge_neutral", 22, "psi", "bar"),
        ("top_speed", 90, "km/h", "check"),
        ("drain_temp_rise", 90, "K", "degF"),
    ],
)
def test_a_figure_in_the_wrong_unit_is_asked_about(code, value, unit, asked):
    assert asked in unit_question(code, value, unit)


@pytest.mark.parametrize(
    ("code", "value", "unit"), [("charge_neutral", 320, "psi"), ("main_relief", 41, "MPa"), ("pump_case_flow", 0, "gpm")]
)
def test_a_plausible_figure_is_not_asked_about(code, value, unit):
    assert unit_question(code, value, unit) is None


def test_an_unknown_code_is_refused():
    with pytest.raises(ValueError, match="got 'colour'"):
        quantity_of("colour")
    assert is_plausible("top_speed", 32)


def test_the_ends_of_a_span_are_plausible_and_just_beyond_is_not():
    assert is_plausible("main_relief", 60) and is_plausible("main_relief", 600)
    assert not is_plausible("main_relief", 59.9) and not is_plausible("main_relief", 600.1)


def test_the_questions_word_for_word():
    assert unit_question("main_relief", 5800, "bar") == "5800 bar is outside 60 to 600 bar: was it read in psi?"
    assert unit_question("top_speed", 90, "km/h") == "90 km/h is outside 1 to 80 km/h: please check the figure."
    assert unit_question("charge_neutral", 1.6, "bar") == "1.6 bar is outside 3 to 45 bar: was it read in MPa?"
    assert unit_question("drain_temp_rise", 90, "K") == "90 K is outside 0 to 60 K: was it read in degF?"
    assert unit_question("charge_neutral", 2000, "psi") == "2000 psi is outside 43.5 to 653 psi: was it read in kPa?"


def test_a_unit_of_something_else_is_refused_before_any_question():
    with pytest.raises(ValueError, match="unit must be one for pressure"):
        unit_question("charge_neutral", 20, "gpm")


def test_a_typed_difference_of_temperatures_carries_no_offset():
    assert unit_question("drain_temp_rise", 20, "degF") is None

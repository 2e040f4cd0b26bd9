"""Makers' rules in their ten forms, with their conditions."""

from dataclasses import replace

import pytest

from calcs.acceptance import FORM_LABELS, NEEDS, AcceptanceRule, Form, Related, conditions_unmet, figure_judged, limits_of
from calcs.drive_spec import Conditions
from calcs.healthy import NotComparable

FIGURES = {
    "low": 402,
    "high": 411,
    "nominal": 400,
    "tolerance": 15,
    "share": 0.8,
    "drop": 1.5,
    "good_below": 3.8,
    "faulty_from": 7.6,
    "positions": 3,
}


def rule(form: Form, **given) -> AcceptanceRule:
    figures = {name: FIGURES[name] for name in NEEDS[form]}
    return AcceptanceRule("main_relief", form, **{**figures, **given})


RELATED = Related(neutral_bar=22, neutral_uncertainty_bar=0.2, unloaded_lpm=4, unloaded_uncertainty_lpm=0.1, positions=(3.0, 3.5, 4.0))


@pytest.mark.parametrize(
    ("form", "low", "high"),
    [
        (Form.BAND, 402, 411),
        (Form.NOMINAL, 385, 415),
        (Form.MAXIMUM, None, 411),
        (Form.MINIMUM, 402, None),
        (Form.SHARE_OF_NEUTRAL, 17.6, None),
        (Form.GREATEST_DROP, 20.5, None),
        (Form.THREE_CLASSES, None, 3.8),
        (Form.MEAN_OVER_POSITIONS, None, 411),
        (Form.LOADED_RATIO, None, 7.2),
        (Form.NO_MOTION, None, 0),
    ],
)
def test_each_form_sets_its_limits(form, low, high):
    found = limits_of(rule(form), RELATED)
    assert found.low == (None if low is None else pytest.approx(low))
    assert found.high == (None if high is None else pytest.approx(high))


def test_there_are_ten_forms_and_each_has_words():
    assert len(Form) == 10 and set(FORM_LABELS) == set(NEEDS) == set(Form)


def test_a_limit_drawn_from_another_reading_carries_its_doubt():
    assert limits_of(rule(Form.SHARE_OF_NEUTRAL), RELATED).uncertainty == pytest.approx(0.16)
    assert limits_of(rule(Form.GREATEST_DROP), RELATED).uncertainty == pytest.approx(0.2)
    assert limits_of(rule(Form.LOADED_RATIO, share=0.25), RELATED).uncertainty == pytest.approx(0.125)


@pytest.mark.parametrize("form", [Form.SHARE_OF_NEUTRAL, Form.GREATEST_DROP, Form.LOADED_RATIO])
def test_a_rule_that_refers_to_a_reading_not_taken_is_not_comparable(form):
    with pytest.raises(NotComparable, match="was not"):
        limits_of(rule(form), Related())


def test_the_mean_over_positions_needs_all_of_them():
    assert figure_judged(rule(Form.MEAN_OVER_POSITIONS), 3.0, RELATED) == 3.5
    with pytest.raises(NotComparable, match="mean over 3 positions, 2 were read"):
        figure_judged(rule(Form.MEAN_OVER_POSITIONS), 3.0, replace(RELATED, positions=(3.0, 4.0)))
    assert figure_judged(rule(Form.NO_MOTION), -0.5, RELATED) == 0.5
    assert figure_judged(rule(Form.MAXIMUM), 5.0, RELATED) == 5.0


@pytest.mark.parametrize("form", [form for form in Form if NEEDS[form]])
def test_a_rule_without_a_figure_of_its_form_is_refused(form):
    with pytest.raises(ValueError, match=f"{NEEDS[form][0]} must be given"):
        AcceptanceRule("main_relief", form)


@pytest.mark.parametrize("given", [{"low": 420, "high": 400}, {"low": 1, "high": 2, "oil_temp_low_c": 70, "oil_temp_high_c": 60}])
def test_limits_that_cross_are_refused(given):
    with pytest.raises(ValueError, match="must not be above"):
        AcceptanceRule("main_relief", Form.BAND, **given)


WARM = {"oil_temp_low_c": 54, "oil_temp_high_c": 66, "speed_low_rpm": 2200, "pressure_high_bar": 140}
MET = Conditions(oil_temp_c=60, engine_speed_rpm=2300, loop_pressure_bar=138, direction="forward")


def test_a_rule_holds_where_all_its_conditions_are_met():
    assert conditions_unmet(rule(Form.BAND, direction="forward", **WARM), MET) is None
    assert conditions_unmet(rule(Form.BAND), Conditions()) is None


@pytest.mark.parametrize(
    ("changed", "reason"),
    [
        ({"direction": "reverse"}, "the rule holds for forward only"),
        ({"oil_temp_c": 45}, "oil temperature 45 degC is outside the 54 to 66 degC of the rule"),
        ({"oil_temp_c": 66.5}, "oil temperature 66.5 degC is outside the 54 to 66 degC of the rule"),
        ({"engine_speed_rpm": 2000}, "engine speed 2000 rpm is outside the 2200 rpm or more of the rule"),
        ({"loop_pressure_bar": 141}, "loop pressure 141 bar is outside the up to 140 bar of the rule"),
        ({"loop_pressure_bar": None}, "the rule asks for loop pressure up to 140 bar and none was noted"),
    ],
)
def test_a_condition_that_is_not_met_is_named(changed, reason):
    assert conditions_unmet(rule(Form.BAND, direction="forward", **WARM), replace(MET, **changed)) == reason


def test_the_edges_of_a_condition_are_inside_it():
    for temp in (54, 66):
        assert conditions_unmet(rule(Form.BAND, direction="forward", **WARM), replace(MET, oil_temp_c=temp)) is None


def test_a_source_is_a_document_and_a_page():
    named = rule(Form.MAXIMUM, document="Loader service book", page="5-43", revision="B")
    assert named.has_source and named.source == "Loader service book, page 5-43, rev. B"
    assert not rule(Form.MAXIMUM, document="Loader service book").has_source
    assert not rule(Form.MAXIMUM, page="5-43").has_source
    assert not rule(Form.MAXIMUM, document=" ", page=" ").has_source

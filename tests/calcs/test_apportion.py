"""Pump or motor, with probabilities."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from calcs.apportion import apportion, apportioned_text, drain_likelihood, loop_likelihood

RATIO = st.one_of(st.none(), st.floats(0.3, 8))


def shares(found):
    return found.pump, found.motor, found.both, found.neither


@given(RATIO, RATIO, st.one_of(st.none(), st.floats(-0.05, 0.6)), st.one_of(st.none(), st.floats(0.7, 1.1)))
def test_probabilities_add_up_and_pump_and_motor_mirror_each_other(pump, motor, sag, speed):
    found, turned = apportion(pump, motor, sag, speed), apportion(motor, pump, sag, speed)
    assert sum(shares(found)) == pytest.approx(1)
    assert (found.pump, found.motor, found.both, found.neither) == pytest.approx((turned.motor, turned.pump, turned.both, turned.neither))


def test_clear_cases_are_named():
    assert apportion(1.0, 2.5).motor > 0.95 and "motor" in apportion(1.0, 2.5).text
    assert apportion(2.5, 1.0).pump > 0.95 and "pump" in apportion(2.5, 1.0).text
    assert apportion(2.5, 2.5).both > 0.9 and "both" in apportion(2.5, 2.5).text
    assert apportion(1.0, 1.05, 0.06, 1.0).neither > 0.95 and "neither" in apportion(1.0, 1.05, 0.06, 1.0).text


def test_without_drains_sag_and_speed_show_a_leak_but_not_whose():
    found = apportion(None, None, sag_share=0.35, speed_ratio=0.94)
    assert found.neither < 0.05 and found.pump == pytest.approx(found.motor)
    assert "cannot be told apart" in found.text


def test_one_drain_read_says_something_of_the_other_unit_when_the_loop_leaks():
    found = apportion(pump_ratio=1.0, sag_share=0.35, speed_ratio=0.94)
    assert found.motor > 0.8


def test_a_vaguer_ratio_settles_less():
    assert apportion(1.3, 1.0, ratio_uncertainty=0.02).neither < 0.95
    sure, vague = apportion(1.0, 1.9, ratio_uncertainty=0.02), apportion(1.0, 1.9, ratio_uncertainty=0.6)
    assert sure.motor > vague.motor


def test_no_reading_leaves_the_odds_as_they_were():
    assert shares(apportion()) == pytest.approx((0.25, 0.25, 0.1, 0.4))
    assert drain_likelihood(None, True, 0.1) == 1 and loop_likelihood(None, None, True, 0.1) == 1


@pytest.mark.parametrize("name", ["pump_ratio", "motor_ratio", "speed_ratio"])
def test_a_ratio_of_zero_is_refused(name):
    with pytest.raises(ValueError, match=f"{name} must be above zero, got 0"):
        apportion(**{name: 0})


def test_a_negative_uncertainty_is_refused():
    with pytest.raises(ValueError, match="ratio_uncertainty"):
        apportion(1.0, ratio_uncertainty=-0.1)


def test_the_densities_worked_by_hand():
    """Normal densities: 1/(spread sqrt(2 pi)) at the centre."""
    root = (2 * math.pi) ** 0.5
    tail = 0.02 / (1.5 * root)
    assert drain_likelihood(1.0, False, 0.0) == pytest.approx(0.98 / (0.15 * root) + tail)
    assert drain_likelihood(2.2, True, 0.6) == pytest.approx(0.98 / (0.75 * root) + tail * math.exp(-0.5 * (math.log(2.2) / 1.5) ** 2))
    assert loop_likelihood(0.25, None, True, 0.12) == pytest.approx(1 / (0.10 * root) + 0.02)
    assert loop_likelihood(0.08, None, False, 0.0) == pytest.approx(1 / (0.08 * root) + 0.02)
    assert loop_likelihood(None, 0.95, True, 0.3) == pytest.approx(1 / (0.02 * root) + 0.05)
    assert loop_likelihood(None, 1.0, False, 0.3) == pytest.approx(1 / (0.02 * root) + 0.05)
    both = loop_likelihood(0.25, 0.95, True, 0.0)
    assert both == pytest.approx(loop_likelihood(0.25, None, True, 0.0) * loop_likelihood(None, 0.95, True, 0.0))


def test_sag_and_speed_each_move_the_odds():
    assert apportion(sag_share=0.3).neither < 0.4 < apportion(sag_share=0.03).neither
    assert apportion(speed_ratio=0.93).neither < 0.4 < apportion(speed_ratio=1.0).neither


def test_the_sentences_word_for_word():
    def text(**shares):
        return apportioned_text({"neither": 0.0, "pump": 0.0, "motor": 0.0, "both": 0.0, **shares})

    assert text(pump=0.9, motor=0.04, both=0.05, neither=0.01) == (
        "More likely the pump (about 90 %) than the motor (4 %); both 5 %, neither 1 %."
    )
    assert text(motor=0.6, pump=0.4) == "More likely the motor (about 60 %) than the pump (40 %); both 0 %, neither 0 %."
    assert text(both=0.8, pump=0.2) == "Most likely both pump and motor leak (about 80 %); pump alone 20 %, motor alone 0 %."
    assert (
        text(neither=0.7, motor=0.3) == "Most likely neither pump nor motor leaks too much (about 70 %); pump alone 0 %, motor alone 30 %."
    )
    assert text(pump=0.5, motor=0.5) == "Pump and motor cannot be told apart yet: pump 50 %, motor 50 %, both 0 %, neither 0 %."
    assert apportion(1.0, ratio_uncertainty=0.0).pump < 0.1

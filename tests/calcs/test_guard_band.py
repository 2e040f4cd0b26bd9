"""Decision by guard band: the worked case, the laws of the bands, and error rates by simulation."""

from math import erf, sqrt

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from calcs.acceptance import Limits
from calcs.guard_band import State, Verdict, better_instrument, judge, limits_shown, margin_to, shown, state_of
from calcs.uncertainty import class_uncertainty

ANY = st.floats(-1000, 1000)


def test_20_6_within_1_25_against_21_is_undecided_and_a_better_gauge_is_named():
    found = judge(20.6, 1.25 / 2, (21.0, None), unit="bar")
    assert found.state is State.UNDECIDED
    assert "20.6 ± 1.25 bar against limit 21.0 bar is undecided" in found.reason
    assert "a gauge of class 0.6 and 40 bar would decide" in found.reason
    assert found.margin == pytest.approx(-0.4) and found.expanded == pytest.approx(1.25)


def test_the_gauge_that_is_named_does_decide():
    assert judge(20.6, class_uncertainty(0.6, 40), (21.0, None)).state is State.OUTSIDE_LOW


@pytest.mark.parametrize(
    ("value", "state"),
    [(19.0, "outside low"), (19.7, "outside low"), (19.75, "undecided"), (22.2, "undecided"), (22.25, "inside"), (28.75, "inside"),
     (28.8, "undecided"), (31.25, "undecided"), (31.3, "outside high")],
)  # fmt: skip
def test_the_bands_on_both_sides_of_both_limits(value, state):
    assert judge(value, 0.625, (21.0, 30.0)).state == state


@given(ANY, st.floats(0, 100), ANY, ANY)
def test_a_tighter_uncertainty_never_turns_a_decision_round(value, u, one, other):
    low, high = sorted((one, other))
    coarse, fine = judge(value, u, (low, high)).state, judge(value, u / 2, (low, high)).state
    assert coarse is State.UNDECIDED or coarse is fine


@given(ANY, st.floats(0, 100), ANY, ANY)
def test_the_mirror_image_gives_the_mirror_state(value, u, one, other):
    low, high = sorted((one, other))
    mirror = {State.OUTSIDE_LOW: State.OUTSIDE_HIGH, State.OUTSIDE_HIGH: State.OUTSIDE_LOW}
    found, other_way = judge(value, u, (low, high)).state, judge(-value, u, (-high, -low)).state
    assert other_way is mirror.get(found, found)


@given(ANY, st.floats(0, 100), ANY, st.floats(0.001, 1000))
def test_a_change_of_unit_changes_no_state(value, u, low, factor):
    assert state_of(value * 2.0**9, u * 2.0**9, low * 2.0**9, None) is state_of(value, u, low, None)


def test_without_uncertainty_there_is_no_doubt_and_the_limit_itself_is_inside():
    assert judge(21.0, 0, (21.0, None)).state is State.INSIDE
    assert judge(20.999, 0, (21.0, None)).state is State.OUTSIDE_LOW


def test_a_band_narrower_than_the_doubt_is_never_inside():
    assert judge(25.0, 1.0, (24.0, 26.0)).state is State.UNDECIDED


def test_the_doubt_of_the_limit_counts_as_well():
    assert judge(23.0, 0.6, Limits(21.0, None, 0.8)).expanded == pytest.approx(2.0)


def test_where_the_conditions_are_the_doubt_no_gauge_is_advised():
    assert "measured more closely" in judge(20.6, 0.1, Limits(21.0, None, 0.5), unit="bar").reason


def test_advice_beyond_gauges():
    assert (
        better_instrument(20.6, 0.01, "bar")
        == "too close for the finest gauge, class 0.1, so repeat the reading or take it as on the limit"
    )
    assert better_instrument(6.0, -0.2, "L/min") == "it takes an instrument good to less than ± 0.20 L/min"


def test_no_limit_is_not_comparable_and_a_figure_that_is_none_is_refused():
    assert judge(1.0, 0.1, (None, None)).state is State.NOT_COMPARABLE
    for value in (float("nan"), float("inf")):
        with pytest.raises(ValueError, match="value must be a finite number"):
            judge(value, 0.1, (1, 2))
    assert margin_to(1, None, None) is None


def test_the_states_are_printed_in_these_words():
    assert [state.value for state in State] == [
        "inside", "undecided", "outside low", "outside high", "not comparable", "suspect instrument", "impossible",
    ]  # fmt: skip


def test_source_and_limits_stand_in_the_sentence():
    assert (
        judge(404, 0.5, (402, 411), "bar", "maker", "Book, page 7").reason
        == "404 ± 1.00 bar against 402 to 411 bar is inside. (Book, page 7)"
    )
    assert limits_shown(None, None, "bar") == "no limit"
    assert [shown(v) for v in (0.5, 9.999, 12.34, -123.4)] == ["0.50", "10.00", "12.3", "-123"]


@pytest.mark.parametrize("true_value", [21.0, 21.3, 22.0, 22.25, 20.0])
def test_wrong_decisions_are_as_rare_as_the_coverage_says(true_value):
    """A normal error with u = 0.625: a state comes as often as the normal distribution says, and on the limit wrongly in 2.3 %."""
    u, count = 0.625, 40_000
    readings = np.random.default_rng(20260101).normal(true_value, u, count)
    states = [state_of(float(x), 2 * u, 21.0, None) for x in readings]
    normal = lambda z: (1 + erf(z / sqrt(2))) / 2  # noqa: E731
    chance_low, chance_inside = normal((21.0 - true_value) / u - 2), normal((true_value - 21.0) / u - 2)
    for state, chance in ((State.OUTSIDE_LOW, chance_low), (State.INSIDE, chance_inside)):
        share = sum(found is state for found in states) / count
        assert share == pytest.approx(chance, abs=4 * sqrt(chance * (1 - chance) / count) + 1e-4)
    if true_value == 21.0:
        assert chance_low == pytest.approx(0.02275, abs=1e-4)


def test_figures_are_shown_with_three_digits_from_the_very_edge():
    assert [shown(v) for v in (100, 99.96, 10, 9.99, 0)] == ["100", "100.0", "10.0", "9.99", "0.00"]


def test_a_verdict_carries_all_it_was_made_of():
    found = judge(24.0, 0.5, (21.0, 30.0), "bar", "maker", "Book, page 7")
    assert found == Verdict(
        State.INSIDE, "24.0 ± 1.00 bar against 21.0 to 30.0 bar is inside. (Book, page 7)", 21.0, 30.0, 3.0, 1.0, "maker", "Book, page 7"
    )
    bare = judge(24.0, 0.5, (21.0, None))
    assert bare == Verdict(State.INSIDE, "24.0 ± 1.00 against limit 21.0 is inside.", 21.0, None, 3.0, 1.0, "", "")
    assert judge(1.0, 0.1, (None, None)) == Verdict(State.NOT_COMPARABLE, "There is no limit to hold the reading against.")


def test_the_margin_to_an_upper_limit_is_what_is_left():
    assert margin_to(22.0, None, 30.0) == 8.0 and margin_to(31.0, 20.0, 30.0) == -1.0


def test_the_gauge_that_is_named_allows_for_the_doubt_of_the_limit():
    """0.28 bar to a limit good to 0.042 bar leaves 0.2768 bar, just under the 0.2771 bar of class 0.6 and 40 bar."""
    assert better_instrument(20.6, 0.28, "bar") == "a gauge of class 0.6 and 40 bar would decide"
    assert better_instrument(20.6, 0.28, "bar", 0.021) == "a gauge of class 0.25 and 40 bar would decide"
    far = "closer than the conditions of the test are known, so repeat it with oil temperature, speed and pressure measured more closely"
    assert better_instrument(20.6, 0.28, "bar", 0.14) == far
    assert better_instrument(5.0, 0.5, "L/min", 0.2) == "it takes an instrument good to less than ± 0.30 L/min"

"""Limits out of a fleet's own figures: worked sets, a unit change, outliers, small and large fleets."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from calcs.alarm_limits import (
    alarm_word,
    cumulative_levels,
    cumulative_limit,
    known_values,
    looks_normal,
    normal_limit,
    robust_limit,
    suited_limits,
)
from tests.golden import golden

ONE_OUTLIER = [12, 9, 15, 11, 10, 14, 13, 8, 12, 40]
fleets = st.lists(st.floats(0, 1000), min_size=5, max_size=60)


def fleet_of(count: int, seed: int = 7) -> np.ndarray:
    return np.random.default_rng(seed).normal(20, 4, count)


def test_robust_limit_of_the_worked_set():
    assert golden("C23").close(robust_limit(ONE_OUTLIER))


def test_ninetieth_percentile_of_the_worked_set():
    assert golden("C25").close(cumulative_limit(ONE_OUTLIER, 90))


def test_two_deviations_above_the_mean_hide_the_outlier_itself():
    """Worked by hand: 14.4 + 2 x 9.25 = 32.90."""
    assert normal_limit(ONE_OUTLIER, 2) == pytest.approx(32.90, abs=0.01)
    assert normal_limit(ONE_OUTLIER, 0) == pytest.approx(14.4)


@given(fleets, st.floats(0.1, 10), st.floats(-50, 50))
def test_limits_move_with_the_unit(values, scale, shift):
    moved = [value * scale + shift for value in values]
    for limit, setting in ((robust_limit, 3), (normal_limit, 2), (cumulative_limit, 90)):
        assert limit(moved, setting) == pytest.approx(limit(values, setting) * scale + shift, rel=1e-6, abs=1e-6)


@given(fleets)
def test_order_does_not_matter_and_a_missing_figure_is_left_out(values):
    shuffled = [float("nan"), *reversed(values)]
    assert robust_limit(shuffled) == pytest.approx(robust_limit(values))
    assert normal_limit(shuffled, 2) == pytest.approx(normal_limit(values, 2))
    assert cumulative_limit(shuffled, 90) == pytest.approx(cumulative_limit(values, 90))


def test_robust_and_normal_limit_agree_on_a_large_normal_fleet():
    values = fleet_of(20_000)
    assert robust_limit(values, 2) == pytest.approx(28, rel=0.02)
    assert normal_limit(values, 2) == pytest.approx(28, rel=0.02)
    assert cumulative_limit(values, 97.725) == pytest.approx(28, rel=0.02)


def test_percentiles_at_their_ends():
    assert cumulative_limit(ONE_OUTLIER, 0) == 8
    assert cumulative_limit(ONE_OUTLIER, 100) == 40
    assert cumulative_limit([5], 50) == 5
    for percent in (-1, 101):
        with pytest.raises(ValueError, match="percent must be from 0 to 100"):
            cumulative_limit(ONE_OUTLIER, percent)


def test_a_small_fleet_gets_the_robust_form():
    limits = suited_limits(ONE_OUTLIER)
    assert limits.form == "robust"
    assert (limits.caution, limits.critical) == pytest.approx((12 + 2 * 1.4826 * 2, 12 + 3 * 1.4826 * 2))
    assert limits.sample_count == 10
    assert suited_limits(fleet_of(29)).form == "robust"


def test_a_large_normal_fleet_gets_the_normal_form():
    values = fleet_of(30)
    limits = suited_limits(values, multiples=(1, 2))
    assert limits.form == "normal"
    assert (limits.caution, limits.critical) == pytest.approx((values.mean() + values.std(ddof=1), values.mean() + 2 * values.std(ddof=1)))


def test_a_large_lopsided_fleet_gets_the_cumulative_form():
    values = np.exp(fleet_of(100) / 4)
    limits = suited_limits(values)
    assert limits.form == "cumulative"
    assert (limits.caution, limits.critical) == pytest.approx((np.percentile(values, 90), np.percentile(values, 98)))
    assert limits.sample_count == 100


def test_too_few_figures_give_no_limits():
    assert suited_limits([1, 2, 3, 4]) is None
    assert suited_limits([1, 2, 3, 4, float("nan")]) is None
    assert suited_limits([]) is None
    assert suited_limits([1, 2, 3, 4, 5]).sample_count == 5


def test_figures_that_are_all_the_same_do_not_look_normal():
    assert not looks_normal([5] * 40)
    assert looks_normal(fleet_of(40))
    assert not looks_normal(np.exp(fleet_of(40)))


def test_too_few_to_work_with_are_refused():
    with pytest.raises(ValueError, match="values must hold 2 or more, got 1"):
        normal_limit([5], 2)
    with pytest.raises(ValueError, match="values must hold 1 or more, got 0"):
        robust_limit([float("nan")])
    with pytest.raises(ValueError, match="values must hold 1 or more"):
        cumulative_limit([], 50)
    with pytest.raises(ValueError, match="values must hold 3 or more, got 2"):
        looks_normal([1, 2])
    assert known_values([3, float("nan")], fewest=1) == pytest.approx([3])
    assert normal_limit([1, 3], 1) == pytest.approx(2 + 2**0.5)
    assert robust_limit([5]) == 5


def test_alarm_words():
    assert [alarm_word(value, 20, 30) for value in (20, 20.1, 30, 30.1)] == ["usual", "caution", "caution", "critical"]
    assert alarm_word(21, 20, 20) == "critical"
    with pytest.raises(ValueError, match="critical must not be under caution, got 19 under 20"):
        alarm_word(1, 20, 19)


def test_settings_are_used_for_both_limits_and_small_spreads_look_normal():
    limits = suited_limits(ONE_OUTLIER, multiples=(1, 2))
    assert limits.critical == pytest.approx(12 + 2 * 1.4826 * 2)
    assert suited_limits(fleet_of(40)).sample_count == 40
    assert looks_normal(fleet_of(40) / 100)


def test_four_levels_of_an_even_fleet_are_their_percentages():
    assert cumulative_levels(range(101)) == pytest.approx((80, 90, 95, 98))
    assert cumulative_levels(ONE_OUTLIER, [0, 100]) == (8, 40)

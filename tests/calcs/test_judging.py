import numpy as np
import pytest
from scipy import stats

from calcs.group import GroupNumbers, numbers_by_series
from calcs.judging import judge, trend_chances

GROUP = GroupNumbers(
    group=1, n_series=50, cube=True, age_h=2000.0, reach=0.26, share_not_wearing=0.5, typical_life_h=8000.0, life_spread=0.5, curvature=1.0,
    doubt=0.1, noise=0.015, noise_freedom=60.0, start_weight=(1.0,) * 5, start_level=(0.0,) * 5, eta=1.0, phi=0.0, backtest_asked=0,
    backtest_caught=0, cv_stated=float("nan"), flag_p=0.01,
)  # fmt: skip


def judged(y, hours=None, **changes):
    y = np.asarray(y, float)
    hours = np.arange(1, len(y) + 1) * 400.0 if hours is None else np.asarray(hours, float)
    numbers = numbers_by_series(
        [GroupNumbers(**(GROUP.as_row() | {"cv_stated": float("nan")} | changes))], np.zeros(1, int), np.zeros(1, int)
    )
    return judge(hours, y, np.ones(len(y)), np.array([len(y)]), numbers)[0], (hours, y, np.ones(len(y)), np.array([len(y)]), numbers)


def test_chance_under_no_trend_of_one_reading_is_that_of_its_distance_from_the_start():
    """One reading, start worth one reading: its SD is noise x sqrt 2; many drives told the noise."""
    found, _ = judged([0.04])
    assert found.p_trend[0] == pytest.approx(stats.norm.sf(0.04 / (0.015 * np.sqrt(2))), rel=0.15)


def test_quick_flags_give_the_same_chance():
    found, parts = judged([0.0, 0.01, 0.03, 0.05])
    assert trend_chances(*parts) == pytest.approx(found.p_trend)


def test_chances_under_no_trend_are_evenly_spread_when_nothing_wears():
    rng, units = np.random.default_rng(2), 4000
    y = 0.015 * rng.normal(size=(units, 1)) + 0.015 * rng.normal(size=(units, 5))
    numbers = numbers_by_series([GROUP], np.zeros(units, int), np.zeros(units, int))
    found, _ = judge(np.tile(np.arange(1, 6) * 400.0, units), y.ravel(), np.ones(5 * units), np.full(units, 5), numbers)
    assert np.quantile(found.p_trend, [0.01, 0.1, 0.5]) == pytest.approx([0.01, 0.1, 0.5], rel=0.25)
    assert np.mean(found.step_p < 0.01) < 0.013


def test_more_readings_give_the_own_record_more_weight():
    weights = [judged(0.04 * np.arange(1, n + 1) / 5)[0].weight_own[0] for n in (2, 4, 8)]
    assert weights == sorted(weights) and 0 < weights[0] < weights[2] < 1


def test_a_steep_rise_is_a_short_life_and_a_flat_record_is_none():
    assert judged(0.03 * np.arange(1, 9))[0].p_wearing[0] > 0.99
    assert judged(np.zeros(8))[0].p_wearing[0] < 0.1


def test_surprise_of_the_newest_reading_grows_with_its_height():
    chances = [judged([0.0, 0.005, 0.0, high])[0].step_p[0] for high in (0.0, 0.03, 0.06, 0.12)]
    assert chances == sorted(chances, reverse=True) and chances[-1] < 1e-4 and chances[0] > 0.4

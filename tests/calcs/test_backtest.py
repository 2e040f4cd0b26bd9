import numpy as np
import pytest

from calcs.backtest import NO_PAST, choose_widening, hide_later_half

SLOPES = np.r_[0.0, np.geomspace(0.005, 0.5, 40)]
SHARE = np.r_[0.3, np.full(40, 0.7 / 40)]


def records(units=120, bias=0.0, seed=3):
    rng = np.random.default_rng(seed)
    x = np.cumsum(rng.uniform(0.1, 0.3, (units, 8)), axis=1)
    slope = np.exp(rng.uniform(np.log(0.02), np.log(0.2), (units, 1)))
    late = np.arange(8) >= 4
    y = slope * x * (1 + bias * late * rng.choice([-1, 1], (units, 1))) + 0.015 * rng.normal(size=x.shape)
    start = (np.full(units, 30.0), np.zeros(units))
    return hide_later_half(x.ravel(), y.ravel(), np.ones(x.size), np.full(units, 8), start, (0.015**2, 20.0))


def test_the_later_half_is_hidden():
    x = np.arange(1.0, 7.0)
    hidden = hide_later_half(x, x, np.ones(6), np.array([6]), (np.ones(1), np.zeros(1)), (1.0, 8.0))
    assert hidden.sums.count.tolist() == [3] and hidden.before.tolist() == [3.0] and hidden.x.tolist() == [5.0, 6.0]


def test_a_fleet_that_keeps_to_its_lines_needs_no_widening():
    found = choose_widening(records(), SLOPES, SHARE, 0.06)
    assert found.power > 0.9 and found.wander < 0.01
    assert found.asked == 120 and found.caught / found.asked == pytest.approx(0.8, abs=0.1)


def test_a_fleet_that_leaves_its_lines_is_widened():
    kept, left = (choose_widening(records(bias=bias), SLOPES, SHARE, 0.06) for bias in (0.0, 0.35))
    assert left.power < kept.power or left.wander > kept.wander


def test_without_long_records_there_is_no_past():
    assert choose_widening(None, SLOPES, SHARE, 0.06) is NO_PAST

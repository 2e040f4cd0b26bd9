import numpy as np
import pandas as pd
import pytest

from calcs.gauges import gauge_offsets, run_length, watch_gauge, without_gauge_offsets
from calcs.trend import fit_fleet
from tests.simulated_fleet import draw_fleet, draw_truth


@pytest.mark.parametrize(
    ("shift", "slack", "alarm", "published"),
    [(0.0, 0.5, 4.0, 335.4), (1.0, 0.5, 4.0, 8.38), (0.0, 0.5, 5.0, 930.9), (1.0, 0.5, 5.0, 10.38), (0.0, 0.25, 8.0, 736.8)],
)
def test_run_lengths_are_those_of_the_tables(shift, slack, alarm, published):
    """Brook and Evans, Biometrika 59(3), 1972."""
    assert run_length(shift, slack, alarm) == pytest.approx(published, rel=0.01)


def test_simulated_run_length_agrees_with_the_markov_chain():
    rng = np.random.default_rng(8)
    found = [watch_gauge(rng.normal(1.0, 1.0, 400), 0.5, 4.0).alarm_up for _ in range(1500)]
    assert np.mean(found) == pytest.approx(run_length(1.0, 0.5, 4.0), rel=0.06)


def test_sum_follows_the_step_by_step_rule():
    u = np.random.default_rng(9).normal(size=60)
    up, sums = 0.0, []
    for value in u:
        up = max(0.0, up + value - 0.25)
        sums.append(up)
    assert watch_gauge(u).up == pytest.approx(sums)


def test_low_reading_gauge_alarms_downward():
    watch = watch_gauge(-np.ones(30))
    assert watch.alarm_down == 11 and watch.alarm_up is None


def test_offset_of_a_gauge_is_solved_through_drives_that_wear():
    rng = np.random.default_rng(10)
    series, hours = np.repeat(np.arange(200), 6), np.tile(np.arange(6) * 400.0, 200)
    gauge = rng.choice(["a", "b", "c"], 1200)
    true = {"a": 0.03, "b": -0.01, "c": -0.02}
    y = 0.1 * rng.random(200)[series] * hours / 1000 + 0.04 * rng.normal(size=200)[series] + rng.normal(0, 0.03, 1200)
    y += [true[name] for name in gauge]
    found = gauge_offsets(series, hours, y, gauge)
    assert (found["offset"] - found["offset"].mean()).tolist() == pytest.approx(list(true.values()), abs=0.006)
    assert (found["uncertainty"] > 0).all() and found["n"].sum() == 1200


def test_taking_offsets_out_leaves_readings_without_a_gauge_alone():
    offsets = pd.DataFrame({"offset": [0.05]}, index=["a"])
    clean = without_gauge_offsets(pd.DataFrame({"ratio": [1.0, 1.0], "instrument": ["a", None]}), offsets)
    assert clean["ratio"].tolist() == [pytest.approx(np.exp(-0.05)), 1.0]


def test_shop_wide_change_of_gauge_raises_no_flags():
    rng = np.random.default_rng(12)
    fleet = draw_fleet(draw_truth(rng, noise_cv=0.04), np.full(300, 8), rng)
    swap = np.repeat(rng.integers(2, 7, 300), 8) <= np.tile(np.arange(8), 300)
    off = fleet.readings.assign(ratio=fleet.readings["ratio"] * np.where(swap, 1.04, 1.0))
    told, untold = fit_fleet(off.assign(instrument=np.where(swap, "new", "old"))), fit_fleet(off)
    healthy = ~fleet.wears
    assert abs(told.gauges["offset"].diff().iloc[-1]) == pytest.approx(np.log(1.04), abs=0.01)
    assert (told.series["p_trend"] < 0.01)[healthy].mean() < 0.02 < (untold.series["p_trend"] < 0.01)[healthy].mean()

import numpy as np
import pandas as pd
import pytest

from calcs.past_steps import past_steps
from calcs.trend import fit_fleet
from tests.simulated_fleet import Truth, draw_fleet

QUIET = Truth(curvature=1.0, typical_life_h=6000, noise_cv=0.03, healthy=0.5, wild=0.0)


def fleet(seed=3, units=200, truth=QUIET, readings=9):
    return draw_fleet(truth, np.full(units, readings), np.random.default_rng(seed)).readings


def raised(readings, series, place, factor):
    """The same readings, one series higher by a factor from one reading on."""
    rows = readings.sort_values(["series", "life_h"], kind="stable")
    after = (rows.series == series) & (rows.groupby("series").cumcount() >= place)
    return rows.assign(ratio=np.where(after, rows.ratio * factor, rows.ratio))


def healthy_of(readings) -> int:
    flat = readings.groupby("series").ratio.max()
    return int(flat.idxmin())


def found_in(readings):
    return past_steps(fit_fleet(readings).numbers, readings)


@pytest.mark.parametrize("place", [2, 4, 7])
def test_a_jump_is_found_at_its_reading(place):
    calm = fleet()
    series = healthy_of(calm)
    rows = raised(calm, series, place, 1.9)
    hours = rows[rows.series == series].life_h.to_numpy()
    step = found_in(rows).loc[series]
    assert (step.from_h, step.to_h) == (hours[place - 1], hours[place])
    assert step.after_ratio / step.before_ratio == pytest.approx(1.9, rel=0.1)
    assert rows.iloc[int(step.row)].life_h == hours[place]


def test_a_fall_is_a_jump_downwards():
    calm = fleet()
    series = healthy_of(calm)
    step = found_in(raised(calm, series, 4, 1 / 1.9)).loc[series]
    assert step.after_ratio < 0.7 * step.before_ratio


def test_one_wild_reading_at_either_end_is_no_jump():
    calm = fleet()
    series = healthy_of(calm)
    rows = raised(calm, series, 8, 2.0)
    assert series not in found_in(rows).index
    first = (rows.series == series) & (rows.groupby("series").cumcount() == 0)
    assert series not in found_in(calm.assign(ratio=np.where(first, 0.5 * calm.ratio, calm.ratio))).index


def test_steady_wear_is_not_split():
    false = [len(found_in(fleet(seed, truth=Truth(1.2, 4000, 0.04, 0.0)))) for seed in range(5)]
    assert sum(false) <= 5  # of 1000 wearing records, one wild reading in fifty among them


def test_most_jumps_of_a_noisy_fleet_are_found():
    calm = fleet(7, truth=Truth(1.0, 6000, 0.05, 0.5))
    rows = calm
    planted = list(range(0, 200, 10))
    for series in planted:
        rows = raised(rows, series, 5, 2.0)
    found = set(found_in(rows).index)
    assert len(found & set(planted)) >= 15
    assert len(found - set(planted)) <= 2


def test_the_order_of_rows_changes_nothing():
    calm = fleet()
    rows = raised(calm, healthy_of(calm), 4, 1.9)
    mixed = rows.sample(frac=1, random_state=1)
    fit = fit_fleet(rows)
    columns = ["from_h", "to_h", "before_ratio", "after_ratio", "deviations"]
    pd.testing.assert_frame_equal(past_steps(fit.numbers, rows)[columns], past_steps(fit.numbers, mixed)[columns])


def test_too_few_readings_jump_never():
    rows = fleet(readings=3)
    assert found_in(raised(rows, 0, 1, 3.0)).empty


def test_a_gauge_known_to_read_high_makes_no_jump():
    calm = fleet()
    series = healthy_of(calm)
    rows = raised(calm, series, 5, 1.9)
    high = (rows.series == series) & (rows.groupby("series").cumcount() >= 5)
    rows = rows.assign(instrument=np.where(high, "b", "a"))
    gauges = pd.DataFrame({"offset": [0.0, np.log(1.9)]}, index=["cuberoot a", "cuberoot b"])
    fit = fit_fleet(rows.drop(columns="instrument"))
    assert series in past_steps(fit.numbers, rows).index
    assert series not in past_steps(fit.numbers, rows, gauges).index

"""Sums of demand by week against the bands they come from."""

import numpy as np
import pytest

from calcs.demand import demand_by_week, to_order

MONDAYS = np.datetime64("2026-05-04") + 7 * np.arange(6)


def days(*offsets):
    return np.datetime64("2026-05-04") + np.array(offsets)


def test_sums_match_the_bands():
    demand = demand_by_week(["VG 46", "VG 46", "F-12"], [45, 20, 1], days(-20, 3, 8), days(-9, 6, 20), days(2, 7, 60), MONDAYS)
    assert demand.loc["VG 46", "low"].tolist() == [45, 65, 65, 65, 65, 65]
    assert demand.loc["VG 46", "likely"].tolist() == [65] * 6
    assert demand.loc["VG 46", "high"].tolist() == [65] * 6
    assert demand.loc["F-12", "low"].tolist() == [0] * 6
    assert demand.loc["F-12", "likely"].tolist() == [0, 0, 1, 1, 1, 1]
    assert demand.loc["F-12", "high"].tolist() == [0, 1, 1, 1, 1, 1]


def test_sunday_belongs_to_its_week_and_monday_to_the_next():
    demand = demand_by_week(["A", "A"], [1, 1], days(6, 7), days(6, 7), days(6, 7), MONDAYS)
    assert demand.loc["A", "likely_week"].tolist() == [1, 1, 0, 0, 0, 0]


def test_low_is_never_over_likely_nor_likely_over_high():
    rng = np.random.default_rng(2)
    low = rng.integers(-20, 40, 200)
    likely = low + rng.integers(0, 20, 200)
    high = likely + rng.integers(0, 20, 200)
    every = rng.choice([np.nan, 9.0, 30.0], 200)
    demand = demand_by_week(rng.choice(["A", "B"], 200), rng.uniform(1, 9, 200), days(*low), days(*likely), days(*high), MONDAYS, every)
    assert (demand.low <= demand.likely + 1e-9).all() and (demand.likely <= demand.high + 1e-9).all()
    assert demand.groupby("item").likely_week.sum().tolist() == pytest.approx(demand.likely.groupby("item").last().tolist())


def test_a_task_that_comes_again_counts_again():
    demand = demand_by_week(["A"], [2], days(0), days(0), days(0), MONDAYS, [14])
    assert demand.loc["A", "likely"].tolist() == [2, 2, 4, 4, 6, 6]


def test_a_missing_day_is_never_wanted():
    never = np.array(["NaT"], "datetime64[D]")
    assert demand_by_week(["A"], [2], days(0), days(0), never, MONDAYS).loc["A", "low"].tolist() == [0] * 6


def test_stock_is_taken_off_once():
    demand = demand_by_week(["A", "B"], [5, 1], days(0, 0), days(0, 0), days(10, 0), MONDAYS[:2])
    assert to_order(demand, {"A": 2})["likely"].tolist() == [3, 3, 1, 1]
    assert to_order(demand, {"A": 2})["low"].tolist() == [0, 3, 1, 1]

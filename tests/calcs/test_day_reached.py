"""The day an hour figure is reached: worked case, limit cases, round trips."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from calcs.day_reached import date_reached, day_reached, hours_between
from calcs.usage import UsageTable

COMMON_YEAR = np.array([31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31])
CASE_MONTHS = [[20, 20, 20, 20, 12 * 31 / 17, 30, 95, 160, 40, 20, 20, 13]]


def test_a_flat_rate_says_september_where_the_months_say_early_august():
    assert day_reached([480 * COMMON_YEAR / 365], ["2026-05-14"], [3700 - 3533.1])[0] == np.datetime64("2026-09-18")
    assert day_reached(CASE_MONTHS, ["2026-05-14"], [3700 - 3533.1])[0] == np.datetime64("2026-08-06")


def test_the_months_of_the_case_hold_the_hours_it_names():
    ends = ["2026-05-31", "2026-06-30", "2026-07-31", "2026-08-31"]
    starts = ["2026-05-14", "2026-05-31", "2026-06-30", "2026-07-31"]
    hours = [hours_between(CASE_MONTHS, [a], [b])[0] for a, b in zip(starts, ends, strict=True)]
    assert hours == pytest.approx([12, 30, 95, 160])


def test_hours_reached_at_midnight_belong_to_the_day_that_ends():
    assert day_reached([[31.0] * 12], ["2026-06-30"], [10])[0] == np.datetime64("2026-07-10")


def test_a_leap_february_spreads_the_same_hours_over_one_day_more():
    months = [[0, 29, *[0] * 10]]
    assert hours_between(months, ["2028-01-31"], ["2028-02-29"])[0] == pytest.approx(29)
    assert hours_between(months, ["2028-01-31"], ["2028-02-10"])[0] == pytest.approx(10)


def test_months_without_work_are_stepped_over():
    only_august = [[0, 0, 0, 0, 0, 0, 0, 100, 0, 0, 0, 0]]
    assert day_reached(only_august, ["2026-08-31"], [1])[0] == np.datetime64("2027-08-01")
    assert day_reached(only_august, ["2026-08-31"], [100])[0] == np.datetime64("2027-08-31")
    assert day_reached(only_august, ["2026-08-31"], [250])[0] == np.datetime64("2029-08-16")


def test_a_machine_that_never_runs_never_gets_there():
    assert np.isnat(day_reached([[0.0] * 12], ["2026-05-14"], [5])[0])


def test_nothing_to_run_is_reached_at_the_reading():
    assert day_reached([[10.0] * 12], ["2026-05-14"], [0])[0] == np.datetime64("2026-05-14")


def test_hours_already_run_were_reached_in_the_past_by_the_same_months():
    assert day_reached([[31.0] * 12], ["2026-07-20"], [-5])[0] == np.datetime64("2026-07-15")
    assert day_reached([[0.0] * 12], ["2026-07-20"], [-5])[0] == np.datetime64("2026-07-20")


@given(
    st.lists(st.floats(0, 300), min_size=12, max_size=12).filter(lambda months: sum(months) > 20),
    st.integers(0, 3000),
    st.floats(0.1, 900),
)
def test_the_day_reached_is_the_first_day_with_enough_hours(months, offset, need_h):
    start = np.datetime64("2020-01-01") + offset
    day = day_reached([months], [start], [need_h])[0]
    if np.isnat(day):
        assert need_h > 20 * sum(months)
        return
    assert hours_between([months], [start], [day])[0] >= need_h - 1e-5
    assert hours_between([months], [start], [day - 1])[0] <= need_h + 1e-5


@given(st.integers(0, 4000), st.integers(0, 800), st.integers(0, 800))
def test_hours_add_up_over_days(first, then, later):
    days = np.datetime64("2020-01-01") + np.cumsum([first, then, later])
    whole = hours_between(CASE_MONTHS, [days[0]], [days[2]])[0]
    assert hours_between(CASE_MONTHS, [days[0]], [days[1]])[0] + hours_between(CASE_MONTHS, [days[1]], [days[2]])[0] == pytest.approx(whole)


def test_one_year_holds_the_hours_of_twelve_months():
    assert hours_between(CASE_MONTHS, ["2027-03-09"], ["2028-03-09"])[0] == pytest.approx(np.sum(CASE_MONTHS), rel=0.005)


def test_low_comes_before_likely_and_likely_before_high():
    rng = np.random.default_rng(3)
    table = UsageTable(rng.uniform(0, 90, (50, 12)), rng.uniform(0.05, 0.6, 50), np.zeros(50, int), np.zeros(50))
    band = date_reached(table, np.arange(50), np.datetime64("2026-02-11"), 0, rng.uniform(1, 500, 50))
    assert (band.low <= band.likely).all() and (band.likely <= band.high).all()


def test_a_fleet_at_once_is_the_same_as_one_by_one():
    rng = np.random.default_rng(4)
    table = UsageTable(rng.uniform(0, 90, (20, 12)), rng.uniform(0.05, 0.6, 20), np.zeros(20, int), np.zeros(20))
    target = rng.uniform(1, 900, 20)
    whole = date_reached(table, np.arange(20), np.datetime64("2026-02-11"), 0, target)
    alone = [date_reached(table, [i], np.datetime64("2026-02-11"), 0, target[i]).high[0] for i in range(20)]
    assert whole.high.tolist() == [day.item() for day in alone]

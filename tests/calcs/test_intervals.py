"""Next due hours and days: worked cases, boundaries, laws that hold for any rule, and a slow reading of the rules to compare with."""

from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from calcs.calendar_sums import add_months, as_date
from calcs.intervals import due_days, due_hours, steps_due
from calcs.rules import RESETS, Rule, rule_columns


def due_h(rule, done_h=np.nan, anchor_h=0.0, **more):
    return float(due_hours(rule_columns([rule]), anchor_h, done_h, **more).due_h[0])


def due_day(rule, anchor, done=None, due_then=None):
    missing = np.datetime64("NaT", "D")
    return as_date(due_days(rule_columns([rule]), anchor, done or missing, due_then or missing))


FILTER = Rule("Filter", "filter", every_h=500)


@pytest.mark.parametrize(
    ("reset", "done_h", "expected"),
    [
        ("completion", 2420, 2920), ("grid", 2420, 3000), ("window", 2420, 2920),
        ("completion", 2610, 3110), ("grid", 2610, 3000), ("window", 2610, 3110),
        ("window", 2450, 3000), ("window", 2449, 2949), ("window", 2550, 3000), ("window", 2551, 3051),
        ("grid", 2500, 3000), ("item_date", 2420, 500),
    ],
)  # fmt: skip
def test_the_four_policies_move_the_next_due_as_they_say(reset, done_h, expected):
    assert due_h(replace(FILTER, reset=reset), done_h, due_then_h=2500) == expected


def test_the_window_follows_a_grid_that_was_moved_before():
    assert due_h(replace(FILTER, reset="window"), 2900, due_then_h=2920) == 3420


def test_three_steps_are_read_both_ways():
    steps = Rule("Filter", steps_h=(20, 100), every_h=250)
    assert steps_due(steps, 850) == [20, 100, 350, 600, 850]
    assert steps_due(replace(steps, counted="meter"), 850) == [20, 100, 250, 500, 750]


def test_first_fifty_then_five_hundred_is_read_both_ways():
    steps = Rule("Filter", steps_h=(50,), every_h=500)
    assert steps_due(steps, 1100) == [50, 550, 1050]
    assert steps_due(replace(steps, counted="meter"), 1100) == [50, 500, 1000]


def test_a_late_first_step_does_not_move_the_second():
    assert due_h(Rule("Filter", steps_h=(20, 100), every_h=250), 34) == 100


def test_a_step_alone_is_due_once():
    assert due_h(Rule("Torque check", steps_h=(50,))) == 50
    assert np.isnan(due_h(Rule("Torque check", steps_h=(50,)), 51))


def test_an_exchanged_unit_breaks_in_again_from_its_own_anchor():
    assert due_h(Rule("Filter", steps_h=(50,), every_h=500), anchor_h=3120.4) == pytest.approx(3170.4)
    assert due_h(Rule("Filter", steps_h=(50,), every_h=500), done_h=3000, anchor_h=3120.4) == pytest.approx(3170.4)


def test_a_unit_with_hours_of_its_own_counts_them():
    fitted_at_h, had_h = 1000.0, 654.5
    assert due_h(Rule("Reseal", every_h=2000, anchor="unit install"), anchor_h=fitted_at_h - had_h) == pytest.approx(2345.5)


def test_severity_shortens_the_regular_interval_but_no_step():
    rule = Rule("Filter", "filter", steps_h=(50,), every_h=500)
    assert due_h(rule, factor=0.6) == 50
    assert due_h(rule, done_h=50, factor=0.6) == 350


def test_an_extension_lengthens_fluid_but_neither_hose_nor_brake_nor_safety():
    assert due_h(Rule("Fluid", "fluid", every_h=1000), 0, factor=1.25) == 1250
    assert due_h(Rule("Hose", "hose", every_h=1000), 0, factor=1.25) == 1000
    assert due_h(Rule("Brake", "brake", every_h=1000), 0, factor=1.25) == 1000
    assert due_h(Rule("Guard", every_h=1000, safety=True), 0, factor=1.25) == 1000


def test_another_fluid_in_the_tank_shortens_for_good():
    fluid = Rule("Fluid", "fluid", every_h=2000, every_mixed_h=800)
    assert due_h(fluid, 1000) == 3000
    assert due_h(fluid, 1000, other_fluid_ever=True) == 1800


HOSE = Rule("Hose", "hose", every_months=72, reset="item_date", anchor="hose manufacture")


def test_a_hose_ages_from_its_manufacture_whatever_was_done():
    assert due_day(HOSE, date(2020, 9, 1)) == date(2026, 9, 1)
    assert due_day(HOSE, date(2020, 9, 1), date(2025, 4, 2)) == date(2026, 9, 1)


@pytest.mark.parametrize(
    ("reset", "done", "expected"),
    [
        ("completion", date(2026, 2, 20), date(2027, 2, 20)),
        ("grid", date(2026, 2, 20), date(2027, 3, 15)),
        ("window", date(2026, 2, 27), date(2027, 2, 27)),  # 16 days early
        ("window", date(2026, 2, 28), date(2027, 3, 15)),  # 15 days early
        ("window", date(2026, 3, 30), date(2027, 3, 15)),  # 15 days late
        ("window", date(2026, 3, 31), date(2027, 3, 31)),  # 16 days late
    ],
)
def test_policies_by_the_calendar(reset, done, expected):
    assert due_day(Rule("Sample", "sample", every_months=12, reset=reset), date(2020, 3, 15), done) == expected


@pytest.mark.parametrize(
    ("done", "months", "expected"),
    [
        (date(2026, 1, 31), 1, date(2026, 2, 28)), (date(2028, 1, 31), 1, date(2028, 2, 29)),
        (date(2024, 2, 29), 12, date(2025, 2, 28)), (date(2024, 2, 29), 48, date(2028, 2, 29)),
        (date(2026, 8, 31), 6, date(2027, 2, 28)), (date(2026, 12, 31), 2, date(2027, 2, 28)),
    ],
)  # fmt: skip
def test_month_ends_and_leap_days(done, months, expected):
    assert due_day(Rule("Sample", "sample", every_months=months), date(2020, 1, 1), done) == expected


def test_a_grid_from_the_thirty_first_comes_back_to_it():
    rule = Rule("Sample", "sample", every_months=1, reset="grid")
    assert due_day(rule, date(2026, 1, 31), date(2026, 2, 28)) == date(2026, 3, 31)


def test_a_season_start_is_due_itself_and_then_every_year():
    rule = Rule("Test before season", every_months=12, anchor="season start", reset="grid")
    assert due_day(rule, date(2026, 7, 10)) == date(2026, 7, 10)
    assert due_day(rule, date(2026, 7, 10), date(2026, 12, 1)) == date(2027, 7, 10)
    assert due_day(rule, date(2026, 7, 10), date(2027, 5, 1)) == date(2028, 7, 10)  # just before the season: it counts for that one


RULES = st.builds(
    Rule,
    task=st.just("Task"),
    kind=st.sampled_from(["fluid", "hose", "inspection"]),
    steps_h=st.sampled_from([(), (50,), (20, 100), (10, 60, 200)]),
    every_h=st.sampled_from([100, 250, 333, 500, 1000]),
    every_months=st.sampled_from([None, 1, 6, 12, 24]),
    counted=st.sampled_from(["meter", "after_last"]),
    reset=st.sampled_from(RESETS),
)
HOURS = st.integers(0, 6000).map(float)
FACTOR = st.sampled_from([1.0, 0.75, 0.6, 0.4, 1.25])


@given(RULES, HOURS, st.none() | HOURS, FACTOR)
def test_nothing_is_due_before_its_anchor(rule, anchor_h, done_h, factor):
    assert due_h(rule, np.nan if done_h is None else done_h, anchor_h, factor=factor) >= anchor_h


@given(RULES, HOURS, HOURS, HOURS, FACTOR)
def test_done_earlier_is_never_due_later(rule, anchor_h, one_h, other_h, factor):
    early_h, late_h = sorted([one_h, other_h])
    assert due_h(rule, early_h, anchor_h, factor=factor) <= due_h(rule, late_h, anchor_h, factor=factor) + 1e-6


@given(RULES, HOURS, HOURS, st.integers(0, 5000), FACTOR)
def test_shifting_anchor_and_work_shifts_the_due(rule, anchor_h, run_h, shift_h, factor):
    here = due_h(rule, anchor_h + run_h, anchor_h, factor=factor)
    there = due_h(rule, anchor_h + run_h + shift_h, anchor_h + shift_h, factor=factor)
    assert there == pytest.approx(here + shift_h)


@given(RULES, HOURS, FACTOR)
def test_harder_duty_is_never_due_later_after_work_done(rule, done_h, factor):
    rule = replace(rule, reset="completion", counted="after_last")
    assert due_h(rule, done_h, factor=0.5 * min(factor, 1)) <= due_h(rule, done_h, factor=min(factor, 1))


DAYS = st.dates(date(2015, 1, 1), date(2030, 12, 31))


@given(RULES, DAYS, DAYS, DAYS)
def test_the_calendar_never_goes_back_either(rule, anchor, one, other):
    rule = replace(rule, every_months=rule.every_months or 12)
    first, second = due_day(rule, anchor, min(one, other)), due_day(rule, anchor, max(one, other))
    assert anchor <= first <= second


def slow_due_h(rule, done_h, anchor_h, factor):
    """Walk a rule step by step, as a person would with a pencil."""
    factor = min(factor, 1.0) if rule.kind == "hose" else factor
    every = rule.every_h * factor
    last = rule.steps_h[-1] if rule.steps_h else 0.0
    run = None if done_h is None or done_h < anchor_h or rule.reset == "item_date" else done_h - anchor_h
    previous = 0.0
    for step in rule.steps_h:
        if run is None or run < step - 0.25 * (step - previous):
            return anchor_h + step
        previous = step
    points = [last + every * k for k in range(1, 400)] if rule.counted == "after_last" else [every * k for k in range(1, 400)]
    points = [point for point in points if point > last + 1e-9]
    if run is None:
        return anchor_h + points[0]
    if rule.counted == "meter" and rule.steps_h and run < points[0] - 0.25 * (points[0] - last):
        return anchor_h + points[0]
    if rule.reset == "grid":
        return anchor_h + next(point for point in points if point - 0.25 * every > run + 1e-9)
    near = [point for point in points if abs(point - run) <= 0.1 * every + 1e-9]
    return anchor_h + (near[0] if near and rule.reset == "window" else run) + every


@given(RULES, HOURS, st.none() | HOURS, FACTOR)
def test_the_quick_way_agrees_with_the_slow_way(rule, anchor_h, done_h, factor):
    quick = due_h(rule, np.nan if done_h is None else done_h, anchor_h, factor=factor)
    assert quick == pytest.approx(slow_due_h(rule, done_h, anchor_h, factor))


def slow_due_day(rule, anchor, done):
    if done is not None and done < anchor:
        done = None
    if done is None or rule.reset == "item_date":
        return add_months(anchor, rule.every_months)
    if rule.reset == "completion":
        return add_months(done, rule.every_months)
    grid = [add_months(anchor, rule.every_months * k) for k in range(1, 260)]
    if rule.reset == "grid":
        closes = timedelta(days=int(0.25 * 30.436875 * rule.every_months))
        return next(day for day in grid if day > done + closes)
    near = [day for day in grid if abs((day - done).days) <= 15]
    return add_months(near[0] if near else done, rule.every_months)


@given(RULES, DAYS, st.none() | DAYS)
def test_the_quick_calendar_agrees_with_the_slow_one(rule, anchor, done):
    rule = replace(rule, every_months=rule.every_months or 3)
    assert due_day(rule, anchor, done) == slow_due_day(rule, anchor, done)


@given(st.lists(st.tuples(RULES, HOURS, HOURS, FACTOR), min_size=1, max_size=30))
def test_many_rules_at_once_are_the_same_as_one_by_one(cases):
    rules, anchors, dones, factors = zip(*cases, strict=True)
    whole = due_hours(rule_columns(rules), np.array(anchors), np.array(dones), np.array(factors)).due_h
    assert whole.tolist() == pytest.approx([due_h(rule, done, anchor, factor=factor) for rule, anchor, done, factor in cases])

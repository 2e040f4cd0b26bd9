"""The due table: seven states at their exact borders, whichever comes first, seasons, deferrals, one by one and all at once."""

from datetime import date, timedelta

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from calcs.due import BLOCKED, DEFERRED, DUE, DUE_SOON, NOT_DUE, OVER_LATE_LIMIT, OVERDUE, STATES, due_table
from calcs.rules import RESETS, Rule, rule_columns
from calcs.season import Block, block_table
from calcs.usage import UsageTable

TODAY = date(2026, 5, 14)
HARVEST = Block("Harvest", date(2026, 7, 10), date(2026, 8, 20))
CASE_MONTHS = [20, 20, 20, 20, 12 * 31 / 17, 30, 95, 160, 40, 20, 20, 13]
FILTER = Rule("Filter", "filter", every_h=500)
YEARLY = Rule("Inspection", every_months=12)


def usage(months=CASE_MONTHS, machines=1, spread=0.2):
    month_h = np.tile(np.array(months, float), (machines, 1))
    return UsageTable(month_h, np.full(machines, spread), np.zeros(machines, int), np.zeros(machines))


def due(rule, today=TODAY, blocks=None, months=CASE_MONTHS, **row):
    table = due_table(rule_columns([rule]), {n: [v] for n, v in row.items()}, usage(months), today, blocks and block_table([blocks]))
    return table.iloc[0]


@pytest.mark.parametrize(
    ("reading_h", "state"),
    [
        (924.9, NOT_DUE), (925, DUE_SOON), (999.9, DUE_SOON), (1000, DUE), (1010, DUE),
        (1010.1, OVERDUE), (1050, OVERDUE), (1050.1, OVER_LATE_LIMIT),
    ],
)  # fmt: skip
def test_states_by_hours_change_exactly_at_their_borders(reading_h, state):
    assert due(FILTER, done_h=500, reading_h=reading_h, reading_day=TODAY).state == state


@pytest.mark.parametrize(
    ("days_past", "state"),
    [(-31, NOT_DUE), (-30, DUE_SOON), (-1, DUE_SOON), (0, DUE), (7, DUE), (8, OVERDUE), (30, OVERDUE), (31, OVER_LATE_LIMIT)],
)
def test_states_by_calendar_change_exactly_at_their_borders(days_past, state):
    today = date(2026, 3, 1) + timedelta(days=days_past)
    assert due(YEARLY, today, done_day=date(2025, 3, 1), anchor_day=date(2020, 1, 1)).state == state


def test_a_short_calendar_interval_has_a_short_window():
    monthly = Rule("Check", every_months=1)
    assert due(monthly, date(2026, 5, 9), done_day=date(2026, 4, 14), anchor_day=date(2020, 1, 1)).state == NOT_DUE
    assert due(monthly, date(2026, 5, 10), done_day=date(2026, 4, 14), anchor_day=date(2020, 1, 1)).state == DUE_SOON


def test_there_are_seven_states():
    assert len(STATES) == len(set(STATES)) == 7


def test_hours_run_since_the_last_reading_count():
    row = due(FILTER, date(2026, 7, 31), done_h=500, reading_h=900, reading_day=date(2026, 6, 30))
    assert row.now_h == pytest.approx(995)
    assert row.reading_age_days == 31 and row.state == DUE_SOON


def test_the_case_of_the_charge_filter_falls_on_the_sixth_of_august():
    row = due(FILTER, done_h=3200, reading_h=3533.1, reading_day=TODAY)
    assert row.due_h == 3700 and row.likely == pd.Timestamp(2026, 8, 6) and row.by_hours


def test_the_calendar_wins_where_it_comes_first_and_loses_where_it_does_not():
    both = Rule("Filter", "filter", every_h=500, every_months=12)
    sooner = due(both, done_h=3200, done_day=date(2025, 8, 1), anchor_day=date(2020, 1, 1), reading_h=3533.1, reading_day=TODAY)
    assert not sooner.by_hours and sooner.due_day == pd.Timestamp(2026, 8, 1) and sooner.likely == pd.Timestamp(2026, 8, 6)
    later = due(both, done_h=3200, done_day=date(2025, 8, 10), anchor_day=date(2020, 1, 1), reading_h=3533.1, reading_day=TODAY)
    assert later.by_hours and later.due_day == pd.Timestamp(2026, 8, 6) and later.calendar_day == pd.Timestamp(2026, 8, 10)


def test_without_a_reading_only_the_calendar_speaks():
    row = due(Rule("Filter", "filter", every_h=500, every_months=12), done_day=date(2025, 8, 1), anchor_day=date(2020, 1, 1))
    assert np.isnan(row.reading_age_days) and pd.isna(row.likely) and row.due_day == pd.Timestamp(2026, 8, 1)


def test_hours_passed_between_readings_were_due_in_between():
    row = due(FILTER, date(2026, 7, 31), done_h=500, done_day=date(2026, 1, 5), reading_h=1020, reading_day=date(2026, 7, 31))
    assert row.due_day == pd.Timestamp(2026, 7, 25)  # 20 h before the end of a month of 95 h


def test_nothing_is_due_before_the_day_it_was_last_done():
    row = due(FILTER, done_h=1000, done_day=date(2026, 5, 10), reading_h=1600, reading_day=TODAY)
    assert row.due_day == pd.Timestamp(2026, 5, 10)


def test_a_machine_that_stands_still_is_due_by_calendar():
    row = due(Rule("Filter", "filter", every_h=500, every_months=24), months=[0] * 12, done_h=0, done_day=date(2025, 8, 1),
              anchor_day=date(2020, 1, 1), reading_h=10, reading_day=TODAY)  # fmt: skip
    assert pd.isna(row.likely) and row.due_day == pd.Timestamp(2027, 8, 1) and not row.by_hours


def test_a_replaced_meter_does_not_make_the_filter_young():
    assert due(FILTER, done_h=3000, reading_h=3120.4 + 412.7, reading_day=TODAY).state == OVERDUE


def test_a_finding_calls_the_task_at_once_until_it_is_done():
    called = due(FILTER, done_h=3500, done_day=date(2026, 5, 1), reading_h=3533.1, reading_day=TODAY, found_h=3530, found_day=TODAY)
    assert called.due_h == 3530 and called.due_day <= pd.Timestamp(TODAY) and called.state == DUE
    done = due(FILTER, done_h=3530, done_day=TODAY, reading_h=3533.1, reading_day=TODAY, found_h=3530, found_day=TODAY)
    assert done.due_h == 4030 and done.state == NOT_DUE


LATE = {"done_h": 3000, "reading_h": 3533.1, "reading_day": TODAY}


def test_a_deferral_holds_to_its_day_and_its_hours_and_then_is_overdue():
    assert due(FILTER, **LATE, deferred_h=3600, deferred_day=TODAY).state == DEFERRED
    assert due(FILTER, **LATE, deferred_h=3533.1, deferred_day=date(2026, 6, 1)).state == DEFERRED
    assert due(FILTER, **LATE, deferred_h=3600, deferred_day=TODAY - timedelta(days=1)).state == OVERDUE
    assert due(FILTER, **LATE, deferred_h=3533.0, deferred_day=date(2026, 6, 1)).state == OVERDUE


def test_a_deferral_run_out_is_overdue_even_on_the_day_it_is_due():
    exact = {"done_h": 3033.1, "reading_h": 3533.1, "reading_day": TODAY}
    assert due(FILTER, **exact).state == DUE
    assert due(FILTER, **exact, deferred_day=TODAY - timedelta(days=1)).state == OVERDUE


def test_what_is_not_due_is_not_deferred():
    assert due(FILTER, done_h=3500, reading_h=3533.1, reading_day=TODAY, deferred_day=date(2026, 6, 1)).state == NOT_DUE


IN_SEASON = date(2026, 7, 20)


@pytest.mark.parametrize(
    ("rule", "reading_h", "state"),
    [
        (FILTER, 950, BLOCKED), (FILTER, 1005, BLOCKED), (FILTER, 1020, OVERDUE), (FILTER, 1100, OVER_LATE_LIMIT), (FILTER, 600, NOT_DUE),
        (Rule("Look", every_h=500), 1020, BLOCKED), (Rule("Guard", every_h=500, safety=True), 1005, DUE),
        (Rule("Oil", "fluid", steps_h=(1000,), every_h=500), 990, DUE_SOON),
    ],
)  # fmt: skip
def test_in_the_block_only_safety_break_in_and_overdue_fluid_or_filter_go_on(rule, reading_h, state):
    assert due(rule, IN_SEASON, [HARVEST], done_h=500, reading_h=reading_h, reading_day=IN_SEASON).state == state


def test_a_task_that_falls_into_harvest_is_done_before_it():
    row = due(FILTER, blocks=[HARVEST], done_h=3200, reading_h=3533.1, reading_day=TODAY)
    assert row.move == 1 and row.slot_day == pd.Timestamp(2026, 7, 9)
    assert row.wasted_share == pytest.approx((3700 - (3533.1 + 12 + 30 + 95 * 9 / 31)) / 500)


def test_where_too_much_life_is_lost_it_goes_after_or_to_a_person():
    short = Rule("Sample", "sample", every_h=200)
    row = due(short, blocks=[HARVEST], done_h=3500, reading_h=3533.1, reading_day=TODAY)
    assert row.wasted_share > 0.4 and row.move == 3
    roomy = due(Rule("Sample", "sample", every_h=200, late_share=0.5), blocks=[HARVEST], done_h=3500, reading_h=3533.1, reading_day=TODAY)
    assert roomy.move == 2 and roomy.slot_day == pd.Timestamp(2026, 8, 21)


def test_an_unknown_column_is_refused():
    with pytest.raises(ValueError, match="rows may hold"):
        due(FILTER, colour="blue")


def test_no_rows_give_an_empty_table():
    assert due_table(rule_columns([FILTER]), {"rule": []}, usage(), TODAY).empty


RULES = st.builds(
    Rule,
    task=st.just("Task"),
    kind=st.sampled_from(["fluid", "filter", "hose", "inspection"]),
    steps_h=st.sampled_from([(), (50,), (20, 100)]),
    every_h=st.sampled_from([None, 100, 250, 500]),
    every_months=st.sampled_from([1, 6, 12, 24]),
    reset=st.sampled_from(RESETS),
    safety=st.booleans(),
)
RANK = {NOT_DUE: 0, DUE_SOON: 1, DUE: 2, BLOCKED: 2, DEFERRED: 2, OVERDUE: 3, OVER_LATE_LIMIT: 4}
ROWS = st.fixed_dictionaries(
    {
        "anchor_day": st.dates(date(2020, 1, 1), date(2025, 1, 1)),
        "done_h": st.just(np.nan) | st.integers(0, 1500).map(float),
        "done_day": st.none() | st.dates(date(2023, 1, 1), TODAY),
        "factor": st.sampled_from([1.0, 0.6, 1.25]),
        "reading_h": st.integers(1000, 2500).map(float),
        "reading_day": st.dates(date(2025, 6, 1), TODAY),
        "deferred_h": st.just(np.nan) | st.integers(900, 2500).map(float),
        "deferred_day": st.none() | st.dates(date(2026, 1, 1), date(2026, 12, 1)),
    }
)


@given(RULES, ROWS, st.floats(0, 500), st.sampled_from([TODAY, IN_SEASON]))
def test_more_hours_never_move_a_state_back(rule, row, more_h, today):
    row["done_h"] = min(row["done_h"], row["reading_h"])
    here = due(rule, today, [HARVEST], **row)
    there = due(rule, today, [HARVEST], **row | {"reading_h": row["reading_h"] + more_h})
    assert RANK[there.state] >= RANK[here.state]
    assert here.due_day >= there.due_day


@given(st.lists(st.tuples(RULES, ROWS), min_size=1, max_size=25), st.sampled_from([TODAY, IN_SEASON]))
def test_a_fleet_at_once_is_the_same_as_one_by_one(cases, today):
    rules, rows = zip(*cases, strict=True)
    columns = {name: [row[name] for row in rows] for name in rows[0]} | {"rule": range(len(rules)), "machine": range(len(rules))}
    blocks = block_table([[HARVEST]] * len(rules))
    whole = due_table(rule_columns(rules), columns, usage(machines=len(rules)), today, blocks)
    alone = pd.DataFrame([due(rule, today, [HARVEST], **row) for rule, row in cases]).reset_index(drop=True)
    for name in ("due_h", "due_day", "low", "high", "state", "move", "slot_day", "wasted_share"):
        pd.testing.assert_series_equal(whole[name], alone[name], check_dtype=False)


@given(RULES, ROWS)
def test_the_day_of_a_task_is_the_earlier_of_its_two_limits(rule, row):
    found = due(rule, **row)
    assert found.due_day == min(day for day in (found.likely, found.calendar_day) if not pd.isna(day))
    assert found.due_low <= found.due_day <= found.due_high

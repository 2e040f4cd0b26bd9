"""Pulling kindred tasks together, with both sums shown."""

from datetime import date, timedelta

from calcs.kindred import NearTask, pull_together

TODAY = date(2026, 6, 10)


def pull(days=20, kindred="drain-down", interval=365, cost=400.0, saved=90.0, season_end=None):
    task = NearTask("Fluid", kindred, TODAY + timedelta(days=days), interval, cost)
    return pull_together(TODAY, "drain-down", [task], saved, season_end)[0]


def test_a_kindred_task_is_pulled_where_the_call_saved_is_worth_more():
    found = pull()
    assert found.pulled and found.wasted_cost == 400 * 20 / 365 and found.saved_cost == 90


def test_it_is_left_where_more_life_is_thrown_away():
    found = pull(cost=4000)
    assert not found.pulled and found.reason == "left: 219 thrown away against 90 saved"


def test_the_window_is_the_wider_of_thirty_days_and_fifteen_in_a_hundred():
    assert pull(days=30, interval=60, cost=1).pulled and not pull(days=31, interval=60, cost=1).pulled
    assert pull(days=54, cost=1).pulled and not pull(days=55, cost=1).pulled


def test_another_set_is_left():
    assert pull(kindred="gauge").reason == "left: it belongs to the gauge set"


def test_a_task_that_would_come_again_before_the_season_ends_is_left():
    assert not pull(interval=60, cost=1, season_end=TODAY + timedelta(days=60)).pulled
    assert pull(interval=61, cost=1, season_end=TODAY + timedelta(days=60)).pulled


def test_a_task_overdue_throws_nothing_away():
    found = pull(days=-5)
    assert found.pulled and found.wasted_cost == 0

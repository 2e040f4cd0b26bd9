"""Weeks chosen anew in windows: every limit holds, it never gets worse, and small tasks reach the best there is."""

from datetime import date, timedelta
from itertools import product

import numpy as np
import pytest

from calcs.jobs import Job
from calcs.place_plans import task_of
from calcs.plan_windows import NONE, better_weeks, cost_of_weeks, used_of_weeks, window_pairs
from calcs.shop_weeks import ShopWeeks, Technician

MONDAY = date(2026, 3, 2)


def made_up_task(seed, number, weeks, hours=9.0):
    rng = np.random.default_rng(seed)
    hands = (Technician("A", frozenset({"test"}), (hours,) * weeks), Technician("B", frozenset({"test", "reseal"}), (hours,) * weeks))
    jobs = [
        Job(f"job {i:02d}", f"place {rng.integers(max(number // 2, 1))}", str(rng.choice(["test", "reseal"])), float(rng.integers(1, 6)),
            MONDAY + timedelta(days=int(rng.integers(0, weeks * 7))), visit_h=1.0, overdue_h_per_day=float(rng.choice([0.1, 0.3, 0.8])), waste_h_per_day=0.03)
        for i in range(number)
    ]  # fmt: skip
    return task_of(jobs, ShopWeeks(tuple(MONDAY + timedelta(weeks=w) for w in range(weeks)), hands))


def fits(task, weeks):
    return (used_of_weeks(task, weeks) <= task.room + 1e-6).all()


@pytest.mark.parametrize("seed", range(4))
def test_a_small_task_reaches_the_best_of_all_plans(seed):
    task = made_up_task(seed, 6, 3)
    plans = (np.array(weeks) for weeks in product(range(-1, 3), repeat=6))
    best = min(cost_of_weeks(task, weeks) for weeks in plans if fits(task, weeks))
    found = better_weeks(task, np.full(6, NONE), 0.0)
    assert fits(task, found.weeks) and found.stopped == "nothing better found"
    assert best - 1e-6 <= found.cost_h <= best * 1.005 + 1e-6
    assert found.cost_h == pytest.approx(cost_of_weeks(task, found.weeks))


def test_every_limit_holds_in_a_long_plan_and_windows_that_run_at_once_do_not_meet():
    task = made_up_task(7, 48, 12)
    start = np.full(48, NONE)
    found = better_weeks(task, start, cost_of_weeks(task, start) / 4)
    assert fits(task, found.weeks) and found.stopped == "within the gap wanted"


def test_the_search_ends_as_soon_as_it_is_good_enough():
    task = made_up_task(7, 30, 12, hours=11.0)
    start = np.full(30, NONE)
    assert better_weeks(task, start, cost_of_weeks(task, start)).stopped == "within the gap wanted"
    late = better_weeks(task, start, 0.0, lambda: 0.0)
    assert late.stopped == "time" and late.cost_h <= cost_of_weeks(task, start)


def test_the_same_task_gives_the_same_weeks():
    task = made_up_task(3, 16, 6)
    once, again = (better_weeks(task, np.full(16, NONE), 0.0).weeks.tolist() for _ in range(2))
    assert once == again


@pytest.mark.parametrize("weeks", range(1, 14))
@pytest.mark.parametrize("width", [3, 4])
def test_windows_cover_every_week_and_never_overlap(weeks, width):
    pairs = window_pairs(weeks, width)
    assert {week for windows in pairs for window in windows for week in window} == set(range(weeks))
    for windows in pairs:
        in_step = [week for window in windows for week in window]
        assert len(in_step) == len(set(in_step)) and all(len(window) <= width for window in windows)
    assert any(range(at, min(at + width, weeks)) in windows for at in range(weeks) for windows in pairs)


def test_cost_and_use_agree_with_a_plain_sum():
    task = made_up_task(5, 12, 4)
    weeks = np.random.default_rng(0).integers(-1, 4, 12)
    cost, used, driven = 0.0, np.zeros_like(task.room), set()
    for job, week in enumerate(weeks):
        if week < 0:
            cost += task.unplaced_h[job]
            continue
        cost += task.cost_h[job, week]
        used[:, week] += task.needs[job]
        if (task.place[job], week) not in driven:
            driven.add((task.place[job], week))
            cost += task.visit_h[task.place[job]]
            used[:, week] += task.visit_needs[task.place[job]]
    assert cost_of_weeks(task, weeks) == pytest.approx(cost)
    assert used_of_weeks(task, weeks) == pytest.approx(used)

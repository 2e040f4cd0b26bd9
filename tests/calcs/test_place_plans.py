"""Plans of places under prices: the sets of weeks, the priced best against trying all, the bound."""

from dataclasses import replace
from datetime import date, timedelta
from itertools import product

import numpy as np
import pytest

from calcs.jobs import Job, week_costs
from calcs.place_plans import Pool, Pricing, price_weeks, task_of, week_sets, widen
from calcs.shop_weeks import Bay, ShopWeeks, Technician

WEEKS = 3
MONDAYS = tuple(date(2026, 5, 4) + timedelta(weeks=week) for week in range(WEEKS))
SHOP = ShopWeeks(MONDAYS, (Technician("Bo", frozenset({"test", "reseal"}), (500,) * WEEKS),), (Bay("1", 4.0),))


def made_up_jobs(seed, number=6):
    rng = np.random.default_rng(seed)
    days, farms = rng.integers(0, 21, number), rng.integers(0, 2, number)
    return [
        Job(f"job {i}", f"farm {farms[i]}", "test", float(i + 1), MONDAYS[0] + timedelta(days=int(days[i])), visit_h=2.0)
        for i in range(number)
    ]


@pytest.mark.parametrize("weeks", [1, 2, 4])
def test_sets_of_weeks_are_complete_up_to_twelve(weeks):
    assert sorted(week_sets(weeks)) == sorted(tuple(w for w in range(weeks) if number >> w & 1) for number in range(2**weeks))


@pytest.mark.parametrize("seed", range(3))
def test_the_priced_best_of_a_place_is_the_best_of_all_its_plans(seed):
    task = task_of(made_up_jobs(seed, 4), SHOP)
    prices = np.random.default_rng(seed).uniform(0, 0.5, task.room.shape)
    pool = Pool(task)
    for weeks in product(range(-1, WEEKS), repeat=4):
        pool.add(np.array(weeks))
    cost, take, place = pool.arrays()
    priced = cost + take @ prices.ravel()
    best = [priced[place == where].min() for where in range(task.places)]
    assert Pricing(task).place_values(prices).min(axis=1).tolist() == pytest.approx(best)


def test_without_drives_and_limits_the_bound_is_the_sum_of_the_cheapest_weeks():
    jobs = [replace(job, visit_h=0.0) for job in made_up_jobs(1)]
    task = task_of(jobs, SHOP)
    assert price_weeks(task, Pricing(task)).value == pytest.approx(week_costs(jobs, SHOP).min(axis=1).sum())


def test_widening_brings_every_plan_of_a_small_place():
    task = task_of([Job("A", "farm", "test", 2, MONDAYS[0])], SHOP)
    pricing = Pricing(task)
    bound = price_weeks(task, pricing)
    widen(bound, pricing)
    assert sorted(int(weeks[0]) for weeks in bound.pool.weeks) == [-1, 0, 1, 2]


def test_a_plan_met_twice_is_kept_once():
    pool = Pool(task_of(made_up_jobs(0), SHOP))
    assert pool.add(np.zeros(6, int)) == 2 and pool.add(np.zeros(6, int)) == 0

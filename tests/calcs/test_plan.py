"""The plan of weeks: against every possible plan of a small shop, pinned bookings, doors, seasons, visits, words."""

from dataclasses import replace
from datetime import date, timedelta
from itertools import product

import numpy as np
import pytest

from calcs.jobs import Job, needs, week_costs
from calcs.place_plans import UNPLACED_H, task_of
from calcs.plan import breaks, make_plan, plan_changes
from calcs.season import Block
from calcs.shop_weeks import Bay, ShopWeeks, Technician, limits_of

WEEKS = 3
MONDAYS = tuple(date(2026, 5, 4) + timedelta(weeks=week) for week in range(WEEKS))
BOTH = Technician("Bo", frozenset({"test", "reseal"}), (9,) * WEEKS)
SHOP = ShopWeeks(MONDAYS, (Technician("Ada", frozenset({"test"}), (8,) * WEEKS), BOTH), (Bay("1", 4.0),))


def made_up_jobs(seed, number=6):
    rng = np.random.default_rng(seed)
    return [
        Job(
            f"job {i}", f"farm {rng.integers(3)}", str(rng.choice(["test", "reseal"])), float(rng.integers(2, 7)),
            MONDAYS[0] + timedelta(days=int(rng.integers(0, 21))), visit_h=float(rng.integers(1, 3)),
            overdue_h_per_day=float(rng.choice([0.1, 0.5])), waste_h_per_day=0.05, bay_days=float(rng.integers(0, 3)), door_height_m=3.5,
        )
        for i in range(number)
    ]  # fmt: skip


def best_of_all(jobs, shop):
    """Try every plan there is."""
    limits, cost, need = limits_of(shop), week_costs(jobs, shop), needs(jobs, limits_of(shop))
    visit_h = {place: max(job.visit_h for job in jobs if job.place == place) for place in {job.place for job in jobs}}
    left_out = {job.name: float(task.unplaced_h[i]) for task in [task_of(jobs, shop)] for i, job in enumerate(task.jobs)}
    best = np.inf
    for weeks in product(range(-1, WEEKS), repeat=len(jobs)):
        used = np.zeros_like(limits.room)
        for i, week in enumerate(weeks):
            if week >= 0:
                used[:, week] += need[i]
        visits = {(job.place, job.skill, week) for job, week in zip(jobs, weeks, strict=True) if week >= 0}
        for place, skill, week in visits:
            for row, group in enumerate(limits.skill_groups):
                used[row, week] += visit_h[place] * (skill in group)
        if (used <= limits.room + 1e-6).all():
            total = sum(cost[i, week] if week >= 0 else left_out[jobs[i].name] for i, week in enumerate(weeks))
            best = min(best, total + sum(visit_h[place] for place, _, _ in visits))
    return best


@pytest.mark.parametrize("seed", range(5))
def test_the_plan_lies_between_its_bound_and_the_best_there_is(seed):
    jobs = made_up_jobs(seed)
    plan, best = make_plan(jobs, SHOP, gap_wanted=0.0, packing=1.0), best_of_all(jobs, SHOP)
    assert plan.bound_h <= best + 1e-6
    assert best - 1e-6 <= plan.cost_h <= best * 1.02 + 1e-6


@pytest.mark.parametrize("seed", range(3))
def test_every_limit_holds_and_every_job_is_told_of(seed):
    jobs = made_up_jobs(seed, 12)
    plan = make_plan(jobs, SHOP)
    assert (plan.used <= plan.room + 1e-6).all() and plan.overbooked == ()
    assert set(plan.week_of) | set(plan.unplaced) == {job.name for job in jobs}
    assert all(plan.unplaced.values()) and not set(plan.week_of) & set(plan.unplaced)


def test_the_same_jobs_in_another_order_give_the_same_plan():
    jobs = made_up_jobs(4, 12)
    assert make_plan(jobs, SHOP).week_of == make_plan(jobs[::-1], SHOP).week_of


def test_a_pinned_booking_stays_and_an_overbooked_week_is_named():
    jobs = [replace(job, pinned_week=1) for job in made_up_jobs(2)]
    plan = make_plan(jobs, SHOP)
    assert set(plan.week_of.values()) == {1} and not plan.unplaced
    assert any(words.startswith("week of 11 May: ") and words.endswith("too many") for words in plan.overbooked)


def test_a_job_that_fits_nowhere_is_named_with_the_reason():
    tall = Job("Tall", "farm", "test", 2, MONDAYS[0], bay_days=1, door_height_m=4.3)
    late_parts = Job("Late parts", "farm", "test", 2, MONDAYS[0], parts_on=date(2026, 9, 1))
    blocked = Job("Blocked", "farm", "test", 2, MONDAYS[0], blocks=(Block("Harvest", date(2026, 5, 1), date(2026, 7, 1)),))
    big = Job("Big", "farm", "reseal", 30, MONDAYS[0])
    plan = make_plan([tall, late_parts, blocked, big], SHOP)
    assert plan.unplaced == {
        "Tall": "needs a door of 4.3 m, the tallest is 4 m",
        "Late parts": "parts come on 1 Sep",
        "Blocked": "season block Harvest",
        "Big": "every week allowed is full: week of 4 May is short of 21.4 hours of reseal",
    }


def test_jobs_at_one_farm_share_a_visit_where_that_is_worth_it():
    near = Job("A", "farm", "test", 2, MONDAYS[0] + timedelta(days=4), visit_h=3)
    far = Job("B", "farm", "test", 2, MONDAYS[2] + timedelta(days=4))
    assert make_plan([near, far], SHOP).visits == {("farm", 0): 3}
    dear, urgent = replace(far, waste_h_per_day=2.0), replace(near, overdue_h_per_day=0.5)
    assert make_plan([urgent, dear], SHOP).visits == {("farm", 0): 3, ("farm", 2): 3}


def test_two_skills_of_different_hands_drive_twice():
    jobs = [Job(skill, "farm", skill, 2, MONDAYS[0] + timedelta(days=4), visit_h=1) for skill in ("test", "reseal")]
    assert make_plan(jobs, SHOP).visits == {("farm", 0): 2}
    assert make_plan(jobs, replace(SHOP, technicians=(BOTH,))).visits == {("farm", 0): 1}


def test_nothing_to_plan_is_a_plan():
    plan = make_plan([], SHOP)
    assert plan.week_of == {} and plan.gap == 0 and plan.stopped == "nothing to plan"


def test_two_jobs_of_one_name_are_refused():
    with pytest.raises(ValueError, match="jobs"):
        make_plan([Job("A", "farm", "test", 2, MONDAYS[0])] * 2, SHOP)


def test_a_move_says_what_it_breaks():
    a = Job("A", "farm 1", "test", 8, MONDAYS[0] + timedelta(days=4), late=MONDAYS[0] + timedelta(days=6), visit_h=1)
    b = Job("B", "farm 2", "reseal", 7, MONDAYS[1] + timedelta(days=4), visit_h=1, pinned_week=1)
    harvest = Block("Harvest", MONDAYS[2], MONDAYS[2] + timedelta(days=30))
    jobs = [a, b, Job("C", "farm 1", "test", 1, MONDAYS[0] + timedelta(days=4), blocks=(harvest,))]
    plan = make_plan(jobs, SHOP)
    assert breaks("A", 1, plan, jobs, SHOP) == ["7 days overdue, over the late limit", "one visit more, 1 h"]
    assert breaks("C", 2, plan, jobs, SHOP)[0] == "season block Harvest"
    assert "pinned to the week of 11 May" in breaks("B", 0, plan, jobs, SHOP)
    assert breaks("A", plan.week_of["A"], plan, jobs, SHOP) == []
    with pytest.raises(ValueError, match="name"):
        breaks("Z", 0, plan, jobs, SHOP)


def test_a_move_into_a_full_week_names_the_hours():
    jobs = [Job("A", "farm 1", "test", 15, MONDAYS[0] + timedelta(days=4)), Job("B", "farm 2", "test", 15, MONDAYS[1] + timedelta(days=4))]
    plan = make_plan(jobs, SHOP)
    assert plan.week_of == {"A": 0, "B": 1}
    assert breaks("B", 0, plan, jobs, SHOP)[0] == "week of 4 May: 13 hours of test too many"


def test_what_changed_is_told_job_by_job():
    jobs = made_up_jobs(3)
    plan = make_plan(jobs, SHOP)
    assert plan_changes(plan.week_of, plan, SHOP) == []
    name = min(plan.week_of)
    before = {n: w for n, w in plan.week_of.items() if n != name} | {"Gone": 0}
    assert plan_changes(before, plan, SHOP)[0] == "Gone: no longer planned"
    assert any(words.startswith(f"{name}: new in week of") for words in plan_changes(before, plan, SHOP))


def test_a_job_due_long_after_the_weeks_is_still_placed_if_there_is_room():
    plan = make_plan([Job("A", "farm", "test", 2, date(2026, 9, 1), visit_h=5)], SHOP)
    assert plan.week_of == {"A": 2} and plan.cost_h < UNPLACED_H + 5

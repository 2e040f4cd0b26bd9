"""Jobs into weeks: one plan for every place chosen so that the shop's limits hold and the whole costs least, with a bound beside it."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from calcs.calendar_sums import day_words
from calcs.jobs import Job, needs, why_not, why_unplaced
from calcs.place_plans import Bound, Pricing, Task, price_weeks, task_of, widen
from calcs.place_search import Plans, better_choice, greedy_choice
from calcs.plan_windows import ENDLESS, NONE, better_weeks, cost_of_weeks
from calcs.shop_weeks import ShopWeeks, limits_of
from calcs.thousands import grouped
from calcs.trips import drive_needs, trip_of_jobs, visit_hours

GAP_WANTED = 0.03
PACKING = 0.96  # share of a week's hours and bay days that is left once work is cut into days and hands; tried in tests/bench
ROUNDING = 1e-6


@dataclass(frozen=True)
class Plan:
    """Weeks of jobs, what could not be placed and why, and how good it is. Costs are hours of labour; `gap` is what is unproven of it."""

    week_of: dict[str, int]
    unplaced: dict[str, str]
    cost_h: float
    bound_h: float
    visits: dict[tuple[str, int], float]
    overbooked: tuple[str, ...]
    used: np.ndarray
    room: np.ndarray
    limit_names: tuple[str, ...]
    stopped: str

    @property
    def gap(self) -> float:
        return max(0.0, (self.cost_h - self.bound_h) / self.cost_h) if self.cost_h > ROUNDING else 0.0

    @property
    def travel_h(self) -> float:
        return sum(self.visits.values())


def make_plan(
    jobs: Sequence[Job],
    shop: ShopWeeks,
    seconds_left: Callable[[], float] = ENDLESS,
    gap_wanted: float = GAP_WANTED,
    packing: float = PACKING,
) -> Plan:
    """Return the week of every job: pinned ones stay, the others go where the whole costs least in delay, wasted life and visits.

    Law
    ---
    least sum of delay + waste + visits + jobs left out, within every week's hours by skill and bay days by door

    Parameters
    ----------
    jobs : sequence of Job
        Jobs with names that differ [-]
    shop : ShopWeeks
        Weeks, technicians, bays, reserve [-]
    seconds_left : callable
        Tells how long the choosing may still go on; if that ends it, another computer may find another plan, and `stopped` says so [s]
    gap_wanted : float
        The search ends when no plan can be better by more than this share [-]
    packing : float
        Share of every limit that is planned with, since days and hands leave scraps; pinned work may use the rest [-]

    Returns
    -------
    plan : Plan
        Weeks, jobs left out with reason, cost and bound [h]

    Examples
    --------
    Two jobs at one farm share one visit, though one of them is then done before it is due:

    >>> from datetime import date
    >>> from calcs.shop_weeks import Technician
    >>> hands = (Technician("A", frozenset({"test"}), (40, 40)),)
    >>> shop = ShopWeeks((date(2026, 1, 5), date(2026, 1, 12)), hands)
    >>> jobs = [Job("Filter", "Hill Farm", "test", 2, date(2026, 1, 9), visit_h=2), Job("Test", "Hill Farm", "test", 3, date(2026, 1, 16))]
    >>> make_plan(jobs, shop).week_of
    {'Filter': 0, 'Test': 0}

    Source
    ------
    Bound after G. B. Dantzig, P. Wolfe, Operations Research 8 (1960); choice by chance and by the HiGHS solver in SciPy.
    """
    if not jobs:
        return _told(None, shop, {}, 0.0, 0.0, "nothing to plan")
    task = task_of(jobs, shop, packing)
    pricing = Pricing(task)
    bound = price_weeks(task, pricing)
    widen(bound, pricing)
    search = better_weeks(task, _start(task, bound), bound.value / (1 - gap_wanted), seconds_left)
    week_of = {job.name: int(week) for job, week in zip(task.jobs, search.weeks, strict=True)}
    return _told(task, shop, week_of, search.cost_h, bound.value, search.stopped)


def _start(task: Task, bound: Bound) -> np.ndarray:
    """Return the week of each job in a choice of one plan for every place, by greed and then by chance."""
    cost, take, place = bound.pool.arrays()
    dear = cost + take @ bound.prices.ravel() - bound.place_best[place]
    plans = Plans(cost, take, place, dear, task.room.ravel())
    return np.concatenate([bound.pool.weeks[k] for k in better_choice(plans, greedy_choice(plans))]).astype(int)


def _told(task: Task | None, shop: ShopWeeks, week_of: Mapping[str, int], cost_h: float, bound_h: float, stopped: str) -> Plan:
    """Return the plan with everything that is to be said of it."""
    limits, jobs = limits_of(shop), task.jobs if task else ()
    placed = {job.name: week_of[job.name] for job in jobs if week_of[job.name] >= 0}
    used, visits = _load(jobs, shop, placed)
    room_left, planned_left = limits.room - used, (task.room if task else limits.room) - used
    unplaced = {
        job.name: why_unplaced(job, shop, limits, planned_left, _drive(task, week_of, task.place[number]))
        for number, job in enumerate(jobs)
        if job.name not in placed
    }
    over = [
        f"week of {day_words(shop.mondays[week])}: {grouped(used[row, week] - limits.room[row, week])} {limits.names[row]} too many"
        for row, week in np.argwhere(room_left < -1e-3)
    ]
    return Plan(placed, unplaced, float(cost_h), float(bound_h), visits, tuple(over), used, limits.room, limits.names, stopped)


def _drive(task: Task, week_of: Mapping[str, int], place: int) -> np.ndarray:
    """Return what the drive for one more job takes of each limit, rows x weeks: nothing where its trip is made anyway."""
    made = {week_of[job.name] for job, where in zip(task.jobs, task.place, strict=True) if where == place}
    return np.outer(task.visit_needs[place], [week not in made for week in range(task.room.shape[1])])


def _load(jobs: Sequence[Job], shop: ShopWeeks, week_of: Mapping[str, int]) -> tuple[np.ndarray, dict[tuple[str, int], float]]:
    """Return what is used of each limit, rows x weeks, and the visits with their hours."""
    limits = limits_of(shop)
    used, visits, way_h, trips, driven = np.zeros_like(limits.room), {}, visit_hours(jobs), trip_of_jobs(jobs, shop), set()
    for job, need in zip(jobs, needs(jobs, limits), strict=True) if jobs else ():
        if job.name in week_of:
            used[:, week_of[job.name]] += need
            driven.add((trips[job.name], week_of[job.name]))
    for (place, skill), week in sorted(driven):
        used[:, week] += drive_needs([skill], [way_h[place]], limits)[0]
        visits[place, week] = visits.get((place, week), 0.0) + way_h[place]
    return used, visits


def cost_of_plan(jobs: Sequence[Job], shop: ShopWeeks, week_of: Mapping[str, int]) -> float:
    """Return what given weeks cost: delay, wasted life, a drive for each trip and week, and jobs that have none.

    Parameters
    ----------
    jobs : sequence of Job
        The jobs [-]
    shop : ShopWeeks
        The weeks [-]
    week_of : mapping
        Week by name of the job; a job may have none [-]

    Returns
    -------
    cost_h : float
        Hours of labour [h]

    Examples
    --------
    >>> from datetime import date
    >>> from calcs.shop_weeks import Technician
    >>> shop = ShopWeeks((date(2026, 1, 5), date(2026, 1, 12)), (Technician("A", frozenset({"test"}), (40, 40)),))
    >>> job = Job("Filter", "Hill Farm", "test", 2, date(2026, 1, 9), visit_h=1.5)
    >>> round(cost_of_plan([job], shop, {"Filter": 0}), 2), round(cost_of_plan([job], shop, {"Filter": 1}), 2)
    (1.5, 2.2)

    Source
    ------
    Common practice, no source.
    """
    if not jobs:
        return 0.0
    task = task_of(jobs, shop)
    return cost_of_weeks(task, np.array([week_of.get(job.name, NONE) for job in task.jobs]))


def plan_changes(before: Mapping[str, int], after: Plan, shop: ShopWeeks) -> list[str]:
    """Return what a new plan moves, brings and drops against the last one, in words.

    Parameters
    ----------
    before : mapping
        Week of each job in the last plan, counted in the same weeks [-]
    after : Plan
        The new plan [-]
    shop : ShopWeeks
        The weeks [-]

    Returns
    -------
    changes : list of str
        Sorted by name of the job [-]

    Examples
    --------
    >>> from datetime import date
    >>> shop = ShopWeeks((date(2026, 1, 5), date(2026, 1, 12)), ())
    >>> after = replace(make_plan([], shop), week_of={"Filter": 1, "Test": 0})
    >>> plan_changes({"Filter": 0, "Hose": 1}, after, shop)
    ['Filter: from week of 5 Jan to week of 12 Jan', 'Hose: no longer planned', 'Test: new in week of 5 Jan']

    Source
    ------
    Our own wording.
    """
    words, said = [], {week: f"week of {day_words(monday)}" for week, monday in enumerate(shop.mondays)}
    for name in sorted(set(before) | set(after.week_of)):
        old, new = said.get(before.get(name)), said.get(after.week_of.get(name))
        if old is None:
            words.append(f"{name}: new in {new}")
        elif new is None:
            words.append(f"{name}: no longer planned" + (f", {after.unplaced[name]}" if name in after.unplaced else ""))
        elif old != new:
            words.append(f"{name}: from {old} to {new}")
    return words


def breaks(name: str, week: int, plan: Plan, jobs: Sequence[Job], shop: ShopWeeks) -> list[str]:
    """Return what moving one job to another week breaks, and what it costs, in words; empty where nothing.

    Parameters
    ----------
    name : str
        The job [-]
    week : int
        Week it is moved to [-]
    plan : Plan
        The plan as it stands [-]
    jobs : sequence of Job
        All jobs of the plan [-]
    shop : ShopWeeks
        The weeks [-]

    Returns
    -------
    broken : list of str
        Limits overrun, rules broken, days overdue, visits more or fewer [-]

    Examples
    --------
    >>> from datetime import date
    >>> from calcs.shop_weeks import Technician
    >>> shop = ShopWeeks((date(2026, 1, 5), date(2026, 1, 12)), (Technician("A", frozenset({"test"}), (40, 1)),))
    >>> jobs = [Job("Filter", "Hill Farm", "test", 2, date(2026, 1, 9), visit_h=1.5)]
    >>> breaks("Filter", 1, make_plan(jobs, shop), jobs, shop)
    ['7 days overdue', 'week of 12 Jan: 2.5 hours of test too many']

    Source
    ------
    Our own wording.
    """
    job = next((job for job in jobs if job.name == name), None)
    if job is None:
        raise ValueError(f"name must be one of the jobs, got {name!r}")
    loose = replace(job, pinned_week=None)
    words = why_not(loose, shop, week)
    if job.pinned_week is not None and job.pinned_week != week:
        words.append(f"pinned to the week of {day_words(shop.mondays[job.pinned_week])}")
    friday = shop.fridays[week]
    if friday > job.due:
        words.append(f"{(friday - job.due).days} days overdue" + (", over the late limit" if job.late and friday > job.late else ""))
    moved = dict(plan.week_of) | {name: week}
    used, visits = _load(jobs, shop, moved)
    words += _newly_over(plan, used, shop, week)
    more_h = sum(visits.values()) - plan.travel_h
    return words + ([f"one visit more, {grouped(more_h)} h"] if more_h > ROUNDING and name in plan.week_of else [])


def _newly_over(plan: Plan, used: np.ndarray, shop: ShopWeeks, week: int) -> list[str]:
    over = used[:, week] - plan.room[:, week]
    grown = (over > 1e-3) & (used[:, week] > plan.used[:, week] + ROUNDING)
    return [
        f"week of {day_words(shop.mondays[week])}: {grouped(over[row])} {plan.limit_names[row]} too many" for row in np.flatnonzero(grown)
    ]

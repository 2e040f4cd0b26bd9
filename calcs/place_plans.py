"""Plans of single places under a price on every scarce week, from which the plan of the shop is put together.

The shop's limits are the only thing that ties places together. Once each hour of each week has a price, every place can be planned by
itself and exactly; the prices that make the sum of such plans dearest give a bound that no plan of the shop can beat.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations, product

import numpy as np
from scipy.optimize import linprog
from scipy.sparse import csr_matrix

from calcs.jobs import Job, needs, week_costs
from calcs.shop_weeks import Limits, ShopWeeks, limits_of
from calcs.trips import drive_needs, trip_of_jobs, visit_hours

UNPLACED_H = 12.0
UNPLACED_DAYS = 14.0
MOST_SETS = 4096
MOST_TOLD = 300
MOST_ROUNDS = 80
CLOSE_ENOUGH = 0.002
KEEP_OLD_PRICES = 0.7
MOST_MOVED = 12


@dataclass(frozen=True)
class Task:
    """The planning task as arrays; jobs are in order of their place."""

    jobs: tuple[Job, ...]
    limits: Limits
    cost_h: np.ndarray  # jobs x weeks
    unplaced_h: np.ndarray
    needs: np.ndarray  # jobs x rows
    place: np.ndarray
    first: np.ndarray  # first job of each place
    visit_h: np.ndarray
    visit_needs: np.ndarray  # places x rows: the drive takes the hours of those who do the work
    room: np.ndarray  # rows x weeks

    @property
    def places(self) -> int:
        return len(self.first)


class Pool:
    """Plans of places gathered so far: their cost, what they take of each limit, whose they are and the week of each job."""

    def __init__(self, task: Task):
        self.task, self.seen = task, {}
        self.cost, self.take, self.place, self.weeks = [], [], [], []

    def add(self, week_of_job: np.ndarray) -> int:
        """Take in the plan of every place that is not there yet; return how many were new."""
        before = len(self.cost)
        ends = np.append(self.task.first[1:], len(week_of_job))
        for place, (start, end) in enumerate(zip(self.task.first, ends, strict=True)):
            self.add_place(place, range(start, end), week_of_job[start:end])
        return len(self.cost) - before

    def add_place(self, place: int, jobs: range, weeks: np.ndarray) -> None:
        """Take in the plan of one place if it is not there yet."""
        key = (place, weeks.tobytes())
        if key in self.seen:
            return
        task, take = self.task, np.zeros_like(self.task.room)
        self.seen[key] = len(self.cost)
        visited = sorted(set(weeks.tolist()) - {-1})
        take[:, visited] += task.visit_needs[place][:, None]
        placed = [(job, week) for job, week in zip(jobs, weeks, strict=True) if week >= 0]
        for job, week in placed:
            take[:, week] += task.needs[job]
        left = sum(task.unplaced_h[job] for job, week in zip(jobs, weeks, strict=True) if week < 0)
        self.cost.append(sum(task.cost_h[job, week] for job, week in placed) + left + task.visit_h[place] * len(visited))
        self.take.append(take.ravel())
        self.place.append(place)
        self.weeks.append(weeks.copy())

    def arrays(self) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """Return cost, take (plans x limits) and place of all plans."""
        return np.array(self.cost), np.array(self.take), np.array(self.place)


def task_of(jobs: Sequence[Job], shop: ShopWeeks, packing: float = 1.0) -> Task:
    """Return the planning task as arrays; what is called a place in it is a trip to a place: jobs that one pair of hands can do.

    Parameters
    ----------
    jobs : sequence of Job
        At least one job; names must differ; they are sorted, so that the same jobs always give the same task [-]
    shop : ShopWeeks
        The weeks [-]
    packing : float
        Share of every limit that is planned with [-]

    Returns
    -------
    task : Task
        Costs, needs and room [h, days]

    Examples
    --------
    >>> from datetime import date
    >>> from calcs.shop_weeks import Technician
    >>> shop = ShopWeeks((date(2026, 1, 5),), (Technician("A", frozenset({"test"}), (40,)),))
    >>> task_of([Job("Filter", "Hill Farm", "test", 2, due=date(2026, 1, 9))], shop).room.tolist()
    [[40.0]]

    Source
    ------
    Our own arrangement.
    """
    trips = trip_of_jobs(jobs, shop)
    ordered = tuple(sorted(jobs, key=lambda job: (trips[job.name], job.name)))
    if len({job.name for job in ordered}) < len(ordered):
        raise ValueError(f"jobs must have names that differ, got {len(ordered)} jobs with {len({job.name for job in ordered})} names")
    limits = limits_of(shop)
    numbers = {trip: number for number, trip in enumerate(sorted(set(trips.values())))}
    place = np.array([numbers[trips[job.name]] for job in ordered])
    first = np.searchsorted(place, np.arange(len(numbers)))
    way_h = visit_hours(jobs)
    visit_h = np.array([way_h[ordered[start].place] for start in first])
    visit_needs = drive_needs([ordered[start].skill for start in first], visit_h, limits)
    cost_h, need = week_costs(ordered, shop), needs(ordered, limits)
    last = np.array(shop.fridays[-1], "datetime64[D]")
    past = np.maximum((last - np.array([job.due for job in ordered], "datetime64[D]")).astype(float), 0) + UNPLACED_DAYS
    unplaced = UNPLACED_H + visit_h[place] + past * 3 * np.array([job.overdue_h_per_day for job in ordered])
    pinned = np.array([job.pinned_week is not None for job in ordered])
    unplaced = np.where(pinned, 1e5, unplaced)
    room = _room_with_pins(limits.room * packing, ordered, need, place, visit_needs)
    return Task(ordered, limits, cost_h, unplaced, need, place, first, visit_h, visit_needs, room)


def _spans(first: np.ndarray, length: int) -> list[tuple[int, int]]:
    return list(zip(first, np.append(first[1:], length), strict=True))


def _room_with_pins(room: np.ndarray, jobs, need, place, visit_needs) -> np.ndarray:
    """Return the room of each week; where pinned bookings alone overfill it, as much as they take."""
    taken = np.zeros_like(room)
    for job, _ in enumerate(jobs):
        if jobs[job].pinned_week is not None:
            taken[:, jobs[job].pinned_week] += need[job]
    pinned_visits = {(place[i], job.pinned_week) for i, job in enumerate(jobs) if job.pinned_week is not None}
    for where, week in pinned_visits:
        taken[:, week] += visit_needs[where]
    return np.maximum(room, taken)


def week_sets(weeks: int) -> list[tuple[int, ...]]:
    """Return the sets of weeks in which a place may be visited, small ones first: all of them up to twelve weeks.

    Parameters
    ----------
    weeks : int
        Length of the plan; over twelve weeks only so many visits a place as keep the sets below 4,096 [weeks]

    Returns
    -------
    sets : list of tuple
        Numbers of the weeks [-]

    Examples
    --------
    >>> week_sets(2)
    [(), (0,), (1,), (0, 1)]
    >>> len(week_sets(12)), max(len(weeks) for weeks in week_sets(26))
    (4096, 3)

    Source
    ------
    Plain enumeration.
    """
    sets, size = [()], 0
    while size < weeks:
        size += 1
        more = list(combinations(range(weeks), size))
        if len(sets) + len(more) > MOST_SETS:
            break
        sets += more
    return sets


class Pricing:
    """Best plans of every place by itself under given prices."""

    def __init__(self, task: Task):
        self.task = task
        sets = week_sets(task.room.shape[1])
        number = {weeks: i for i, weeks in enumerate(sets)}
        self.member = np.array([[week in weeks for week in range(task.room.shape[1])] for weeks in map(set, sets)])
        self.parent = np.array([number[weeks[:-1]] if weeks else 0 for weeks in sets])
        self.last = np.array([weeks[-1] if weeks else 0 for weeks in sets])
        size = np.array([len(weeks) for weeks in sets])
        self.by_size = [np.flatnonzero(size == n) for n in range(1, size.max() + 1)]

    def job_costs(self, prices: np.ndarray) -> np.ndarray:
        return self.task.cost_h + self.task.needs @ prices

    def place_values(self, prices: np.ndarray) -> np.ndarray:
        """Return the priced cost of every place for every set of weeks: each job takes its cheapest week of the set, or none."""
        cost = self.job_costs(prices)
        best = np.empty((len(cost), len(self.parent)))
        best[:, 0] = self.task.unplaced_h
        for sets in self.by_size:
            best[:, sets] = np.minimum(best[:, self.parent[sets]], cost[:, self.last[sets]])
        drive = self.task.visit_h[:, None] + self.task.visit_needs @ prices
        return np.add.reduceat(best, self.task.first, axis=0) + drive @ self.member.T

    def weeks_for(self, prices: np.ndarray, chosen: np.ndarray, rank: int = 0) -> np.ndarray:
        """Return the week of each job if every place is visited in its chosen set: the cheapest, or the one next to it by `rank`."""
        cost = np.where(self.member[chosen[self.task.place]], self.job_costs(prices), np.inf)
        week = np.argsort(cost, axis=1, kind="stable")[:, min(rank, cost.shape[1] - 1)]
        better = cost[np.arange(len(week)), week] < self.task.unplaced_h + (0 if rank == 0 else 2)
        return np.where(better, week, -1)


@dataclass(frozen=True)
class Bound:
    """The highest bound found, the prices that gave it, the pool met on the way and each place's priced best."""

    value: float
    prices: np.ndarray
    pool: Pool
    place_best: np.ndarray


def price_weeks(task: Task, pricing: Pricing) -> Bound:
    """Return prices of scarce weeks and the bound they prove, by plans of places brought in one round after another.

    Law
    ---
    bound = sum over places of the cheapest priced plan - sum over limits of price x room

    Parameters
    ----------
    task : Task
        The planning task [-]
    pricing : Pricing
        Best plans of places under prices [-]

    Returns
    -------
    bound : Bound
        Bound in hours of labour, prices, plans met [h]

    Examples
    --------
    >>> from datetime import date
    >>> from calcs.shop_weeks import Technician
    >>> shop = ShopWeeks((date(2026, 1, 5),), (Technician("A", frozenset({"test"}), (40,)),))
    >>> task = task_of([Job("Filter", "Hill Farm", "test", 2, due=date(2026, 1, 9), visit_h=1.5)], shop)
    >>> round(float(price_weeks(task, Pricing(task)).value), 6)
    1.5

    Source
    ------
    G. B. Dantzig, P. Wolfe, Decomposition Principle for Linear Programs, Operations Research 8 (1960); the bound is that of A. M.
    Geoffrion, Lagrangean Relaxation for Integer Programming (1974); damped prices are common practice.
    """
    pool, prices, best, place_best = Pool(task), np.zeros_like(task.room), -np.inf, None
    pool.add(np.array([-1 if job.pinned_week is None else job.pinned_week for job in task.jobs]))
    pool.add(pricing.weeks_for(prices, pricing.place_values(prices).argmin(axis=1)))
    for turn in range(MOST_ROUNDS):
        whole_h, asked = _master(task, pool)
        tried = asked if turn == 0 else KEEP_OLD_PRICES * prices + (1 - KEEP_OLD_PRICES) * asked
        values = pricing.place_values(tried)
        value = values.min(axis=1).sum() - (tried * task.room).sum()
        if value > best:
            best, prices, place_best = value, tried, values.min(axis=1)
        new = pool.add(pricing.weeks_for(tried, values.argmin(axis=1)))
        new += pool.add(pricing.weeks_for(asked, pricing.place_values(asked).argmin(axis=1))) if not new else 0
        if whole_h - best <= CLOSE_ENOUGH * abs(whole_h) or not new:
            break
    return Bound(best, prices, pool, place_best)


def _master(task: Task, pool: Pool) -> tuple[float, np.ndarray]:
    """Return the cheapest mixture of plans and what it says an hour of each week is worth."""
    cost, take, place = pool.arrays()
    one_each = csr_matrix((np.ones(len(place)), (place, np.arange(len(place)))))
    found = linprog(cost, csr_matrix(take.T), task.room.ravel(), one_each, np.ones(task.places), method="highs")
    return found.fun, np.maximum(-found.ineqlin.marginals, 0).reshape(task.room.shape)


def widen(bound: Bound, pricing: Pricing, sets_kept: int = 60, shaken: int = 25, seed: int = 0) -> None:
    """Add plans that lie close to the best of each place: other sets of weeks, shaken prices, one job moved, all where jobs are few.

    Parameters
    ----------
    bound : Bound
        Prices and the pool that is added to [-]
    pricing : Pricing
        Best plans of places under prices [-]
    sets_kept : int
        Sets of weeks taken for each place [-]
    shaken : int
        Rounds with shaken prices [-]
    seed : int
        Seed of the shaking [-]

    Returns
    -------
    nothing : None
        The pool itself grows [-]

    Examples
    --------
    >>> from datetime import date
    >>> from calcs.shop_weeks import Technician
    >>> shop = ShopWeeks((date(2026, 1, 5), date(2026, 1, 12)), (Technician("A", frozenset({"test"}), (40, 40)),))
    >>> task = task_of([Job("Filter", "Hill Farm", "test", 2, due=date(2026, 1, 9))], shop)
    >>> bound = price_weeks(task, Pricing(task))
    >>> before = len(bound.pool.cost)
    >>> widen(bound, Pricing(task))
    >>> len(bound.pool.cost) > before
    True

    Source
    ------
    Common practice in solving by columns, no source.
    """
    values, rng, pool = pricing.place_values(bound.prices), np.random.default_rng(seed), bound.pool
    order = np.argsort(values, axis=1, kind="stable")[:, :sets_kept]
    for chosen in order.T:
        pool.add(pricing.weeks_for(bound.prices, chosen))
    scale = max(float(bound.prices.max()), 0.05)
    for _ in range(shaken):
        prices = bound.prices * rng.uniform(0.7, 1.3, bound.prices.shape) + rng.uniform(0, 0.1 * scale, bound.prices.shape)
        pool.add(pricing.weeks_for(prices, pricing.place_values(prices).argmin(axis=1)))
    for chosen in order.T[:8]:
        _move_one_job(bound, pricing, chosen)
    _every_plan_of_small_places(pool)


def _every_plan_of_small_places(pool: Pool) -> None:
    """Add all plans of places with so few jobs that they can be told one by one."""
    task = pool.task
    for place, (start, end) in enumerate(_spans(task.first, len(task.jobs))):
        weeks = [[-1, *np.flatnonzero(np.isfinite(task.cost_h[job]))] for job in range(start, end)]
        if np.prod([float(len(choice)) for choice in weeks]) <= MOST_TOLD:
            for combination in product(*weeks):
                pool.add_place(place, range(start, end), np.array(combination, int))


def _move_one_job(bound: Bound, pricing: Pricing, chosen: np.ndarray) -> None:
    task = bound.pool.task
    first, second = (pricing.weeks_for(bound.prices, chosen, rank) for rank in (0, 1))
    number = np.arange(len(first)) - task.first[task.place]
    pinned = np.array([job.pinned_week is not None for job in task.jobs])
    for turn in range(min(int(number.max()) + 1, MOST_MOVED)):
        moved = (number == turn) & ~pinned
        bound.pool.add(np.where(moved & (second >= 0), second, first))
        bound.pool.add(np.where(moved, -1, first))

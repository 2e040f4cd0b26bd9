"""A better plan of weeks by choosing a few neighbouring weeks anew, all their jobs at once, while the other weeks stand still."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from functools import partial

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import coo_matrix

from calcs.place_plans import Task

WIDTHS = (3, 4)  # weeks chosen anew at once: wider where narrower finds nothing more; tried in tests/bench
WINDOW_GAP = 0.005  # how near to the best a window is solved
NODES = 1  # branches looked at in a window: a count and no clock, so that the same jobs give the same plan on a slow machine too
SLACK = 1e-6
NONE = -1
LONG_S = 1e6
ENDLESS = partial(float, "inf")  # seconds left where nobody waits
WITHIN, TIME, NOTHING_BETTER = "within the gap wanted", "time", "nothing better found"


@dataclass(frozen=True)
class Search:
    """The week of each job, -1 for none, in the task's order; the cost; and what ended the search."""

    weeks: np.ndarray
    cost_h: float
    stopped: str


def cost_of_weeks(task: Task, weeks: np.ndarray) -> float:
    """Return what a choice of weeks costs: delay and waste of each job, jobs left out, and a drive for each trip and week.

    Parameters
    ----------
    task : Task
        The planning task [-]
    weeks : array of int
        Week of each job, -1 for none [-]

    Returns
    -------
    cost_h : float
        Cost in hours of labour [h]

    Examples
    --------
    >>> from datetime import date
    >>> from calcs.jobs import Job
    >>> from calcs.place_plans import task_of
    >>> from calcs.shop_weeks import ShopWeeks, Technician
    >>> shop = ShopWeeks((date(2026, 1, 5),), (Technician("A", frozenset({"test"}), (40,)),))
    >>> task = task_of([Job("Filter", "Hill Farm", "test", 2, due=date(2026, 1, 9), visit_h=1.5)], shop)
    >>> cost_of_weeks(task, np.array([0]))
    1.5

    Source
    ------
    Common practice, no source.
    """
    placed = np.flatnonzero(weeks >= 0)
    jobs_h = task.cost_h[placed, weeks[placed]].sum() + task.unplaced_h[weeks < 0].sum()
    return float(jobs_h + (_driven(task, weeks) * task.visit_h[:, None]).sum())


def _driven(task: Task, weeks: np.ndarray) -> np.ndarray:
    """Return which trips are driven in which weeks, places x weeks."""
    driven = np.zeros((task.places, task.room.shape[1]), bool)
    placed = weeks >= 0
    driven[task.place[placed], weeks[placed]] = True
    return driven


def used_of_weeks(task: Task, weeks: np.ndarray) -> np.ndarray:
    """Return what a choice of weeks takes of each limit.

    Parameters
    ----------
    task : Task
        The planning task [-]
    weeks : array of int
        Week of each job, -1 for none [-]

    Returns
    -------
    used : array
        Rows x weeks, drives with them [h, days]

    Examples
    --------
    >>> from datetime import date
    >>> from calcs.jobs import Job
    >>> from calcs.place_plans import task_of
    >>> from calcs.shop_weeks import ShopWeeks, Technician
    >>> shop = ShopWeeks((date(2026, 1, 5), date(2026, 1, 12)), (Technician("A", frozenset({"test"}), (40, 40)),))
    >>> task = task_of([Job("Filter", "Hill Farm", "test", 2, due=date(2026, 1, 9), visit_h=1.5)], shop)
    >>> used_of_weeks(task, np.array([1])).tolist()
    [[0.0, 3.5]]

    Source
    ------
    Common practice, no source.
    """
    used = np.zeros((task.room.shape[1], task.room.shape[0]))
    placed = np.flatnonzero(weeks >= 0)
    np.add.at(used, weeks[placed], task.needs[placed])
    return used.T + task.visit_needs.T @ _driven(task, weeks)


def better_weeks(task: Task, start: np.ndarray, enough_h: float, seconds_left: Callable[[], float] = ENDLESS) -> Search:
    """Return a better choice of weeks than the one given: window after window of neighbouring weeks is chosen anew and kept if better.

    Law
    ---
    in each window: least delay + waste + visits + jobs left out, within what the weeks outside it leave of the limits

    Parameters
    ----------
    task : Task
        The planning task [-]
    start : array of int
        Week of each job, -1 for none; within every limit [-]
    enough_h : float
        Cost at which the search ends [h]
    seconds_left : callable
        Tells how long the search may still go on; where that ends it, another computer may find another plan [s]

    Returns
    -------
    search : Search
        Weeks, cost, and what ended the search [h]

    Examples
    --------
    >>> from datetime import date
    >>> from calcs.jobs import Job
    >>> from calcs.place_plans import task_of
    >>> from calcs.shop_weeks import ShopWeeks, Technician
    >>> shop = ShopWeeks((date(2026, 1, 5), date(2026, 1, 12)), (Technician("A", frozenset({"test"}), (10, 10)),))
    >>> jobs = [Job(name, name, "test", 8, due=date(2026, 1, 9), overdue_h_per_day=rate) for name, rate in (("A", 0.1), ("B", 0.2))]
    >>> better_weeks(task_of(jobs, shop), np.array([0, 1]), 0.0).weeks.tolist()
    [1, 0]

    Source
    ------
    P. Shaw, Using Constraint Programming and Local Search Methods to Solve Vehicle Routing Problems (1998), for parts chosen anew while the
    rest stands still (from memory); the parts are solved by the HiGHS solver in SciPy.
    """
    weeks, cost_h = start, cost_of_weeks(task, start)
    with ThreadPoolExecutor() as threads:
        for width in WIDTHS:
            gained = np.inf
            while gained > SLACK:
                before = cost_h
                for windows in window_pairs(task.room.shape[1], width):
                    weeks = _chosen_anew(task, weeks, windows, seconds_left, threads)
                    cost_h = cost_of_weeks(task, weeks)
                    if cost_h <= enough_h + SLACK:
                        return Search(weeks, cost_h, WITHIN)
                    if seconds_left() <= 0:
                        return Search(weeks, cost_h, TIME)
                gained = before - cost_h
    return Search(weeks, cost_h, NOTHING_BETTER)


def window_pairs(weeks: int, width: int) -> list[list[range]]:
    """Return windows that slide over the weeks, two at a time where two do not overlap.

    Parameters
    ----------
    weeks : int
        Length of the plan [weeks]
    width : int
        Weeks in a window [weeks]

    Returns
    -------
    windows : list of list of range
        One or two windows for each step; every week is in one of them [-]

    Examples
    --------
    >>> window_pairs(6, 3)[:2]
    [[range(0, 3), range(3, 6)], [range(1, 4), range(4, 6)]]

    Source
    ------
    Plain enumeration.
    """
    apart = max((weeks + 1) // 2, width)
    return [[range(at, min(at + width, weeks)) for at in (start, start + apart) if at < weeks] for start in range(apart) if start < weeks]


def _chosen_anew(task: Task, weeks: np.ndarray, windows: Sequence[range], seconds_left, threads: ThreadPoolExecutor) -> np.ndarray:
    """Return the weeks after each window was chosen anew; a job without a week is offered to all, and stays in the first that takes it."""
    waiting, new = weeks == NONE, weeks.copy()
    mine = [np.flatnonzero(np.isin(weeks, window) | waiting) for window in windows]
    chosen = threads.map(lambda jobs, window: _window(task, weeks, jobs, window, seconds_left()), mine, windows)
    for jobs, found in zip(mine, chosen, strict=True):
        ours = ~(waiting[jobs] & (new[jobs] != NONE))
        new[jobs[ours]] = found[ours]
    return new


def _window(task: Task, weeks: np.ndarray, jobs: np.ndarray, window: range, seconds: float) -> np.ndarray:
    """Return the weeks of the jobs of one window chosen anew, or as they are where nothing better was found in time."""
    if not len(jobs) or seconds <= 0:
        return weeks[jobs]
    tried = weeks.copy()
    tried[jobs] = NONE
    found = _Model(task, jobs, window).solve((task.room - used_of_weeks(task, tried))[:, window], seconds)
    if found is None:
        return weeks[jobs]
    tried[jobs] = found
    return found if cost_of_weeks(task, tried) < cost_of_weeks(task, weeks) - SLACK else weeks[jobs]


class _Model:
    """Jobs of a window: one column for each job and week, one for each job left out, one for each drive."""

    def __init__(self, task: Task, jobs: np.ndarray, window: Sequence[int]):
        self.task, self.jobs, self.window = task, jobs, np.array(window)
        self.job, self.week = np.nonzero(np.isfinite(task.cost_h[jobs][:, self.window]))
        self.places, where = np.unique(task.place[jobs], return_inverse=True)
        self.trip = where[self.job] * len(self.window) + self.week  # the drive that each job and week asks for
        self.drives, self.drive = np.unique(self.trip, return_inverse=True)

    def solve(self, free: np.ndarray, seconds: float) -> np.ndarray | None:
        """Return the week of each job, or None where the solver found no plan."""
        task, jobs = self.task, self.jobs
        drive_place, drive_week = self.places[self.drives // len(self.window)], self.drives % len(self.window)
        cost = np.concatenate([task.cost_h[jobs][self.job, self.window[self.week]], task.unplaced_h[jobs], task.visit_h[drive_place]])
        columns, first_drive = len(self.job), len(self.job) + len(jobs)
        one_week = _matrix([(self.job, range(columns), 1.0), (range(len(jobs)), range(columns, first_drive), 1.0)], len(jobs), len(cost))
        driven = _matrix([(range(columns), range(columns), 1.0), (range(columns), first_drive + self.drive, -1.0)], columns, len(cost))
        taken = []
        for row, (need, visit) in enumerate(zip(task.needs[jobs].T, task.visit_needs[drive_place].T, strict=True)):
            at = row * len(self.window)
            taken += [(at + self.week, range(columns), need[self.job]), (at + drive_week, range(first_drive, len(cost)), visit)]
        limits = _matrix(taken, free.size, len(cost))
        found = milp(
            cost,
            integrality=np.ones(len(cost)),
            bounds=Bounds(0, 1),
            constraints=[
                LinearConstraint(one_week, 1, 1),
                LinearConstraint(driven, -np.inf, 0),
                LinearConstraint(limits, -np.inf, free.ravel() + SLACK / 10),
            ],
            options={"time_limit": min(seconds, LONG_S), "mip_rel_gap": WINDOW_GAP, "node_limit": NODES},
        )
        if found.x is None:
            return None
        weeks = np.full(len(jobs), NONE)
        taken_up = found.x[:columns] > 0.5
        weeks[self.job[taken_up]] = self.window[self.week[taken_up]]
        return weeks


def _matrix(parts, rows: int, columns: int):
    """Return a sparse matrix from parts of row numbers, column numbers and values."""
    row, column, value = zip(*[np.broadcast_arrays(np.asarray(r), np.asarray(c), np.asarray(v, float)) for r, c, v in parts], strict=True)
    return coo_matrix((np.concatenate(value), (np.concatenate(row), np.concatenate(column))), shape=(rows, columns)).tocsr()

"""Tasks done together because the machine is open already: what is thrown away set against the call that is saved."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from calcs.calendar_sums import day_words
from calcs.thousands import grouped

WINDOW_SHARE, WINDOW_DAYS = 0.15, 30  # common practice, no source
KINDRED = {  # common practice, no source
    "drain-down": ("fluid", "filter", "suction screen", "hoses below oil level"),
    "gauge": ("charge test", "relief test", "case test", "vacuum test"),
    "wheels-up": ("creep", "speed", "hold"),
}


@dataclass(frozen=True)
class NearTask:
    """A task near its due day; `item_cost` is what is thrown away if it is done on the first day of its life."""

    name: str
    kindred: str
    due: date
    interval_days: float
    item_cost: float


@dataclass(frozen=True)
class Pull:
    """Whether a task is pulled to the day the machine is open, both sums, and why, in words."""

    task: str
    pulled: bool
    wasted_cost: float
    saved_cost: float
    reason: str


def pull_together(opened_on: date, kindred: str, near: Sequence[NearTask], saved_cost: float, season_end: date | None = None) -> list[Pull]:
    """Return for every near task whether to do it while the machine is open for a kindred one.

    Law
    ---
    wasted = item cost x days before due / interval; pull if wasted < cost of the call saved

    Parameters
    ----------
    opened_on : date
        Day the machine is open [date]
    kindred : str
        Set of the task it is open for, a key of KINDRED [-]
    near : sequence of NearTask
        Other tasks of the machine, costs in one currency [-]
    saved_cost : float
        Cost of one call, warm-up and drain less, in the same currency [-]
    season_end : date, optional
        A task pulled so far that it would come again by then is left [date]

    Returns
    -------
    pulls : list of Pull
        One for each near task, in order of due [-]

    Examples
    --------
    >>> task = NearTask("Fluid", "drain-down", date(2026, 7, 1), 365, 400.0)
    >>> pull_together(date(2026, 6, 10), "drain-down", [task], saved_cost=90.0)[0].reason
    'pulled from 1 Jul: 6 % of its life unused, 23 thrown away against 90 saved'

    Source
    ------
    Common practice, no source.
    """
    return [_one(opened_on, kindred, task, saved_cost, season_end) for task in sorted(near, key=lambda task: (task.due, task.name))]


def _one(opened_on: date, kindred: str, task: NearTask, saved_cost: float, season_end: date | None) -> Pull:
    early_days = (task.due - opened_on).days
    share = max(early_days, 0) / task.interval_days
    wasted = share * task.item_cost
    against = _against(opened_on, kindred, task, early_days, season_end)
    sums = f"{grouped(wasted, 0)} thrown away against {grouped(saved_cost, 0)} saved"
    if not against and wasted >= saved_cost > 0:
        against = f"left: {sums}"
    words = f"pulled from {day_words(task.due)}: {100 * share:.0f} % of its life unused, {sums}"
    return Pull(task.name, not against, wasted, saved_cost, against or words)


def _against(opened_on: date, kindred: str, task: NearTask, early_days: int, season_end: date | None) -> str:
    window = max(WINDOW_SHARE * task.interval_days, WINDOW_DAYS)
    if task.kindred != kindred:
        return f"left: it belongs to the {task.kindred} set"
    if early_days > window:
        return f"left: due {early_days} days later, the window is {window:.0f}"
    if season_end is not None and early_days > 0 and (season_end - opened_on).days >= task.interval_days:
        return f"left: done now it would come again before {day_words(season_end)}"
    return ""

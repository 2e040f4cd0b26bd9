"""The hours and the day a task next falls due by its rule. One rule or sixty thousand: the same sums on arrays.

Hours are life hours of the machine. For a unit that ran elsewhere before, the anchor is the life hours at fitting less the hours
the unit had then, so that its own age is counted.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from calcs.calendar_sums import DAYS_PER_MONTH, NO_DAY, add_months, next_on_grid
from calcs.rules import RESETS, Rule, RuleColumns, rule_columns
from calcs.severity import hours_by_fluid_past

CLOSES_SHARE = 0.25  # work within the last quarter before a point of the grid counts for that point: common practice, no source
WINDOW_SHARE, WINDOW_DAYS = 0.10, 15  # common practice, no source


@dataclass(frozen=True)
class DueHours:
    """Life hours at which each row falls due (NaN if never by hours), the length of the interval in force, and break-in or not."""

    due_h: np.ndarray
    interval_h: np.ndarray
    breakin: np.ndarray


def steps_due(rule: Rule, up_to_h: float) -> list[float]:
    """Return the hours after the anchor at which a rule falls due if each task is done on the hour.

    Parameters
    ----------
    rule : Rule
        The rule; `counted` says whether the regular interval counts from the last step or on the meter [-]
    up_to_h : float
        Last hours of interest [h]

    Returns
    -------
    hours : list of float
        Due hours in order [h]

    Examples
    --------
    >>> steps_due(Rule("Filter", steps_h=(20, 100), every_h=250), 600)
    [20.0, 100.0, 350.0, 600.0]
    >>> steps_due(Rule("Filter", steps_h=(20, 100), every_h=250, counted="meter"), 600)
    [20.0, 100.0, 250.0, 500.0]

    Source
    ------
    Smithco Operator's Manual 48000, p. 10: after 20, 100, then every 250 h; it can be read both ways, so both are held.
    """
    row = rule_columns([rule]).of(np.array([0]))
    hours, done_h = [], np.nan
    while True:
        due_h = float(due_hours(row, anchor_h=0.0, done_h=done_h).due_h[0])
        if not due_h <= up_to_h or due_h == done_h:
            return hours
        hours.append(due_h)
        done_h = due_h


def due_hours(row: RuleColumns, anchor_h, done_h, factor=1.0, other_fluid_ever=False, due_then_h=np.nan) -> DueHours:
    """Return the life hours at which tasks next fall due.

    Law
    ---
    completion: done + every; grid: next multiple from the anchor; item date: anchor + every;
    window: grid if done within 10 % of the interval, else done + every

    Parameters
    ----------
    row : RuleColumns
        Columns of the rule of each row [-]
    anchor_h : array
        Life hours the rule counts from [h]
    done_h : array
        Life hours when last done; NaN if never; below the anchor counts as never [h]
    factor : array
        Severity product times extensions in force; above one only where a rule may be extended [-]
    other_fluid_ever : array of bool
        Whether another fluid was ever in the tank [-]
    due_then_h : array
        What was due when it was last done, for the window; NaN takes the nearest point of the grid [h]

    Returns
    -------
    due : DueHours
        Due hours, interval in force, break-in or not [h]

    Examples
    --------
    Every 500 h, due 2,500, done at 2,420 and at 2,610, by completion, grid and window:

    >>> rules = [Rule("Filter", every_h=500, reset=reset) for reset in ("completion", "grid", "window")]
    >>> due_hours(rule_columns(rules), 0.0, 2420.0).due_h.tolist()
    [2920.0, 3000.0, 2920.0]
    >>> due_hours(rule_columns(rules), 0.0, 2610.0).due_h.tolist()
    [3110.0, 3000.0, 3110.0]

    Source
    ------
    Common practice, no source; worked case invented.
    """
    n = row.every_h.shape
    anchor_h, done_h, factor = (np.broadcast_to(np.asarray(value, float), n) for value in (anchor_h, done_h, factor))
    factor = np.where(row.extendable, factor, np.minimum(factor, 1.0))
    every_h = hours_by_fluid_past(row.every_h, row.every_mixed_h, other_fluid_ever) * factor
    run_h = np.where(done_h >= anchor_h, done_h - anchor_h, -np.inf)  # hours from anchor to last done; minus infinity: never
    run_h = np.where(row.reset == RESETS.index("item_date"), -np.inf, run_h)
    step_h, gap_h, last_h = _next_step(row.steps_h, run_h)
    first_h = np.where(row.on_meter, every_h * (np.floor(last_h / every_h) + 1), last_h + every_h)
    regular_h = _regular(row, run_h, every_h, last_h, first_h, np.asarray(due_then_h, float) - anchor_h)
    breakin = np.isfinite(step_h)
    return DueHours(anchor_h + np.where(breakin, step_h, regular_h), np.where(breakin, gap_h, every_h), breakin)


def _next_step(steps_h, run_h) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Return the first step still open (infinity if none), its distance from the one before, and the last step of all (0 if none)."""
    before = np.concatenate([np.zeros((len(steps_h), 1)), steps_h[:, :-1]], axis=1)
    real = np.isfinite(steps_h)
    gap = np.where(real, steps_h - np.where(np.isfinite(before), before, 0), 0)
    is_open = real & (run_h[:, None] < steps_h - CLOSES_SHARE * gap)
    which = is_open.argmax(axis=1)
    at = np.arange(len(steps_h))
    step_h = np.where(is_open.any(axis=1), steps_h[at, which], np.inf)
    return step_h, gap[at, which], np.where(real, steps_h, 0).max(axis=1)


def _regular(row: RuleColumns, run_h, every_h, last_h, first_h, due_then_h) -> np.ndarray:
    """Return the due point after the last step, hours counted from the anchor."""
    done = np.where(np.isfinite(run_h), run_h, 0.0)
    early = done < first_h - CLOSES_SHARE * (first_h - last_h)
    unmoved = ~np.isfinite(run_h) | (row.on_meter & (last_h > 0) & early)
    zero_h = np.where(row.on_meter, 0.0, last_h)
    completed = done + every_h
    grid = zero_h + every_h * (np.floor((done - zero_h) / every_h + CLOSES_SHARE + 1e-9) + 1)
    nearest = zero_h + every_h * np.maximum(np.round((done - zero_h) / every_h), 1)
    met = np.where(np.isnan(due_then_h), nearest, due_then_h)
    windowed = np.where(np.abs(done - met) <= WINDOW_SHARE * every_h + 1e-9, met + every_h, completed)
    moved = np.choose(row.reset, [completed, np.maximum(grid, first_h), first_h, windowed])
    return np.where(unmoved, first_h, moved)


def due_days(row: RuleColumns, anchor_day, done_day, due_then_day=NO_DAY) -> np.ndarray:
    """Return the days on which tasks next fall due by the calendar.

    Law
    ---
    completion: done + months; grid: next anchor + k x months; item date: anchor + months;
    window: grid if done within 15 days, else done + months

    Parameters
    ----------
    row : RuleColumns
        Columns of the rule of each row [-]
    anchor_day : array of datetime64[D]
        Day the rule counts from; a season start is itself the first due [date]
    done_day : array of datetime64[D]
        Day last done; missing if never; before the anchor counts as never [date]
    due_then_day : array of datetime64[D]
        What was due when it was last done, for the window; missing takes the grid [date]

    Returns
    -------
    day : array of datetime64[D]
        Due day; missing where the rule has no months or no anchor is known [date]

    Examples
    --------
    >>> hose = rule_columns([Rule("Hose", kind="hose", every_months=72, anchor="hose manufacture", reset="item_date")])
    >>> due_days(hose, ["2020-09-01"], ["2024-05-01"])
    array(['2026-09-01'], dtype='datetime64[D]')

    Source
    ------
    DIN 20066: hoses six years from manufacture, as quoted in makers' manuals; policies are common practice, no source.
    """
    n = row.every_months.shape
    anchor, done, met = (np.broadcast_to(np.asarray(day, "datetime64[D]"), n) for day in (anchor_day, done_day, due_then_day))
    months = row.every_months
    done = np.where(done < anchor, NO_DAY, done)
    first = np.where(row.from_season, anchor, add_months(anchor, months))
    completed = np.where(np.isnat(done), first, add_months(done, months))
    closes = np.where(np.isnan(months), 0, CLOSES_SHARE * DAYS_PER_MONTH * months).astype(int)
    first_k = np.where(row.from_season, 0, 1)
    gridded = np.where(np.isnat(done), first, _grid_where(row, ("grid",), anchor, months, done + closes, first_k))
    on_grid = _grid_where(row, ("window",), anchor, months, done - WINDOW_DAYS - 1, 1)
    met = np.where(np.isnat(met), on_grid, met)
    kept = np.abs((met - done).astype(float)) <= WINDOW_DAYS
    windowed = np.where(kept & ~np.isnat(met) & ~np.isnat(done), add_months(met, months), completed)
    return np.select([row.reset == place for place in range(4)], [completed, gridded, first, windowed], NO_DAY)


def _grid_where(row: RuleColumns, resets, anchor, months, after, first_k) -> np.ndarray:
    """Return the next day on the grid for rows of these policies; the costly sum is left out for all others."""
    wanted = np.isin(row.reset, [RESETS.index(reset) for reset in resets])
    day = np.full(len(wanted), NO_DAY)
    if wanted.any():
        first = np.broadcast_to(first_k, wanted.shape)[wanted]
        day[wanted] = next_on_grid(anchor[wanted], months[wanted], after[wanted], first)
    return day

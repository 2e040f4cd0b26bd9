"""The due list of a whole fleet, worked out on reading: what is due by hours or calendar, when, in which state, and when to do it.

Hours left and days left are never compared: hours are turned into a day first, by the machine's own months.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date

import numpy as np
import pandas as pd

from calcs.calendar_sums import DAYS_PER_MONTH, NO_DAY
from calcs.day_reached import DateBand, date_reached, hours_between
from calcs.intervals import due_days, due_hours
from calcs.rules import RuleColumns
from calcs.season import AS_DUE, BlockTable, block_met, choose_moves, inside
from calcs.usage import UsageTable

STATES = ("not due", "due soon", "due", "overdue", "over late limit", "deferred", "blocked by season")
NOT_DUE, DUE_SOON, DUE, OVERDUE, OVER_LATE_LIMIT, DEFERRED, BLOCKED = range(7)
CALENDAR_SHARES = {"early": 0.15, "grace": 0.02, "late": 0.10}  # most of a calendar interval; common practice, no source

# What a row may hold, and what stands for it where the column is missing.
ROW = {
    "rule": 0, "machine": 0, "anchor_h": 0.0, "anchor_day": NO_DAY, "done_h": np.nan, "done_day": NO_DAY, "due_then_h": np.nan,
    "due_then_day": NO_DAY, "factor": 1.0, "other_fluid_ever": False, "found_h": np.nan, "found_day": NO_DAY, "deferred_h": np.nan,
    "deferred_day": NO_DAY, "reading_h": np.nan, "reading_day": NO_DAY,
}  # fmt: skip


def due_table(columns: RuleColumns, rows, usage: UsageTable, today: date, blocks: BlockTable | None = None) -> pd.DataFrame:
    """Return what is due for every row of a fleet: one row is one task of one machine or unit under the rule that holds.

    Law
    ---
    due day = earlier of (day the due hours are reached) and (calendar day); state = the worse of hours against hours and days against days

    Parameters
    ----------
    columns : RuleColumns
        The rules as columns [-]
    rows : DataFrame or mapping of arrays
        Columns named in ROW: rule (row of the rules), machine (row of the usage table), anchor_h, anchor_day, done_h, done_day,
        due_then_h, due_then_day, factor (severity x extension), other_fluid_ever, found_h and found_day (a finding that calls the task
        at once), deferred_h and deferred_day (an open deferral), reading_h and reading_day (last life hours). A column left out is
        taken as not known [h, date]
    usage : UsageTable
        Hours by month of every machine [-]
    today : date
        Day of asking [date]
    blocks : BlockTable, optional
        Season blocks by machine [date]

    Returns
    -------
    table : DataFrame
        due_h, interval_h, breakin, calendar_day, low, likely, high (of the hours), due_day, due_low, due_high (earliest of both),
        by_hours, now_h, reading_age_days, left_days, state (index into STATES), move (index into MOVES), slot_day, wasted_share,
        block_start, block_end [h, date, days]

    Examples
    --------
    >>> from calcs.rules import Rule, rule_columns
    >>> columns = rule_columns([Rule("Charge filter", every_h=500)])
    >>> usage = UsageTable(np.full((1, 12), 40.0), np.array([0.2]), np.array([0]), np.array([700.0]))
    >>> rows = {"rule": [0], "done_h": [3000.0], "reading_h": [3480.0], "reading_day": ["2026-05-31"]}
    >>> table = due_table(columns, rows, usage, date(2026, 6, 10))
    >>> float(table.due_h[0]), str(table.due_day[0].date()), STATES[table.state[0]]
    (3500.0, '2026-06-15', 'due soon')

    Source
    ------
    Common practice, no source: makers write "hours or months, whichever comes first".
    """
    row = _filled(rows)
    if not len(row["rule"]):
        return pd.DataFrame(columns=list(_nothing()))
    rule = columns.of(row["rule"])
    now = np.datetime64(today, "D")
    out = _due_points(rule, row)
    out |= _due_dates(out, row, usage, now)
    out["state"] = _states(out, rule, row, now, blocks)
    out |= _slots(out, rule, row, usage, now, blocks)
    return pd.DataFrame({name: out[name] for name in _nothing()})


def _nothing() -> tuple[str, ...]:
    return (
        "due_h", "interval_h", "breakin", "calendar_day", "low", "likely", "high", "due_day", "due_low", "due_high", "by_hours", "now_h",
        "reading_age_days", "left_days", "state", "move", "slot_day", "wasted_share", "block_start", "block_end",
    )  # fmt: skip


def _filled(rows) -> dict[str, np.ndarray]:
    """Return every column of ROW as an array of its own kind, the missing ones filled."""
    given = {name: np.asarray(rows[name]) for name in (rows.columns if isinstance(rows, pd.DataFrame) else rows)}
    unknown = sorted(set(given) - set(ROW))
    if unknown:
        raise ValueError(f"rows may hold {sorted(ROW)}, got {unknown}")
    length = max((len(np.atleast_1d(value)) for value in given.values()), default=0)
    kinds = {name: "datetime64[D]" if name.endswith("day") else type(value) for name, value in ROW.items()}
    return {name: np.broadcast_to(np.asarray(given.get(name, ROW[name]), kinds[name]), length) for name in ROW}


def _due_points(rule: RuleColumns, row: Mapping) -> dict[str, np.ndarray]:
    """Return due hours and due calendar day; a finding since the task was last done calls it where it was found."""
    hours = due_hours(rule, row["anchor_h"], row["done_h"], row["factor"], row["other_fluid_ever"], row["due_then_h"])
    day = due_days(rule, row["anchor_day"], row["done_day"], row["due_then_day"])
    called = ~np.isnat(row["found_day"]) & ~(row["found_day"] <= row["done_day"])
    return {
        "due_h": np.fmin(hours.due_h, np.where(called, row["found_h"], np.nan)),
        "interval_h": hours.interval_h,
        "breakin": hours.breakin,
        "calendar_day": np.fmin(day, np.where(called, row["found_day"], NO_DAY)),
    }


def _due_dates(out: Mapping, row: Mapping, usage: UsageTable, now) -> dict[str, np.ndarray]:
    band = date_reached(usage, row["machine"], row["reading_day"], row["reading_h"], out["due_h"])
    floor = np.fmax(row["anchor_day"], np.where(out["due_h"] >= row["done_h"], row["done_day"], NO_DAY))
    band = DateBand(*(np.where(np.isnat(day), day, np.fmax(day, floor)) for day in (band.low, band.likely, band.high)))
    due_day = np.fmin(band.likely, out["calendar_day"])
    run_h = hours_between(usage.month_h[row["machine"]], row["reading_day"], np.broadcast_to(now, due_day.shape))
    return {
        "low": band.low,
        "likely": band.likely,
        "high": band.high,
        "due_day": due_day,
        "due_low": np.fmin(band.low, out["calendar_day"]),
        "due_high": np.fmin(band.high, out["calendar_day"]),
        "by_hours": band.likely == due_day,
        "now_h": row["reading_h"] + np.maximum(run_h, 0),
        "reading_age_days": np.where(np.isnat(row["reading_day"]), np.nan, (now - row["reading_day"]).astype(float)),
        "left_days": np.where(np.isnat(due_day), np.nan, (due_day - now).astype(float)),
    }


def _levels(out: Mapping, rule: RuleColumns, now) -> np.ndarray:
    """Return how far along each row is, 0 to 4: hours against hours, days against days, the worse of both."""
    past_h, length = out["now_h"] - out["due_h"], out["interval_h"]
    hour_marks = (
        past_h >= -rule.early_share * length,
        past_h >= -1e-6,
        past_h > rule.grace_share * length,
        past_h > rule.late_share * length,
    )
    past_days = now - out["calendar_day"]
    early, grace, late = (np.where(np.isnan(rule.every_months), 0, _whole_days(rule, part)) for part in ("early", "grace", "late"))
    days = np.where(np.isnat(past_days), -(10.0**6), past_days.astype(float))
    day_marks = (days >= -early, days >= 0, days > grace, days > late)
    return np.maximum(sum(mark.astype(int) for mark in hour_marks), sum(mark.astype(int) for mark in day_marks))


def _whole_days(rule: RuleColumns, part: str) -> np.ndarray:
    """Return a window in days, cut short for short calendar intervals."""
    return np.floor(np.fmin(getattr(rule, f"{part}_days"), CALENDAR_SHARES[part] * DAYS_PER_MONTH * rule.every_months))


def _states(out: Mapping, rule: RuleColumns, row: Mapping, now, blocks: BlockTable | None) -> np.ndarray:
    """Return the state: first how far along, then a deferral in force or run out, then the season."""
    level = _levels(out, rule, now)
    deferred = ~np.isnan(row["deferred_h"]) | ~np.isnat(row["deferred_day"])
    run_out = (out["now_h"] > row["deferred_h"]) | (now > row["deferred_day"])
    state = np.where(deferred & run_out & (level >= DUE), np.maximum(level, OVERDUE), level)
    state = np.where(deferred & ~run_out & (level >= DUE_SOON), DEFERRED, state)
    if blocks is None:
        return state
    waits = (state == DUE_SOON) | (state == DUE) | ((state == OVERDUE) & ~rule.late_allowed)
    return np.where(waits & _may_wait(out, rule) & inside(blocks.of(row["machine"]), now), BLOCKED, state)


def _may_wait(out: Mapping, rule: RuleColumns) -> np.ndarray:
    return ~rule.always_allowed & ~out["breakin"]


def _slots(out: Mapping, rule: RuleColumns, row: Mapping, usage: UsageTable, now, blocks: BlockTable | None) -> dict[str, np.ndarray]:
    """Return what to do about the season block a row's band touches, worked out for those rows alone."""
    n = len(out["due_day"])
    slots = {
        "move": np.full(n, AS_DUE), "slot_day": out["due_day"].copy(), "wasted_share": np.full(n, np.nan),
        "block_start": np.full(n, NO_DAY), "block_end": np.full(n, NO_DAY),
    }  # fmt: skip
    if blocks is None:
        return slots
    met = block_met(blocks.of(row["machine"]), out["due_low"], out["due_high"], now)
    at = np.flatnonzero(~np.isnat(met.start) & _may_wait(out, rule))
    if at.size:
        part = {name: value[at] for name, value in out.items()} | {name: row[name][at] for name in ("machine", "reading_h", "reading_day")}
        found = _moves(part, rule.of(at), usage, now, blocks.of(part["machine"]), BlockTable(met.start[at], met.end[at]))
        for name, value in zip(slots, (found.move, found.day, found.wasted_share, found.block_start, found.block_end), strict=True):
            slots[name][at] = value
    return slots


def _moves(part: Mapping, rule: RuleColumns, usage: UsageTable, now, blocks: BlockTable, met: BlockTable):
    month_h = usage.month_h[part["machine"]]
    before, after = np.minimum(part["due_day"], met.start - 1), np.maximum(part["due_day"], met.end + 1)
    at_before, at_after = (part["reading_h"] + hours_between(month_h, part["reading_day"], day) for day in (before, after))
    share_h = (part["due_h"] - at_before) / part["interval_h"]
    share_days = (part["calendar_day"] - before).astype(float) / (DAYS_PER_MONTH * rule.every_months)
    wasted = np.maximum(np.where(part["by_hours"], share_h, share_days), 0)
    over_h = at_after > part["due_h"] + rule.late_share * part["interval_h"]
    over_days = (after - part["calendar_day"]).astype(float) > _whole_days(rule, "late")
    over_days &= ~np.isnat(part["calendar_day"])
    return choose_moves(part["due_day"], met, blocks, now, wasted, ~(over_h | over_days))

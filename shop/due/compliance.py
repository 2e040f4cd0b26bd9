"""How many tasks were done inside their window: numerator and denominator shown, as things stood at the end of the period asked about.

A task counts in the period in which it was done, or in each at whose end it stood open past its window. A deferral never counts as done on time.
"""

from dataclasses import dataclass
from datetime import date

import numpy as np
import pandas as pd
from django.utils import timezone

from calcs.calendar_sums import as_date
from calcs.day_reached import hours_between
from shop.due.fleet_due import FleetDue
from shop.models import Deferral, TaskDone

WINDOW_SHARE, WINDOW_DAYS = 0.10, 15  # common practice, no source


@dataclass(frozen=True)
class Compliance:
    """Tasks done in the window, done late, open past their window, put off; those whose due was not kept; and hours run past due before doing."""

    inside: int
    late: int
    still_open: int
    put_off: int
    not_known: int
    over_h: float

    @property
    def due(self) -> int:
        return self.inside + self.late + self.still_open + self.put_off

    @property
    def percent(self) -> float | None:
        return 100 * self.inside / self.due if self.due else None


@dataclass(frozen=True)
class Done:
    """One time a task was done: what was due then, and when it was done before."""

    key: tuple[int, int, int | None]
    on: date
    life_h: float
    due_h: float | None
    due_on: date | None
    before: date | None


def compliance(due: FleetDue, since: date, until: date) -> Compliance:
    """Return what became of the tasks between two days, as it stood at the end of the second."""
    times, put_off, then = _times_done(), _put_off_by(until), AsOf(due, until)
    counts = {"inside": 0, "late": 0, "put_off": 0, "not_known": 0, "still_open": 0}
    over_h = 0.0
    for done in times:
        if since <= done.on <= until:
            counts[_kind(done, put_off, then.window_h(done.key))] += 1
            over_h += max(0.0, done.life_h - done.due_h) if done.due_h is not None else 0.0
        elif done.on > until and (done.before is None or done.before <= until):
            counts["still_open"] += then.was_past_window(done)
    waiting = _standing(due, then)
    counts["put_off"] += int(waiting.sum())
    counts["still_open"] += int((then.past_window() & ~waiting).sum())
    return Compliance(over_h=round(over_h, 1), **counts)


def _times_done() -> list[Done]:
    """Return every time a task was done, each with the time before it."""
    rows = TaskDone.objects.standing().filter(was_done=True).order_by("done_on", "pk")
    out, last = [], {}
    for *key, on, life_h, due_h, due_on in rows.values_list("task_id", "machine_id", "unit_id", "done_on", "life_h", "due_h", "due_on"):
        out.append(Done(tuple(key), on, float(life_h), None if due_h is None else float(due_h), due_on, last.get(tuple(key))))
        last[tuple(key)] = on
    return out


def _put_off_by(until: date) -> dict[tuple[int, int], list[tuple[int | None, date]]]:
    """Return the units and days of deferrals approved up to a day, by task and machine."""
    out: dict[tuple[int, int], list[tuple[int | None, date]]] = {}
    approved = Deferral.objects.filter(approved_at__date__lte=until).values_list("task_id", "machine_id", "unit_id", "approved_at")
    for task_id, machine_id, unit_id, at in approved:
        out.setdefault((task_id, machine_id), []).append((unit_id, timezone.localtime(at).date()))
    return out


def _kind(done: Done, put_off: dict, window_h: float) -> str:
    task_id, machine_id, unit_id = done.key
    deferred = (day for unit, day in put_off.get((task_id, machine_id), ()) if unit_id is None or unit in (None, unit_id))
    if any(day <= done.on and (done.before is None or day > done.before) for day in deferred):
        return "put_off"
    if done.due_h is None and done.due_on is None:
        return "not_known"
    late_h = done.due_h is not None and done.life_h > done.due_h + window_h + 1e-6
    late_d = done.due_on is not None and (done.on - done.due_on).days > WINDOW_DAYS
    return "late" if late_h or late_d else "inside"


class AsOf:
    """The rows of the fleet and the hours of its machines at the end of a day that may lie behind."""

    def __init__(self, due: FleetDue, until: date):
        self.due, self.until = due, until
        machines = due.hours.machines
        until_day = np.full(len(machines), np.datetime64(until, "D"))
        run_h = (
            hours_between(due.hours.usage.month_h, machines.reading_day.to_numpy().astype("datetime64[D]"), until_day)
            if len(machines)
            else []
        )
        self.hours = pd.Series(machines.reading_h.to_numpy(float) + run_h, index=machines.pk)
        rows = due.rows
        known = rows[rows.interval_h.notna()] if len(rows) else rows
        self.interval_h = dict(zip(zip(known.task_id, known.machine_id, strict=True), known.interval_h, strict=True)) if len(rows) else {}

    def window_h(self, key) -> float:
        return WINDOW_SHARE * self.interval_h.get(key[:2], 0.0)

    def was_past_window(self, done: Done) -> bool:
        """Say whether a task done after the day had been open past its window on that day."""
        now_h = float(self.hours.get(done.key[1], np.nan))
        by_hours = done.due_h is not None and min(now_h, done.life_h) > done.due_h + self.window_h(done.key) + 1e-6
        return by_hours or (done.due_on is not None and (self.until - done.due_on).days > WINDOW_DAYS)

    def past_window(self) -> np.ndarray:
        """Return which rows, not done since, stood open past their window on the day."""
        rows = self.due.rows
        if not len(rows):
            return np.zeros(0, bool)
        now_h = self.hours.reindex(rows.machine_id).to_numpy(float)
        by_hours = now_h > rows.due_h.to_numpy(float) + WINDOW_SHARE * rows.interval_h.to_numpy(float) + 1e-6
        by_days = rows.calendar_day.to_numpy().astype("datetime64[D]") + WINDOW_DAYS < np.datetime64(self.until, "D")
        done = self.due.inputs.shown_done_day.to_numpy().astype("datetime64[D]")
        return (by_hours | by_days) & ~(done > np.datetime64(self.until, "D"))


def _standing(due: FleetDue, then: AsOf) -> np.ndarray:
    """Return which rows a deferral stood over on the day: approved by then, not ended, its limits not passed, not done since."""
    rows, until = due.rows, then.until
    out = np.zeros(len(rows), bool)
    approved = Deferral.objects.filter(approved_at__date__lte=until, until_on__gte=until).exclude(ended_at__date__lte=until)
    for one in approved.values("task_id", "machine_id", "unit_id", "approved_at", "until_h"):
        if then.hours.get(one["machine_id"], np.nan) > float(one["until_h"]):
            continue
        mine = ((rows.task_id == one["task_id"]) & (rows.machine_id == one["machine_id"])).to_numpy()
        if one["unit_id"]:
            mine = mine & rows.unit_id.isin([0, one["unit_id"]]).to_numpy()
        for place in np.flatnonzero(mine):
            done = as_date(due.inputs.shown_done_day.iloc[place])
            out[place] |= done is None or not timezone.localtime(one["approved_at"]).date() <= done <= until
    return out

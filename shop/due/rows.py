"""The due list as people read it: most urgent first, each row with its reason in words; words are made for the rows shown alone."""

from dataclasses import dataclass
from datetime import date

import numpy as np
import pandas as pd

from calcs.calendar_sums import DAYS_PER_MONTH, as_date, day_words
from calcs.due import STATES
from calcs.due_words import History, explain
from calcs.rules import SCOPES
from calcs.season import AS_DUE
from fleet.models import DriveUnit, Machine
from shop.due.fleet_due import URGENCY, FleetDue, fleet_due
from shop.due.rule_words import as_rule
from shop.models import IntervalRule, ServiceTask

YEAR_DAYS = 365.0


@dataclass(frozen=True)
class DueRow:
    """One task on one machine or unit."""

    machine: Machine
    unit: DriveUnit | None
    task: ServiceTask
    rule: IntervalRule
    state: str
    reason: str
    due_h: float | None
    now_h: float | None
    due_day: date | None
    low: date | None
    high: date | None
    by_hours: bool
    reading_age_days: int | None
    move: int
    slot_day: date | None
    scope_words: str
    place: int
    deferred_day: date | None
    due_low: date | None
    due_high: date | None
    reading_day: date | None
    done_day: date | None
    put_off_day: date | None

    @property
    def key(self) -> str:
        return f"{self.machine.pk}-{self.unit.pk if self.unit else 0}-{self.task.pk}"


def chosen(due: FleetDue, *, states=(), machines=None, task_id=None, machine_id=None, kind="", first=()) -> np.ndarray:
    """Return the places, in order, of the rows that pass every filter given; those of the machines in `first` before all others."""
    rows = due.rows
    keep = np.ones(len(rows), bool)
    if states:
        keep &= np.isin(rows.state.to_numpy(int), [STATES.index(word) for word in states])
    if machines is not None:
        keep &= rows.machine_id.isin(machines).to_numpy()
    if kind:
        keep &= (due.hours.machines.kind.to_numpy() == kind)[rows.machine.to_numpy(int)]
    if machine_id is not None:
        keep &= (rows.machine_id == machine_id).to_numpy()
    if task_id is not None:
        keep &= (rows.task_id == task_id).to_numpy()
    order = due.order[keep[due.order]]
    own = rows.machine_id.isin(list(first)).to_numpy()[order] if first else np.zeros(len(order), bool)
    return np.concatenate([order[own], order[~own]])


def due_rows(due: FleetDue, places) -> list[DueRow]:
    """Return rows with their words; three queries, however many rows."""
    part = due.rows.iloc[list(places)]
    rules = IntervalRule.objects.select_related("task__skill", "document", "drive_model", "machine", "unit").in_bulk(
        list(part.rule_id.unique())
    )
    machines = Machine.objects.select_related("customer", "site").in_bulk(list(part.machine_id.unique()))
    units = DriveUnit.objects.in_bulk(list(part.unit_id[part.unit_id > 0].unique()))
    given = due.inputs.iloc[list(places)].to_dict("records")
    found = zip(part.index, part.to_dict("records"), given, strict=True)
    return [_row(due, place, Record(row), Record(facts), rules, machines, units) for place, row, facts in found if row["rule_id"] in rules]


class Record(dict):
    """One row of a frame, by name."""

    __getattr__ = dict.__getitem__


def _row(due: FleetDue, place: int, found: Record, given: Record, rules, machines, units) -> DueRow:
    rule = rules[found.rule_id]
    history = history_of_row(given)
    known = {name: None if pd.isna(found[name]) else float(found[name]) for name in ("due_h", "now_h")}
    return DueRow(
        machine=machines[found.machine_id],
        unit=units.get(found.unit_id),
        task=rule.task,
        rule=rule,
        state=found.state_word,
        reason=_reason(rule, history, found, given, due.today),
        due_day=as_date(found.due_day),
        low=as_date(found.due_low),
        high=as_date(found.due_high),
        by_hours=bool(found.by_hours),
        reading_age_days=None if pd.isna(found.reading_age_days) else int(found.reading_age_days),
        move=int(found.move),
        slot_day=as_date(found.slot_day),
        scope_words=scope_words(found),
        place=int(place),
        deferred_day=as_date(given.deferred_day),
        due_low=as_date(found.due_low),
        due_high=as_date(found.due_high),
        reading_day=as_date(given.reading_day),
        done_day=as_date(given.shown_done_day),
        put_off_day=as_date(given.put_off_day),
        **known,
    )


def history_of_row(given) -> History:
    """Return what is known of a task, for its words, from the columns of its row."""
    names = ("anchor_h", "done_h", "due_then_h", "reading_h", "deferred_h")
    number = {name: None if pd.isna(given[name]) else float(given[name]) for name in names}
    day = {name: as_date(given[name]) for name in ("anchor_day", "due_then_day", "reading_day", "deferred_day")}
    number["anchor_h"] = number["anchor_h"] or 0.0
    return History(
        factors=dict(given.severity_names),
        floor=float(given.severity_floor),
        other_fluid_ever=bool(given.other_fluid_ever),
        extensions=given.signed or (),
        done_day=as_date(given.shown_done_day),
        **number,
        **day,
    )


def _reason(rule, history: History, found, given, today: date) -> str:
    words = explain(as_rule(rule), history, found, today)
    called, done = as_date(given.found_day), history.done_day
    if called is not None and (done is None or called > done):
        words += f"; called at once by a finding of {day_words(called, today)}"
    if rule.anchor == "season_start" and found_is_missing(found.calendar_day):
        words += "; no season block holds for this machine"
    return words


def found_is_missing(value) -> bool:
    return as_date(value) is None


def scope_words(found) -> str:
    """Say which rule won over which, where there was more than one."""
    if found.beat < 0:
        return f"rule of the {SCOPES[found['rank']]}"
    return f"rule of this {SCOPES[found['rank']]}, over that of the {SCOPES[found.beat]}"


def due_of_machine(machine, today: date | None = None) -> list[DueRow]:
    """Return every task of one machine, most urgent first."""
    due = fleet_due(today)
    return due_rows(due, chosen(due, machine_id=machine.pk))


def counts_by_state(due: FleetDue) -> dict[str, int]:
    counted = np.bincount(due.rows.state.to_numpy(int), minlength=len(STATES)) if len(due.rows) else np.zeros(len(STATES), int)
    return {word: int(counted[STATES.index(word)]) for word in URGENCY}


def points_of_machine(machine) -> dict[tuple[int, int], tuple[float | None, date | None]]:
    """Return what is due now on a machine, by task and unit (0: the whole machine): life hours and calendar day, to be kept with what is done."""
    rows = fleet_due().rows
    out = {}
    for row in rows[rows.machine_id == machine.pk].itertuples():
        hours = None if pd.isna(row.due_h) else round(float(row.due_h), 1)
        out[row.task_id, row.unit_id] = (hours, as_date(row.calendar_day))
    return out


def moved_by_season(due: FleetDue) -> np.ndarray:
    """Return the places of tasks that a season block moves, or leaves to a person, in order."""
    return due.order[due.rows.move.to_numpy(int)[due.order] != AS_DUE] if len(due.rows) else due.order


def intervals_days(due: FleetDue, places, every_months) -> np.ndarray:
    """Return intervals in days: months as they are, hours by what the machine runs in a year; the shorter of both, a year where neither is known."""
    part = due.rows.iloc[list(places)]
    year_h = due.hours.usage.year_h[part.machine.to_numpy(int)]
    by_months = DAYS_PER_MONTH * np.array([np.nan if months is None else months for months in every_months], float)
    by_hours = np.divide(YEAR_DAYS * part.interval_h.to_numpy(float), year_h, out=np.full(len(part), np.nan), where=year_h > 0)
    days = np.fmin(by_months, by_hours)
    return np.where(days >= 1, days, YEAR_DAYS)

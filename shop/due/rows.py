"""The due list as people read it: most urgent first, each row with its reason in words; words are made for the rows shown alone."""

from dataclasses import dataclass
from datetime import date

import numpy as np
import pandas as pd

from calcs.calendar_sums import as_date
from calcs.due import STATES
from calcs.due_words import History, explain
from calcs.rules import SCOPES
from fleet.models import DriveUnit, Machine
from shop.due.fleet_due import FleetDue, fleet_due
from shop.due.rule_words import as_rule
from shop.models import IntervalRule, ServiceTask, SeverityFactor

# Most urgent first; put off and held back come after what is due.
URGENCY = {
    word: place for place, word in enumerate(("over late limit", "overdue", "due", "due soon", "deferred", "blocked by season", "not due"))
}


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

    @property
    def key(self) -> str:
        return f"{self.machine.pk}-{self.unit.pk if self.unit else 0}-{self.task.pk}"


def in_order(due: FleetDue) -> np.ndarray:
    """Return the places of the rows, most urgent first: state, then the day due, then machine and task."""
    rows = due.rows
    if not len(rows):
        return np.zeros(0, int)
    urgency = np.array([URGENCY[word] for word in STATES])[rows.state.to_numpy(int)]
    day = rows.due_day.to_numpy().astype("datetime64[D]").astype("int64")
    return np.lexsort((rows.task_id, rows.machine_id, day, urgency))


def chosen(due: FleetDue, *, states=(), machines=None, task_id=None, machine_id=None) -> np.ndarray:
    """Return the places, in order, of the rows that pass every filter given."""
    rows = due.rows
    keep = np.ones(len(rows), bool)
    if states:
        keep &= rows.state_word.isin(states).to_numpy()
    if machines is not None:
        keep &= rows.machine_id.isin(machines).to_numpy()
    if machine_id is not None:
        keep &= (rows.machine_id == machine_id).to_numpy()
    if task_id is not None:
        keep &= (rows.task_id == task_id).to_numpy()
    order = in_order(due)
    return order[keep[order]]


def due_rows(due: FleetDue, places) -> list[DueRow]:
    """Return rows with their words; three queries, however many rows."""
    part = due.rows.iloc[list(places)]
    machines = Machine.objects.select_related("customer", "site").in_bulk(list(part.machine_id.unique()))
    units = DriveUnit.objects.in_bulk(list(part.unit_id[part.unit_id > 0].unique()))
    factors = dict(SeverityFactor.objects.values_list("code", "factor"))
    return [_row(due, place, machines, units, factors) for place in part.index]


def _row(due: FleetDue, place: int, machines, units, factors) -> DueRow:
    found, given = due.rows.loc[place], due.inputs.loc[place]
    rule = due.rules[found.rule_id]
    history = _history(given, factors)
    known = {name: None if pd.isna(found[name]) else float(found[name]) for name in ("due_h", "now_h")}
    return DueRow(
        machine=machines[found.machine_id],
        unit=units.get(found.unit_id),
        task=rule.task,
        rule=rule,
        state=found.state_word,
        reason=explain(as_rule(rule), history, found, due.today),
        due_day=as_date(found.due_day),
        low=as_date(found.due_low),
        high=as_date(found.due_high),
        by_hours=bool(found.by_hours),
        reading_age_days=None if pd.isna(found.reading_age_days) else int(found.reading_age_days),
        move=int(found.move),
        slot_day=as_date(found.slot_day),
        scope_words=_scope_words(found),
        **known,
    )


def _history(given, factors) -> History:
    number = {
        name: None if pd.isna(given[name]) else float(given[name])
        for name in ("anchor_h", "done_h", "due_then_h", "reading_h", "deferred_h")
    }
    day = {name: as_date(given[name]) for name in ("anchor_day", "done_day", "due_then_day", "reading_day", "deferred_day")}
    number["anchor_h"] = number["anchor_h"] or 0.0
    return History(
        factors={code: factors[code] for code in given.severity_names}, other_fluid_ever=bool(given.other_fluid_ever), **number, **day
    )


def _scope_words(found) -> str:
    """Say which rule won over which, where there was more than one."""
    if found.beat < 0:
        return f"rule of the {SCOPES[found['rank']]}"
    return f"rule of this {SCOPES[found['rank']]}, over that of the {SCOPES[found.beat]}"


def due_of_machine(machine, today: date | None = None) -> list[DueRow]:
    """Return every task of one machine, most urgent first."""
    due = fleet_due(today)
    return due_rows(due, chosen(due, machine_id=machine.pk))


def counts_by_state(due: FleetDue) -> dict[str, int]:
    counted = due.rows.state_word.value_counts() if len(due.rows) else {}
    return {word: int(counted.get(word, 0)) for word in URGENCY}

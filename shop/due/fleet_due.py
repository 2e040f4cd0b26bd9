"""What is due over the whole fleet, worked out on reading by array sums; nothing of it is stored."""

from dataclasses import dataclass, replace
from datetime import date

import numpy as np
import pandas as pd
from django.utils import timezone

from calcs.due import STATES, due_table
from calcs.season import Block, block_table
from calcs.usage import UsageTable
from shop.due.fleet_facts import FleetHours, fleet_hours, season_blocks
from shop.due.row_facts import Facts, inputs_of
from shop.due.rule_words import columns_of, rules_in_force
from shop.due.since import READ, Touched, followed
from shop.due.targets import now_fitted, stays, targets

FOR_WORDS = ["severity_names", "severity_floor", "signed", "shown_done_day", "put_off_day"]


@dataclass(frozen=True)
class FleetDue:
    """Every task that stands over a machine or unit, with its state; `rows` and `inputs` share their index. `order` lists them by urgency."""

    rows: pd.DataFrame
    inputs: pd.DataFrame
    hours: FleetHours
    blocks: list[list[Block]]
    today: date
    order: np.ndarray


# Most urgent first; put off and held back come after what is due.
URGENCY = {
    word: place for place, word in enumerate(("over late limit", "overdue", "due", "due soon", "deferred", "blocked by season", "not due"))
}


def fleet_due(today: date | None = None) -> FleetDue:
    """Return what is due; kept for the day, and put right for the machines that were written about since."""
    today = today or timezone.localdate()
    return followed("fleet due", READ, today, lambda: _whole(today), lambda before, touched: _patched(before, touched, today))


def _whole(today: date) -> FleetDue:
    hours = fleet_hours()
    blocks = season_blocks(hours.machines, today)
    rows, inputs = _work_out(hours, blocks, today, None)
    return FleetDue(rows, inputs, hours, blocks, today, in_order(rows))


def _patched(before: FleetDue, touched: Touched, today: date) -> FleetDue | None:
    """Return the fleet with some rows of some machines worked out anew; None where the fleet itself is another."""
    hours = fleet_hours()
    if not hours.machines.pk.equals(before.hours.machines.pk):
        return None
    new_rows, new_inputs = _work_out(hours, before.blocks, today, touched)
    anew = before.rows.machine_id.isin(touched.machines)
    stay = ~(anew if touched.tasks is None else anew & before.rows.task_id.isin(touched.tasks)).to_numpy()
    rows = pd.concat([before.rows[stay], new_rows], ignore_index=True)
    inputs = pd.concat([before.inputs[stay], new_inputs], ignore_index=True)
    return FleetDue(rows, inputs, hours, before.blocks, today, in_order(rows))


def work_out(today: date, machines: set[int], severity: tuple[str, ...] | None = None) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Return rows and inputs of some machines as the database stands this moment, or as if these severity factors held for them; nothing is kept."""
    hours = fleet_hours()
    if severity is not None:
        told = [severity if pk in machines else codes for pk, codes in zip(hours.machines.pk, hours.machines.severity, strict=True)]
        hours = replace(hours, machines=hours.machines.assign(severity=told))
    return _work_out(hours, season_blocks(hours.machines, today), today, Touched(machines))


def as_if(due: FleetDue, place: int, **facts) -> pd.Series:
    """Return one row as it would stand if some of its columns were others; nothing is kept."""
    row, given = due.rows.iloc[[place]], due.inputs.iloc[[place]]
    rules = rules_in_force(set(row.machine_id), set(row.task_id))
    at = np.flatnonzero(rules.pk == row.rule_id.iloc[0])
    base = row[["machine_id", "unit_id", "task_id", "rule_id", "rank", "beat", "machine"]].reset_index(drop=True)
    return _with_states(base, given.assign(**facts).reset_index(drop=True), rules, at, due.hours.usage, due.blocks, due.today).iloc[0]


def _work_out(hours: FleetHours, blocks: list[list[Block]], today: date, touched: Touched | None) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Return rows with their state, and the columns they were worked out from."""
    only, tasks = (touched.machines, touched.tasks) if touched else (None, None)
    all_stays, rules = stays(only), rules_in_force(only, tasks)
    rows = targets(rules, now_fitted(all_stays, only))
    place = pd.Series(np.arange(len(hours.machines)), index=hours.machines.pk)
    rows = rows[rows.machine_id.isin(place.index) & (True if only is None else rows.machine_id.isin(only))].reset_index(drop=True)
    rows["machine"] = place.reindex(rows.machine_id).to_numpy(int) if len(rows) else np.zeros(0, int)
    at = pd.Series(np.arange(len(rules)), index=rules.pk).reindex(rows.rule_id).to_numpy(int) if len(rows) else np.zeros(0, int)
    machines = hours.machines.iloc[rows.machine].reset_index(drop=True)
    of_row = [blocks[k] for k in rows.machine]
    inputs = inputs_of(Facts(rows, rules.iloc[at].reset_index(drop=True), machines, all_stays, of_row, only, today))
    return _with_states(rows, inputs, rules, at, hours.usage, blocks, today), inputs


def _with_states(rows, inputs, rules, at, usage: UsageTable, blocks, today: date) -> pd.DataFrame:
    """Return the rows beside their due table; only the machines of these rows are handed to the sums."""
    used, machine = np.unique(rows.machine, return_inverse=True)
    part = UsageTable(usage.month_h[used], usage.spread[used], usage.basis[used], usage.days_seen[used])
    given = inputs.drop(columns=FOR_WORDS).assign(rule=at, machine=machine)
    table = due_table(columns_of(rules), given, part, today, block_table([blocks[k] for k in used]))
    out = pd.concat([rows, table], axis=1)
    out["state_word"] = np.array(STATES, object)[out.state.to_numpy(int)] if len(out) else pd.Series([], dtype=object)
    return out


def in_order(rows: pd.DataFrame) -> np.ndarray:
    """Return the places of the rows, most urgent first: state, then the day due (unknown last), then machine and task."""
    if not len(rows):
        return np.zeros(0, int)
    urgency = np.array([URGENCY[word] for word in STATES])[rows.state.to_numpy(int)]
    day = rows.due_day.to_numpy().astype("datetime64[D]")
    number = np.where(np.isnat(day), np.iinfo("int64").max, day.astype("int64"))
    return np.lexsort((rows.unit_id, rows.task_id, rows.machine_id, number, urgency))

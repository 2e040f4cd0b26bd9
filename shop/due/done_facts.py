"""When each task was last done: on the unit, on the machine, or on the unit while it ran in another machine."""

import numpy as np
import pandas as pd
from django.db.models import Max, Q

from shop.due.fleet_facts import days, frame
from shop.due.targets import KEY
from shop.models import TaskDone

VALUES = ["life_h", "done_on", "item_date", "due_h", "due_on"]
HOURS = ("life_h", "due_h")


def last_done(rows: pd.DataFrame, stays: pd.DataFrame, machines: set[int] | None) -> pd.DataFrame:
    """Return hours, day, item date and what was due then of the last time, on the rows.

    A note about the whole machine counts for each of its units. A note about one unit counts for the whole machine once every unit now fitted
    has one: half a job does not reset the other half.
    """
    notes = _notes(stays, machines, rows.task_id.unique().tolist())
    whole = notes[notes.unit_id == 0].set_index(["machine_id", "task_id"])
    shared = whole[VALUES].reindex(pd.MultiIndex.from_frame(rows[["machine_id", "task_id"]])).reset_index(drop=True)
    if not (notes.unit_id > 0).any():
        return shared
    mine = rows[KEY].merge(notes[notes.unit_id > 0], on=KEY, how="left")[VALUES]
    out = _later(mine, shared)
    over = (rows.unit_id == 0).to_numpy()
    if over.any():
        held = _of_all_units(rows[over], notes, shared[over], stays)
        for name in VALUES:
            out.loc[over, name] = held[name].to_numpy()
    return out


def _notes(stays: pd.DataFrame, machines: set[int] | None, tasks: list[int]) -> pd.DataFrame:
    """Return the latest note of each machine, unit (0: none named) and task, in numbers and days."""
    found = TaskDone.objects.standing().filter(was_done=True, task__in=tasks).order_by()
    if machines is not None:
        units = stays.unit_id.unique().tolist()
        found = found.filter(Q(machine__among=machines) | Q(unit__among=units))
    latest = found.values(*KEY).annotate(**{f"last_{name}": Max(name) for name in VALUES})
    notes = frame(latest, *KEY, *[f"last_{name}" for name in VALUES]).rename(columns={f"last_{name}": name for name in VALUES})
    for name in VALUES:
        notes[name] = pd.to_numeric(notes[name]).astype(float) if name in HOURS else pd.to_datetime(pd.Series(days(notes[name])))
    notes["unit_id"] = notes.unit_id.fillna(0).astype("int64")
    return _carried_over(notes, stays)


def _carried_over(notes: pd.DataFrame, stays: pd.DataFrame) -> pd.DataFrame:
    """Let notes about a unit follow it into the machine it is in now, at the hours that machine would have shown."""
    of_units = notes[notes.unit_id > 0]
    if of_units.empty:
        return notes
    then = stays.drop_duplicates(["unit_id", "machine_id"], keep="last").set_index(["unit_id", "machine_id"]).zero_h
    now = stays[stays.to_date.isna()].set_index("unit_id")[["machine_id", "zero_h"]]
    moved = of_units[of_units.machine_id.to_numpy() != now.machine_id.reindex(of_units.unit_id).fillna(-1).to_numpy()]
    moved = moved[moved.unit_id.isin(now.index)]
    if moved.empty:
        return notes
    shift = (
        now.zero_h.reindex(moved.unit_id).to_numpy() - then.reindex(pd.MultiIndex.from_frame(moved[["unit_id", "machine_id"]])).to_numpy()
    )
    carried = moved.assign(machine_id=now.machine_id.reindex(moved.unit_id).to_numpy(), **{name: moved[name] + shift for name in HOURS})
    both = pd.concat([notes, carried[carried.life_h.notna()]], ignore_index=True)
    return both.groupby(KEY, as_index=False).max()


def _of_all_units(rows: pd.DataFrame, notes: pd.DataFrame, shared: pd.DataFrame, stays: pd.DataFrame) -> pd.DataFrame:
    """Return for rows of whole machines the earliest of what holds for each unit now fitted; the machine's own note where none is fitted."""
    fitted = stays[stays.to_date.isna()][["machine_id", "unit_id"]]
    each = rows[["machine_id", "task_id"]].assign(row=np.arange(len(rows))).merge(fitted, on="machine_id")
    mine = each.merge(notes[notes.unit_id > 0], on=KEY, how="left")[VALUES]
    known = _later(mine, shared.reset_index(drop=True).iloc[each.row].reset_index(drop=True))
    known["open"] = known.life_h.isna()
    least = known.groupby(each.row.to_numpy()).agg({name: "min" for name in VALUES} | {"open": "any"}).reindex(range(len(rows)))
    own = shared.reset_index(drop=True)
    holds = least["open"].eq(False).to_numpy()
    return pd.DataFrame({name: least[name].where(holds, own[name]) for name in VALUES})


def _later(one: pd.DataFrame, other: pd.DataFrame) -> pd.DataFrame:
    """Return, value by value, the later or larger of two; what is missing on one side is taken from the other."""
    one, other = one.reset_index(drop=True), other.reset_index(drop=True)
    return pd.DataFrame({name: np.fmax(one[name].to_numpy(), other[name].to_numpy()) for name in VALUES})

"""Which rule holds for which task on which machine or unit: the narrowest wins, and says over what."""

import numpy as np
import pandas as pd

from fleet.models import Installation
from shop.due.fleet_facts import days, frame

SCOPE_WORDS = ("model", "machine", "unit")
KEY = ["machine_id", "unit_id", "task_id"]


def stays(machines: set[int] | None = None) -> pd.DataFrame:
    """Return every stay of units that are or were on these machines, with the hours each unit had when it came, in order."""
    found = Installation.objects.all()
    if machines is not None:
        found = found.filter(unit__installations__machine__among=machines).distinct()
    rows = frame(
        found.order_by("unit_id", "from_date", "pk"),
        "unit_id", "machine_id", "unit__drive_model_id", "from_life_h", "to_life_h", "from_date", "to_date", "unit__hours_at_birth_h",
    )  # fmt: skip
    for name in ("from_life_h", "to_life_h", "unit_hours_at_birth_h"):
        rows[name] = pd.to_numeric(rows[name]).astype(float)
    run_h = (rows.to_life_h - rows.from_life_h).fillna(0)
    rows["unit_before_h"] = run_h.groupby(rows.unit_id).cumsum() - run_h + rows.unit_hours_at_birth_h
    rows["zero_h"] = rows.from_life_h - rows.unit_before_h  # life hours of this machine at which the unit would have been new
    rows["from_day"], rows["to_day"] = days(rows.from_date), days(rows.to_date)
    return rows.rename(columns={"unit_drive_model_id": "model_id"})


def now_fitted(rows: pd.DataFrame, machines: set[int] | None = None) -> pd.DataFrame:
    fitted = rows[rows.to_date.isna()]
    return fitted if machines is None else fitted[fitted.machine_id.isin(machines)]


def targets(rules: pd.DataFrame, fitted: pd.DataFrame) -> pd.DataFrame:
    """Return one row for each task that stands over a machine or unit: machine_id, unit_id (0: the whole machine), task_id, rule_id, rank, beat.

    Rules counted from a unit's fitting stand over each unit, the others over the whole machine. Where two drives of two models ask for one task
    of the whole machine, the shorter interval holds.
    """
    rules = rules[["pk", "task_id", "drive_model_id", "machine_id", "unit_id", "anchor", "every_h", "every_months"]].rename(
        columns={"pk": "rule_id"}
    )
    rules = rules.sort_values(["every_h", "every_months", "rule_id"])
    units = fitted[["unit_id", "machine_id", "model_id"]]
    model, machine, unit = (rules[rules[f"{scope}_id"].notna()] for scope in ("drive_model", "machine", "unit"))
    by_unit = machine.anchor == "installation"
    parts = [
        _of_models(model, units),
        _ranked(machine[~by_unit].assign(unit_id=0), 1),
        _on_each(machine[by_unit], units),
        _of_units(unit, units),
    ]
    rows = pd.concat(parts, ignore_index=True)
    return _narrowest(_spread_over_units(rows.drop_duplicates([*KEY, "rank"]), units))


def _of_models(rules: pd.DataFrame, units: pd.DataFrame) -> pd.DataFrame:
    if rules.empty:
        return _ranked(rules, 0)
    rows = rules.drop(columns=["unit_id", "machine_id"]).merge(units, left_on="drive_model_id", right_on="model_id")
    return _ranked(rows.assign(unit_id=rows.unit_id.where(rows.anchor == "installation", 0)), 0)


def _on_each(rules: pd.DataFrame, units: pd.DataFrame) -> pd.DataFrame:
    return _ranked(rules if rules.empty else rules.drop(columns="unit_id").merge(units, on="machine_id"), 1)


def _of_units(rules: pd.DataFrame, units: pd.DataFrame) -> pd.DataFrame:
    return _ranked(rules if rules.empty else rules.drop(columns="machine_id").merge(units, on="unit_id"), 2)


def _ranked(rows: pd.DataFrame, rank: int) -> pd.DataFrame:
    return rows[[*KEY, "rule_id"]].astype("int64").assign(rank=rank)


def _spread_over_units(rows: pd.DataFrame, units: pd.DataFrame) -> pd.DataFrame:
    """Where one unit has a rule of its own, the rule for the whole machine stands for each of its units instead."""
    own = rows.loc[rows.unit_id > 0, ["machine_id", "task_id"]]
    if own.empty:
        return rows
    split = (rows.unit_id == 0) & pd.MultiIndex.from_frame(rows[["machine_id", "task_id"]]).isin(pd.MultiIndex.from_frame(own))
    whole = rows[split].drop(columns="unit_id").merge(units[["machine_id", "unit_id"]], on="machine_id")
    return pd.concat([rows[~split], whole], ignore_index=True)


def _narrowest(rows: pd.DataFrame) -> pd.DataFrame:
    rows = rows.sort_values([*KEY, "rank", "rule_id"], kind="stable")
    same = (rows[KEY] == rows[KEY].shift(1)).all(axis=1)
    beat = rows["rank"].shift(1).where(same, -1)
    rows["beat"] = np.where(beat == rows["rank"], -1, beat.fillna(-1)).astype(int)
    return rows.drop_duplicates(KEY, keep="last").reset_index(drop=True)

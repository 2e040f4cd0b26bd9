"""Which rule holds for which task on which machine or unit: the narrowest wins, and says over what."""

import numpy as np
import pandas as pd

from fleet.models import Installation
from shop.due.fleet_facts import days, frame
from shop.models import IntervalRule

RULE_FIELDS = ("pk", "task_id", "drive_model_id", "machine_id", "unit_id", "anchor")
SCOPE_WORDS = ("model", "machine", "unit")


def fitted_units() -> pd.DataFrame:
    """Units now fitted: machine, unit, model, life hours at fitting less the hours the unit had then, and the day."""
    rows = frame(
        Installation.objects.all(),
        "unit_id",
        "machine_id",
        "unit__drive_model_id",
        "from_life_h",
        "to_life_h",
        "from_date",
        "unit__hours_at_birth_h",
    )
    for name in ("from_life_h", "to_life_h", "unit_hours_at_birth_h"):
        rows[name] = pd.to_numeric(rows[name])
    ended = rows[rows.to_life_h.notna()]
    before = (ended.to_life_h - ended.from_life_h).groupby(ended.unit_id).sum()
    now = rows[rows.to_life_h.isna()].copy()
    now["unit_before_h"] = before.reindex(now.unit_id).fillna(0).to_numpy() + now.unit_hours_at_birth_h
    now["from_day"] = days(now.from_date)
    return now.rename(columns={"unit_drive_model_id": "model_id"})


def targets() -> pd.DataFrame:
    """Return one row for each task that stands over a machine or unit: machine_id, unit_id (0: the whole machine), task_id, rule_id, rank, beat."""
    rules = frame(IntervalRule.objects.filter(is_retired=False, task__is_retired=False), *RULE_FIELDS).rename(columns={"pk": "rule_id"})
    fitted = fitted_units()
    units = fitted[["unit_id", "machine_id", "model_id"]]
    model = rules[rules.drive_model_id.notna()].merge(units, left_on="drive_model_id", right_on="model_id", suffixes=("_rule", ""))
    machine = rules[rules.machine_id.notna()].assign(machine_id=lambda r: r.machine_id.astype(int))
    by_unit = machine.anchor == "installation"
    each = machine[by_unit].merge(units, on="machine_id", suffixes=("_rule", ""))
    unit = rules[rules.unit_id.notna()].drop(columns="machine_id").merge(units, on="unit_id")
    rows = pd.concat(
        [
            _ranked(model, 0, whole=model.anchor != "installation"),
            _ranked(machine[~by_unit].assign(unit_id=0), 1),
            _ranked(each, 1),
            _ranked(unit, 2),
        ],
        ignore_index=True,
    ).drop_duplicates(["machine_id", "unit_id", "task_id", "rank"])
    return _narrowest(_spread_over_units(rows, units))


def _ranked(rows: pd.DataFrame, rank: int, whole=None) -> pd.DataFrame:
    unit = rows.unit_id.fillna(0).astype(int) if whole is None else rows.unit_id.where(~whole, 0).astype(int)
    return pd.DataFrame(
        {
            "machine_id": rows.machine_id.astype(int),
            "unit_id": unit,
            "task_id": rows.task_id.astype(int),
            "rule_id": rows.rule_id.astype(int),
            "rank": rank,
        }
    )


def _spread_over_units(rows: pd.DataFrame, units: pd.DataFrame) -> pd.DataFrame:
    """Where one unit has a rule of its own, the rule for the whole machine stands for each of its units instead."""
    key = pd.MultiIndex.from_frame(rows[["machine_id", "task_id"]])
    own = key.isin(pd.MultiIndex.from_frame(rows.loc[rows.unit_id > 0, ["machine_id", "task_id"]]))
    whole = rows[(rows.unit_id == 0) & own].drop(columns="unit_id").merge(units[["machine_id", "unit_id"]], on="machine_id")
    return pd.concat([rows[~((rows.unit_id == 0) & own)], whole], ignore_index=True)


def _narrowest(rows: pd.DataFrame) -> pd.DataFrame:
    rows = rows.sort_values(["machine_id", "unit_id", "task_id", "rank", "rule_id"], kind="stable")
    key = ["machine_id", "unit_id", "task_id"]
    rows["beat"] = rows.groupby(key)["rank"].shift(1)
    rows["beat"] = np.where(rows.beat.isna() | (rows.beat == rows["rank"]), -1, rows.beat.fillna(-1)).astype(int)
    return rows.drop_duplicates(key, keep="last").reset_index(drop=True)

"""Jumps in the record of a unit: from a jump on its wear is judged anew, and the jump is named for what it is."""

import numpy as np
import pandas as pd

from calcs.group import GroupNumbers
from calcs.past_steps import past_steps
from calcs.steps import common_shifts
from fleet.wear_series import COLUMNS, KEY, WearSeries

SPAN_DAYS = 14
FIELDS = ["jump_from_h", "jump_to_h", "jump_on", "jump_ratio"]


def part_at_jumps(found: WearSeries, numbers: list[GroupNumbers], gauges: pd.DataFrame | None) -> WearSeries:
    """Return the series that jumped in their latest epoch, each from its jump on and under its old number; empty where none did."""
    latest = found.series.sort_values("epoch", kind="stable").drop_duplicates(KEY[:3], keep="last").index
    rows = found.rows[found.rows.series.isin(latest)]
    steps = past_steps(numbers, rows[COLUMNS], gauges)
    rows = rows[rows.series.isin(steps.index)]
    since = rows.life_h - rows.series.map(steps.to_h)
    after = rows[since >= 0].assign(life_h=since[since >= 0], began="first_seen")
    series = found.series.loc[steps.index].assign(**_jumps_of(found, steps))
    return WearSeries(after, series)


def _jumps_of(found: WearSeries, steps: pd.DataFrame) -> dict[str, pd.Series]:
    """Return where each jump lies in component hours, on which day it was first seen, and how high it is."""
    from_h = found.series.from_h.reindex(steps.index)
    first = found.rows[found.rows.series.isin(steps.index)]
    first = first[first.life_h >= first.series.map(steps.to_h)].sort_values(["life_h", "at"], kind="stable").groupby("series").first()
    values = (from_h + steps.from_h, from_h + steps.to_h, first.tested_at.reindex(steps.index), steps.after_ratio / steps.before_ratio)
    return dict(zip(FIELDS, values, strict=True))


def shifts_of(found: WearSeries, step_p: pd.Series) -> pd.DataFrame:
    """Return dates about which the units tested jumped together, quantity by quantity, each unit counted once."""
    newest = found.rows.sort_values(["series", "life_h", "ratio"], kind="stable").groupby("series").tail(1).set_index("series")
    newest = newest.assign(step_p=step_p.reindex(newest.index)).dropna(subset="step_p")
    newest = newest.sort_index().drop_duplicates(["unit_id", "quantity"])
    day = (pd.to_datetime(newest.tested_at, utc=True).dt.tz_localize(None) - pd.Timestamp(0)).dt.days
    made = []
    for quantity, part in newest.groupby("quantity", sort=True):
        shifts = common_shifts(part.reset_index()[["series", "instrument"]], day[part.index], part.step_p, SPAN_DAYS)
        made.append(shifts.reset_index().assign(quantity=quantity))
    columns = ["span", "units", "mean_score", "instrument", "quantity"]
    return pd.concat(made, ignore_index=True)[columns] if made else pd.DataFrame(columns=columns)


def words_of_state(series: pd.DataFrame) -> np.ndarray:
    """Return the state in a word: a record that jumped upwards is no steady wear."""
    word = series.state.replace("too_few", "too few readings").to_numpy(object)
    return np.where(series.jump_ratio.to_numpy(float) > 1, "jumped", word)

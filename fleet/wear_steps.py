"""Jumps in the record of a unit: from a jump on its wear is judged anew, and the jump is named for what it is."""

import numpy as np
import pandas as pd
from scipy.special import ndtri

from calcs.past_steps import past_steps
from calcs.steps import LEAST_UNITS, common_shifts, repeat_verdicts
from calcs.trend import FleetFit, fit_fleet, refresh
from fleet.models.wear import MATERIAL_SHARE
from fleet.wear_series import COLUMNS, KEY, WearSeries

SPAN_DAYS = 14
LEANING = 0.8  # mean normal score of a date from which on it is looked at closer
FEWEST = 3  # one reading before, one that is off, one that repeats it
HEIGHTS = ["from_h", "to_h", "before_ratio", "after_ratio"]
FIELDS = ["jump_from_h", "jump_to_h", "jump_on", "jump_ratio"]


def part_at_jumps(found: WearSeries, fit: FleetFit) -> WearSeries:
    """Return the series that jumped in their latest epoch, each from its jump on and under its old number; empty where none did."""
    latest = found.series.sort_values("epoch", kind="stable").drop_duplicates(KEY[:3], keep="last").index
    rows = found.rows[found.rows.series.isin(latest)]
    steps = past_steps(fit.numbers, rows[COLUMNS], fit.gauges)[HEIGHTS]
    steps = pd.concat([steps, _repeated(rows[~rows.series.isin(steps.index)], found.series, fit)])
    if steps.empty:
        return WearSeries(rows.iloc[:0], found.series.iloc[:0])
    rows = rows[rows.series.isin(steps.index)]
    since = rows.life_h - rows.series.map(steps.to_h)
    after = rows[since >= 0].assign(life_h=since[since >= 0], began="first_seen")
    series = found.series.loc[steps.index].assign(**_jumps_of(found, steps))
    return WearSeries(after, series)


def _repeated(rows: pd.DataFrame, series: pd.DataFrame, fit: FleetFit) -> pd.DataFrame:
    """Return the jumps that a test of the same day confirmed, where the record before them is too short to tell one by itself."""
    rows = rows.sort_values(["series", "life_h", "at"], kind="stable")
    place, size = rows.groupby("series").cumcount(), rows.groupby("series").series.transform("size")
    day = pd.to_datetime(rows.tested_at, utc=True).dt.date
    matters = rows.ratio - 1 >= MATERIAL_SHARE * (rows.series.map(series.limit_ratio) - 1)
    twice = (place == size - 1) & (size >= FEWEST) & (day == day.shift(1)) & matters & matters.shift(1, fill_value=False)
    last = rows[twice].set_index("series")
    if last.empty:
        return pd.DataFrame(columns=HEIGHTS)
    mine = rows[rows.series.isin(last.index)]
    first = mine[mine.groupby("series").cumcount(ascending=False) == 1].set_index("series")
    verdicts = repeat_verdicts(fit, mine[~mine.index.isin(rows[twice].index)][COLUMNS], last.ratio)
    earlier = mine[mine.groupby("series").cumcount(ascending=False) > 1]
    before = refresh(fit, earlier[COLUMNS]).series.level_ratio
    made = pd.DataFrame(
        {
            "from_h": earlier.groupby("series").life_h.last(),
            "to_h": first.life_h,
            "before_ratio": before,
            "after_ratio": (first.ratio + last.ratio) / 2,
        }
    )
    return made[verdicts.verdict.reindex(made.index) == "step"]


def _jumps_of(found: WearSeries, steps: pd.DataFrame) -> dict[str, pd.Series]:
    """Return where each jump lies in component hours, on which day it was first seen, and how high it is."""
    from_h = found.series.from_h.reindex(steps.index)
    first = found.rows[found.rows.series.isin(steps.index)]
    first = first[first.life_h >= first.series.map(steps.to_h)].sort_values(["life_h", "at"], kind="stable").groupby("series").first()
    values = (from_h + steps.from_h, from_h + steps.to_h, first.tested_at.reindex(steps.index), steps.after_ratio / steps.before_ratio)
    return dict(zip(FIELDS, values, strict=True))


def without_shifts(found: WearSeries, fit: FleetFit) -> tuple[WearSeries, FleetFit, pd.DataFrame]:
    """Return the readings and the fit without those that all drives shifted in together, and the shifts.

    A shift that all share spoils what the fleet says of itself: it looks like noise, and like wear of every drive. So where newest readings
    of about one date lean one way, the fleet is fitted without them, and they are held against that.
    """
    newest = _newest(found, fit.series.last_step_p)
    leaning = _spans(newest, LEANING)
    if not len(leaning):
        return found, fit, _shifts(newest.iloc[:0])
    doubted = newest[newest.span.isin(leaning.span) & newest.place.gt(0)]
    calm = WearSeries(found.rows.drop(index=doubted.row), found.series)
    calm_fit = fit_fleet(calm.rows[COLUMNS])
    again = found.rows[found.rows.series.isin(doubted.index)]
    held = refresh(calm_fit, again[COLUMNS], gauges=calm_fit.gauges).series.last_step_p
    shifts = _shifts(_newest(WearSeries(again, found.series), held))
    return (calm, calm_fit, shifts) if len(shifts) else (found, fit, shifts)


def in_shifts(rows: pd.DataFrame, shifts) -> pd.Series:
    """Say of each reading whether it was taken in a kept shift of its quantity and is not the only one of its series."""
    day = pd.to_datetime(rows.tested_at, utc=True).dt.date
    inside = pd.Series(False, index=rows.index)
    for shift in shifts:
        inside |= (rows.quantity == shift.quantity) & (day >= shift.from_on) & (day <= shift.to_on)
    return inside & (rows.groupby("series").series.transform("size") > 1)


def _newest(found: WearSeries, step_p: pd.Series) -> pd.DataFrame:
    """Return the newest reading of each series with its chance, its span of days, and how many came before it."""
    rows = found.rows.sort_values(["series", "life_h", "ratio"], kind="stable")
    rows = rows.assign(row=rows.index, place=rows.groupby("series").cumcount()).groupby("series").tail(1).set_index("series")
    rows = rows.assign(step_p=step_p.reindex(rows.index)).dropna(subset="step_p")
    day = (pd.to_datetime(rows.tested_at, utc=True).dt.tz_localize(None) - pd.Timestamp(0)).dt.days
    return rows.assign(day=day, span=day // SPAN_DAYS * SPAN_DAYS).sort_index()


def _spans(newest: pd.DataFrame, mean_score: float) -> pd.DataFrame:
    """Return the spans in which many units were tested and lean one way."""
    units = newest.drop_duplicates(["unit_id", "quantity"])
    score = -ndtri(np.clip(units.step_p, 1e-9, 1 - 1e-9))
    told = (
        pd.DataFrame({"quantity": units.quantity, "span": units.span, "score": score})
        .groupby(["quantity", "span"])
        .score.agg(["mean", "size"])
    )
    return told[(told["mean"].abs() > mean_score) & (told["size"] >= LEAST_UNITS)].reset_index()


def _shifts(newest: pd.DataFrame) -> pd.DataFrame:
    """Return dates about which the units tested jumped together, quantity by quantity, each unit counted once."""
    units = newest.drop_duplicates(["unit_id", "quantity"])
    made = [pd.DataFrame(columns=["span", "units", "mean_score", "instrument", "quantity"])]
    for quantity, part in units.groupby("quantity", sort=True):
        shifts = common_shifts(part.reset_index()[["series", "instrument"]], part.day, part.step_p, SPAN_DAYS)
        if len(shifts):
            made.append(shifts.reset_index().assign(quantity=quantity))
    return pd.concat(made[1:] or made, ignore_index=True)


def words_of_state(series: pd.DataFrame) -> np.ndarray:
    """Return the state in a word: a record that jumped upwards is no steady wear."""
    word = series.state.replace("too_few", "too few readings").to_numpy(object)
    return np.where(series.jump_ratio.to_numpy(float) > 1, "jumped", word)

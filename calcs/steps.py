"""Jumps: a newest reading that its own past does not foretell, the repeat that settles it, and a shift that all drives share."""

from __future__ import annotations

import numpy as np
import pandas as pd
from scipy.special import ndtri

from calcs.trend import FleetFit, refresh

ALARM_P = 0.01
AGREES_P = 0.01
LEAST_UNITS = 8
LEAST_SHARE = 0.5


def repeat_verdicts(fit: FleetFit | list[dict], readings: pd.DataFrame, repeat_ratio: pd.Series) -> pd.DataFrame:
    """Settle by a second reading, taken the same day, whether a jump is real.

    Law
    ---
    alarm: p(newest) < .01; step when the repeat in its place has p < .01 too, else the newest was wild

    Parameters
    ----------
    fit : FleetFit or list of dict
        The fleet as judged, or its group rows [-]
    readings : DataFrame
        All readings of the series concerned, the alarming one the newest [-]
    repeat_ratio : Series
        Ratio of the repeat by series [-]

    Returns
    -------
    verdicts : DataFrame
        By series: p_first, p_repeat, verdict (`none`, `step`, `wild`) [-]

    Examples
    --------
    >>> from calcs.trend import fit_fleet
    >>> life_h, ratio = [400.0, 800.0, 1200.0, 1600.0, 2000.0], [1.0, 1.01, 0.99, 1.0, 1.6]
    >>> frame = pd.DataFrame({"series": 1, "group": 1, "life_h": life_h, "ratio": ratio, "cv": np.nan, "scale": "cuberoot"})
    >>> fit = fit_fleet(frame)
    >>> [repeat_verdicts(fit, frame, pd.Series({1: again}))["verdict"][1] for again in (1.58, 1.01)]
    ['step', 'wild']

    Source
    ------
    Two independent looks at one state; the two levels are our choice, measured on simulated fleets.
    """
    wanted = readings[readings["series"].isin(repeat_ratio.index)]
    first = refresh(fit, wanted).series["last_step_p"]
    newest = wanted.sort_values(["series", "life_h", "ratio"], kind="stable").groupby("series").tail(1)
    second = wanted.copy()
    second.loc[newest.index, "ratio"] = repeat_ratio.reindex(newest["series"]).to_numpy()
    again = refresh(fit, second).series["last_step_p"].reindex(first.index)
    words = np.where(first < ALARM_P, np.where(again < AGREES_P, "step", "wild"), "none")
    return pd.DataFrame({"p_first": first, "p_repeat": again, "verdict": words}, index=first.index)


def common_shifts(readings: pd.DataFrame, day: pd.Series, step_p: pd.Series, span_days: int = 14) -> pd.DataFrame:
    """Find dates at which the drives tested around them jumped together, so that one shift is told and not two hundred alarms.

    Law
    ---
    u = normal score of each newest reading's p; shift at a date when |mean u| sqrt(n) > 5 and more than half lie beyond +1 (or -1)

    Parameters
    ----------
    readings : DataFrame
        Newest reading of each series, columns series, instrument where known [-]
    day : Series
        Day number of that reading by series [day]
    step_p : Series
        Chance of a reading as high by series, as in `FleetFit.series` [-]
    span_days : int
        Days that count as one date [day]

    Returns
    -------
    shifts : DataFrame
        By date (first day of the span): units, mean score, instrument that all of them share or empty [-]

    Examples
    --------
    >>> days, p = pd.Series(range(100)) // 10 * 30, pd.Series(np.linspace(0.05, 0.95, 100))
    >>> p[days == 120] = 0.02
    >>> newest = pd.DataFrame({"series": range(100)})
    >>> common_shifts(newest, days, p).index.tolist()
    [112]

    Source
    ------
    Sum of normal scores, S. A. Stouffer et al. 1949 (from memory); levels are our choice.
    """
    score = pd.Series(-ndtri(np.clip(step_p.to_numpy(float), 1e-9, 1 - 1e-9)), index=step_p.index).dropna()
    frame = pd.DataFrame({"score": score, "span": day.reindex(score.index) // span_days * span_days})
    if "instrument" in readings.columns:
        frame["instrument"] = readings.set_index("series")["instrument"].reindex(score.index)
    else:
        frame["instrument"] = ""
    rows = [_shift_of(span, part) for span, part in frame.groupby("span")]
    found = pd.DataFrame([row for row in rows if row], columns=["span", "units", "mean_score", "instrument"])
    return found.set_index("span")


def largest_shift(values: np.ndarray) -> tuple[int, float, float, float]:
    """Find where a long record of one level splits best into two levels.

    Law
    ---
    largest k (n - k)/n (mean after - mean before)^2 over all k; F = that over the pooled variance within

    Parameters
    ----------
    values : array_like
        Record in order, four values or more [-]

    Returns
    -------
    shift : tuple
        Number of values before the split, mean before, mean after, F [-]

    Examples
    --------
    >>> largest_shift([1.0, 1.2, 0.8, 5.0, 5.2, 4.8])[0]
    3

    Source
    ------
    Likelihood ratio for one change of mean, D. V. Hinkley, Biometrika 57, 1970, 1-17 (from memory). Not for wearing drives: it splits
    most smooth trends.
    """
    y = np.asarray(values, dtype=float)
    if len(y) < 4:
        raise ValueError(f"values must be four or more, got {len(y)}")
    before = np.arange(1, len(y))
    total = np.cumsum(y)
    low, high = total[:-1] / before, (total[-1] - total[:-1]) / (len(y) - before)
    gain = before * (len(y) - before) / len(y) * (high - low) ** 2
    best = int(np.argmax(gain))
    within = ((y - y.mean()) ** 2).sum() - gain[best]
    return best + 1, float(low[best]), float(high[best]), float(gain[best] / max(within / (len(y) - 2), 1e-300))


def _shift_of(span: int, part: pd.DataFrame) -> tuple | None:
    mean, units = float(part["score"].mean()), len(part)
    same_way = float((np.sign(mean) * part["score"] > 1).mean())
    if units < LEAST_UNITS or abs(mean) * np.sqrt(units) < 5 or same_way <= LEAST_SHARE:
        return None
    gauges = part["instrument"].dropna().unique()
    return int(span), units, mean, gauges[0] if len(gauges) == 1 else ""

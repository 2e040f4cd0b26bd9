"""Hours from the newest reading to the limit, as chances: what the record and the fleet leave open, pushed to the limit."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike
from scipy.special import ndtr

from calcs.backtest import BEND_OF_PATH
from calcs.curvature import WINGS
from calcs.group import Numbers, numbers_by_series
from calcs.judging import RECORD, record_from
from calcs.ladder import stroll_of
from calcs.posterior import weigh_all
from calcs.series import BEGINNINGS
from calcs.trend import FleetFit

HORIZON_H = 100_000.0
SIZES = (15, 7)
BINS = 48
LEAST_BEYOND = 1e-4
NEARLY_ONE = 1.0 - 1e-4
BLOCK = 4096
LEVEL_NODES = ((-np.sqrt(3.0), 1 / 6), (0.0, 2 / 3), (np.sqrt(3.0), 1 / 6))


def hours_to_limit(
    fit: FleetFit, limit_ratio: float | Mapping | pd.Series, probabilities: Sequence[float] = (0.1, 0.5, 0.9)
) -> pd.DataFrame:
    """Return by when, counted in engine hours from the newest reading, each series reaches its limit with each probability.

    Law
    ---
    chance of the limit within R = sum over slopes and levels of share x [crossing hours - last hours <= R]

    Parameters
    ----------
    fit : FleetFit
        A fleet judged by `calcs.trend.fit_fleet` [-]
    limit_ratio : float, Series or mapping
        Limit as reading over baseline, above 1: one for all, or by series [-]
    probabilities : sequence of float
        Between 0 and 1 [-]

    Returns
    -------
    hours : DataFrame
        One row a series, one column a probability; `inf` where no limit is in sight within 100,000 h, NaN where there is no basis (no
        reading, or a single one of a drive first seen late) [h]

    Examples
    --------
    >>> from calcs.trend import fit_fleet
    >>> frame = pd.DataFrame({"series": 1, "group": 1, "life_h": [500.0, 1000.0, 1500.0, 2000.0], "ratio": [1.1, 1.25, 1.4, 1.6]})
    >>> fit = fit_fleet(frame.assign(cv=np.nan, scale="cuberoot"))
    >>> early, middle, late = hours_to_limit(fit, 2.0).loc[1]
    >>> bool(300 < early < middle < late < 3000)
    True

    Source
    ------
    C. J. Lu and W. Q. Meeker, Technometrics 35(2), 1993, 161-174; three nodes of the Gauss-Hermite rule for the level.
    """
    chances = np.asarray(probabilities, dtype=float)
    if not len(chances) or np.any((chances <= 0) | (chances >= 1)) or not np.all(np.isfinite(chances)):
        raise ValueError(f"probabilities must lie between 0 and 1, got {list(probabilities)}")
    reach = _reach_by_series(fit, limit_ratio)
    count = fit.series["n"].to_numpy()
    known = (fit.group_code >= 0) & ~((count < 2) & (fit.began == BEGINNINGS.index("first_seen")))
    hours = np.full((len(count), len(chances)), np.nan)
    rows = np.flatnonzero(known)
    for first in range(0, len(rows), BLOCK):
        block = rows[first : first + BLOCK]
        numbers = numbers_by_series(fit.numbers, fit.group_code[block], fit.began[block])
        hours[block] = _quantiles(fit.record[block], count[block], fit.last_h[block], reach[block], numbers, chances)
    return pd.DataFrame(hours, index=fit.series.index, columns=list(probabilities))


def _reach_by_series(fit: FleetFit, limit_ratio: float | Mapping | pd.Series) -> np.ndarray:
    """Distance from baseline to limit on the straight scale, one a series."""
    if isinstance(limit_ratio, Mapping | pd.Series):
        limit = fit.series.index.map(dict(limit_ratio)).to_numpy(float)
    else:
        limit = np.full(len(fit.series), float(limit_ratio))
    wrong = ~(limit > 1) | ~np.isfinite(limit)
    if np.any(wrong):
        raise ValueError(f"limit_ratio must be above 1 for every series, got {limit[wrong][0]}")
    cube = np.array([group.cube for group in fit.numbers] + [True])[fit.group_code]
    return np.where(cube, np.cbrt(limit) - 1.0, np.log(limit))


def _quantiles(record: np.ndarray, count, last_h, reach, numbers: Numbers, chances: ArrayLike) -> np.ndarray:
    parts = dict(zip(RECORD, record.T, strict=True))
    ends = [(last_h / numbers.age_h) ** (numbers.curvature + bend) for bend in WINGS]
    named = [(parts["a"], parts[f"b{j}"], parts[f"c{j}"], parts["total"], parts["level"], parts[f"x{j}"]) for j in range(3)]
    records = [record_from(name, numbers, count, bend, end) for name, bend, end in zip(named, WINGS, ends, strict=True)]
    answer = weigh_all(records, numbers.idle, numbers.doubt, SIZES)
    from_h = np.maximum(last_h, 0.01 * numbers.age_h)
    spread = records[1].noise / (numbers.freedom + count - 2) / records[1].total
    crossings = []
    for share, nodes, bend in zip(answer.share, answer.nodes, answer.bends, strict=True):
        curvature = numbers.curvature + WINGS[bend]
        x_last = ends[bend]
        record_j = records[bend]
        gap = (reach - record_j.level / record_j.total) - nodes.slope * (x_last - record_j.x_sum / record_j.total)
        sd = nodes.quality * spread
        if np.any(numbers.phi > 0):
            stroll = stroll_of(nodes.slope, np.exp(record_j.log_slope))
            sd += numbers.phi * numbers.reach * (np.maximum(gap, 0.0) / nodes.slope + BEND_OF_PATH * x_last) * stroll
        np.sqrt(sd, out=sd)
        over, start = 1.0 / nodes.slope, np.log(from_h / numbers.age_h)
        for place, part in LEVEL_NODES:
            crossings.append((share * part, _stretched(gap + place * sd if place else gap, over, x_last, curvature, start)))
    own = records[1]
    level_sd = np.sqrt((1.0 + own.a / own.noise) * spread)
    beyond = answer.idle * ndtr((own.level / own.total - reach) / level_sd)
    return _read_off(crossings, beyond, last_h, from_h, chances)


def _stretched(gap, over, x_last, curvature, start) -> np.ndarray:
    """Root of the log of crossing hours over last hours: fine steps near by, wide ones far away; 0 where the limit is behind."""
    gap = gap * over
    gap += x_last
    out = gap.astype(np.float32)  # places in bins need no more digits
    np.maximum(out, np.float32(1e-30), out=out)
    np.log(out, out=out)
    out *= (1.0 / curvature).astype(np.float32)
    out -= start.astype(np.float32)
    np.maximum(out, np.float32(0.0), out=out)
    return np.sqrt(out, out=out)


def _read_off(crossings, beyond, last_h, from_h, chances) -> np.ndarray:
    """Fill bins of the stretched hours, add up, and read the hours at each chance between the edges; `beyond` is there already."""
    units = len(last_h)
    horizon = np.sqrt(np.log((last_h + HORIZON_H) / from_h))
    low = np.min([at[-1] for _, at in crossings], axis=0)
    high = np.minimum(np.max([at[0] for _, at in crossings], axis=0), horizon)
    low = np.where(beyond > LEAST_BEYOND, 0.0, np.minimum(low, high))
    step = np.maximum(high - low, 1e-9) / BINS
    unit, over = np.arange(units), 1.0 / step
    over, upward = over.astype(np.float32), (NEARLY_ONE - low * over).astype(np.float32)
    filled = np.zeros(units * (BINS + 2))
    filled[:units] = beyond
    for share, at in crossings:
        at *= over
        at += upward
        np.clip(at, 0, BINS + 1, out=at)
        place = at.astype(np.int64)
        place *= units
        place += unit
        filled += np.bincount(place.ravel(), share.ravel(), len(filled))
    chance = np.cumsum(filled.reshape(BINS + 2, units)[: BINS + 1], axis=0)
    return np.stack([_at_chance(chance, p, low, step, last_h, from_h) for p in chances], axis=1)


def _at_chance(chance, p: float, low, step, last_h, from_h) -> np.ndarray:
    place = np.count_nonzero(chance < p, axis=0)
    inside = np.clip(place, 1, BINS)
    units = np.arange(len(low))
    before, after = chance[inside - 1, units], chance[inside, units]
    part = np.clip((p - before) / np.maximum(after - before, 1e-300), 0.0, 1.0)
    at = low + (inside - 1 + part) * step
    hours = np.maximum(from_h * np.exp(at * at) - last_h, 0.0)
    hours = np.where((place == 0) & (low == 0), 0.0, hours)
    return np.where(place > BINS, np.inf, hours)

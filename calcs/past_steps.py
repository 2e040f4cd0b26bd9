"""Jumps in old records: where a drive's record is one line broken by a jump, and no single line tells it."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pandas as pd
from scipy import stats

from calcs.gauges import corrected
from calcs.group import GroupNumbers
from calcs.series import Layout, lay_out

BESIDE = 2  # readings that a jump must have on either side: one alone cannot be told from a wild one
CHANCE = 1e-3
MATERIAL = 0.3  # share of the way from new to worn
EXPLAINED = 0.6  # share of what one line leaves unexplained


def past_steps(numbers: Sequence[GroupNumbers], readings: pd.DataFrame, gauges: pd.DataFrame | None = None) -> pd.DataFrame:
    """Find in every series the reading from which on it stands higher (or lower) than one line with its noise allows.

    Law
    ---
    largest over all splits of (misfit of one line - misfit of two parallel lines) / s^2; s^2 = (d s0^2 + misfit of two)/(d + n - 3)

    Parameters
    ----------
    numbers : sequence of GroupNumbers
        Noise and curvature of the groups, as `fit_fleet` keeps them [-]
    readings : DataFrame
        As for `calcs.trend.fit_fleet` [-]
    gauges : DataFrame or None
        Offsets of gauges to take out first [-]

    Returns
    -------
    steps : DataFrame
        By series that jumped: row (place of the first reading after it in `readings`), from_h and to_h (hours of the readings on either
        side), before_ratio and after_ratio at to_h, deviations (height over its own uncertainty) [-]

    Examples
    --------
    >>> from calcs.trend import fit_fleet
    >>> life_h = [300.0, 600.0, 900.0, 1200.0, 1500.0, 1800.0, 2100.0] * 2
    >>> ratio = [1.0, 1.02, 1.01, 1.03, 2.0, 2.02, 1.98] + [1.0, 1.15, 1.3, 1.5, 1.7, 1.9, 2.1]
    >>> frame = pd.DataFrame({"series": [1] * 7 + [2] * 7, "group": 1, "life_h": life_h, "ratio": ratio, "cv": np.nan, "scale": "cuberoot"})
    >>> past_steps(fit_fleet(frame).numbers, frame)[["from_h", "to_h"]].to_dict("index")
    {1: {'from_h': 1200.0, 'to_h': 1500.0}}

    Source
    ------
    Likelihood ratio for one change, D. V. Hinkley, Biometrika 57, 1970, 1-17 (from memory), with a common slope, so that steady wear is no
    change; variance moderated after G. K. Smyth 2004; chance of a slip times the number of splits after Bonferroni. The levels are ours.
    """
    layout = lay_out(readings)
    if gauges is not None and layout.instrument is not None:
        layout = corrected(layout, gauges)
    by_label = {group.group: group for group in numbers}
    labels, code = np.unique(layout.group, return_inverse=True)
    mine = [by_label[label] for label in labels.tolist()]
    return _framed(layout, _split(layout, mine, code))


def _split(layout: Layout, mine: list[GroupNumbers], code: np.ndarray) -> dict[str, np.ndarray]:
    """Try every split of every series at once, from running sums; one entry a split."""
    bend, age, noise, freedom, reach = (
        np.array([getattr(group, name) for group in mine], dtype=float)[code] for name in ("curvature", "age_h", "noise", "noise_freedom", "reach")
    )  # fmt: skip
    x = (layout.hours / layout.spread(age)) ** layout.spread(bend)
    y = layout.straight
    weight = np.where(layout.spread(layout.cube), (1.0 + y) ** -2.0, 1.0)
    before, all_of = _sums_before(x, y, weight, layout), _sums_of(x, y, weight, layout)
    after = all_of - before
    place = np.arange(len(x)) - layout.spread(layout.start)
    count = layout.spread(layout.count)
    inside = (place >= BESIDE) & (count - place >= BESIDE)
    one, parted = _about(all_of), _about(before) + _about(after)
    slope = np.maximum(_share(parted[2], parted[1]), 0.0)
    misfit_two = np.maximum(parted[0] - 2 * slope * parted[2] + slope**2 * parted[1], 0.0)
    slope_one = np.maximum(_share(one[2], one[1]), 0.0)
    misfit_one = np.maximum(one[0] - 2 * slope_one * one[2] + slope_one**2 * one[1], 0.0)
    gain = np.where(inside, np.maximum(misfit_one - misfit_two, 0.0), 0.0)
    free = layout.spread(freedom) + count - 3
    variance = (layout.spread(freedom * noise**2) + misfit_two) / free
    level_before = _share(before[2], before[0]) - slope * _share(before[1], before[0])
    level_after = _share(after[2], after[0]) - slope * _share(after[1], after[0])
    return {
        "gain": gain, "score": gain / variance, "free": free, "height": level_after - level_before, "before": level_before + slope * x,
        "after": level_after + slope * x, "share": _share(gain, misfit_one), "tried": count - 2 * BESIDE + 1, "reach": layout.spread(reach),
    }  # fmt: skip


def _sums_before(x, y, weight, layout: Layout) -> np.ndarray:
    """Sums over the readings of the same series that come before each reading."""
    running = np.cumsum(_products(x, y, weight), axis=1)
    earlier = np.concatenate([np.zeros((6, 1)), running[:, :-1]], axis=1)
    return earlier - np.repeat(earlier[:, layout.start], layout.count, axis=1)


def _sums_of(x, y, weight, layout: Layout) -> np.ndarray:
    return np.repeat(np.add.reduceat(_products(x, y, weight), layout.start, axis=1), layout.count, axis=1)


def _products(x, y, weight) -> np.ndarray:
    return np.stack([weight, weight * x, weight * y, weight * x * x, weight * x * y, weight * y * y])


def _about(sums: np.ndarray) -> np.ndarray:
    """Sums about the mean: of y y, x x and x y."""
    w, x, y, xx, xy, yy = sums
    return np.stack([yy - _share(y * y, w), xx - _share(x * x, w), xy - _share(x * y, w)])


def _share(part: np.ndarray, whole: np.ndarray) -> np.ndarray:
    return np.where(whole > 1e-12, part / np.where(whole > 1e-12, whole, 1.0), 0.0)


def _framed(layout: Layout, split: dict[str, np.ndarray]) -> pd.DataFrame:
    """Keep the best split of each series, where it is beyond chance, explains the record, and matters."""
    best = _best_of_series(split["score"], layout)
    of = {name: values[best] for name, values in split.items()}
    chance = 2 * stats.t.sf(np.sqrt(of["score"]), of["free"]) * np.maximum(of["tried"], 1)
    found = (chance < CHANCE) & (np.abs(of["height"]) > MATERIAL * of["reach"]) & (of["share"] > EXPLAINED)
    at, series = best[found], np.flatnonzero(found)
    cube = layout.cube[series]
    return pd.DataFrame(
        {
            "row": layout.row[at],
            "from_h": layout.hours[at - 1],
            "to_h": layout.hours[at],
            "before_ratio": _ratio(of["before"][found], cube),
            "after_ratio": _ratio(of["after"][found], cube),
            "deviations": np.sqrt(of["score"][found]),
        },
        index=pd.Index(layout.label[series], name="series"),
    )


def _best_of_series(score: np.ndarray, layout: Layout) -> np.ndarray:
    """Place of the largest score of each series; the first of equals."""
    if not len(score):
        return np.zeros(0, int)
    largest = layout.spread(np.maximum.reduceat(score, layout.start))
    places = np.where(score >= largest, np.arange(len(score)), len(score))
    return np.minimum.reduceat(places, layout.start)


def _ratio(level: np.ndarray, cube: np.ndarray) -> np.ndarray:
    return np.where(cube, np.maximum(1 + level, 0.0) ** 3, np.exp(level))

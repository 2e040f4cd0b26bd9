"""Gauges seen through the whole fleet: how far each reads off, and an early sign that one has begun to."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import pandas as pd
from scipy.special import ndtr

from calcs.series import Layout

REFERENCE_SLACK, ALARM_AT = 0.25, 8.0
HELD_SD = 3.0
USUAL_OFFSET_SD = 0.02
FIRM_PASSES = 3
MOST_SERIES = 4000


def gauge_offsets(
    series: np.ndarray, life_h: np.ndarray, log_ratio: np.ndarray, gauge: np.ndarray, offset_sd: float = USUAL_OFFSET_SD
) -> pd.DataFrame:
    """Solve how far each gauge reads off from all drives at once, after each drive's own line is taken out.

    Law
    ---
    (G'MG + s^2/offset_sd^2 I) offset = G'M y, M takes out level and slope of every drive

    Parameters
    ----------
    series : array_like
        Drive (and epoch) of each reading [-]
    life_h : array_like
        Hours of each reading [h]
    log_ratio : array_like
        Logarithm of the ratio of each reading [-]
    gauge : array_like
        Name of the gauge that took it [-]
    offset_sd : float
        How far gauges usually read apart, as a share [-]

    Returns
    -------
    offsets : DataFrame
        By gauge: offset (share, above zero reads high), its uncertainty, n readings [-]

    Examples
    --------
    Two gauges, each drive read twice by both, the second 4 % high:

    >>> series = np.repeat(np.arange(60), 4)
    >>> gauge = np.tile(["a", "b", "a", "b"], 60)
    >>> noise = np.random.default_rng(2).normal(0, 0.02, 240)
    >>> found = gauge_offsets(series, np.tile([0.0, 0.0, 500.0, 500.0], 60), noise + 0.04 * (gauge == "b"), gauge)
    >>> bool(abs(found.loc["b", "offset"] - found.loc["a", "offset"] - 0.04) < 0.01)
    True

    Source
    ------
    Random effects crossed with drives: C. R. Henderson, Biometrics 31, 1975, 423-447 (from memory); wild residuals held at 3 SD by us.
    """
    of, _ = pd.factorize(np.asarray(series), sort=True)
    names, at = np.unique(np.asarray(gauge, dtype=str), return_inverse=True)
    y = np.asarray(log_ratio, dtype=float)
    lines = _lines(of, np.asarray(life_h, dtype=float))
    marks = np.zeros((len(y), len(names)))
    marks[np.arange(len(y)), at] = 1.0
    free = max(len(y) - lines.taken - len(names) + 1, 1)
    offset, weight = np.zeros(len(names)), np.ones(len(y))
    for _ in range(FIRM_PASSES):
        left = lines.residual(np.column_stack([marks, y]), weight)
        inner = (left[:, :-1] * weight[:, None]).T @ left[:, :-1]
        rest = left[:, -1] - left[:, :-1] @ offset
        variance = max(float((weight * rest * rest).sum()) / free, 1e-12)
        inverse = np.linalg.inv(inner + variance / offset_sd**2 * np.eye(len(names)))
        offset = inverse @ ((left[:, :-1] * weight[:, None]).T @ left[:, -1])
        rest = left[:, -1] - left[:, :-1] @ offset
        usual = 1.4826 * np.median(np.abs(rest)) * np.sqrt(len(y) / free) + 1e-12
        weight = np.minimum(1.0, HELD_SD * usual / np.maximum(np.abs(rest), 1e-300))
    counts = np.bincount(at, minlength=len(names))
    frame = {"offset": offset, "uncertainty": np.sqrt(np.diag(inverse) * variance), "n": counts}
    return pd.DataFrame(frame, index=pd.Index(names, name="gauge"))


@dataclass(frozen=True)
class _Lines:
    """Own lines of many drives, to be taken out of columns."""

    of: np.ndarray
    hours: np.ndarray
    taken: int

    def residual(self, columns: np.ndarray, weight: np.ndarray) -> np.ndarray:
        """Return columns less each drive's own level and, where it has three readings, slope."""
        total = np.bincount(self.of, weight)
        middle = (np.bincount(self.of, weight * self.hours) / total)[self.of]
        away = self.hours - middle
        square = np.bincount(self.of, weight * away * away)
        steep = np.where((square > 1e-6) & (np.bincount(self.of) >= 3), 1 / np.maximum(square, 1e-300), 0.0)
        out = np.empty_like(columns)
        for number, column in enumerate(columns.T):
            level = (np.bincount(self.of, weight * column) / total)[self.of]
            slope = (np.bincount(self.of, weight * away * column) * steep)[self.of]
            out[:, number] = column - level - slope * away
        return out


def _lines(of: np.ndarray, hours: np.ndarray) -> _Lines:
    count = np.bincount(of)
    return _Lines(of, hours, int(len(count) + (count >= 3).sum()))


def without_gauge_offsets(readings: pd.DataFrame, offsets: pd.DataFrame) -> pd.DataFrame:
    """Return the readings with each gauge's own offset taken out of the ratio.

    Parameters
    ----------
    readings : DataFrame
        Columns ratio and instrument [-]
    offsets : DataFrame
        As from `gauge_offsets` [-]

    Returns
    -------
    readings : DataFrame
        A copy, ratio corrected; rows without a gauge are left as they are [-]

    Examples
    --------
    >>> offsets = pd.DataFrame({"offset": [np.log(1.1)]}, index=["a"])
    >>> without_gauge_offsets(pd.DataFrame({"ratio": [1.1, 1.0], "instrument": ["a", None]}), offsets)["ratio"].round(9).tolist()
    [1.0, 1.0]

    Source
    ------
    Correction of a known bias, JCGM 100:2008 (GUM), 3.2.4.
    """
    known = readings["instrument"].map(offsets["offset"]).fillna(0.0)
    return readings.assign(ratio=readings["ratio"] * np.exp(-known.to_numpy(float)))


@dataclass(frozen=True)
class GaugeWatch:
    """Sums up and down after each test of one gauge, and after which test (counted from 1) each first passed the alarm."""

    up: np.ndarray
    down: np.ndarray
    alarm_up: int | None
    alarm_down: int | None


def watch_gauge(residual_sd: np.ndarray, slack: float = REFERENCE_SLACK, alarm_at: float = ALARM_AT) -> GaugeWatch:
    """Add up what a gauge reads above and below forecast, test after test, and say when it is too much to be chance.

    Law
    ---
    up = max(0, up + u - k), alarm when up > h; down the same with -u; u held at 3 SD

    Parameters
    ----------
    residual_sd : array_like
        Reading less forecast over its standard deviation, in the order of testing; NaN rows count as 0 [-]
    slack : float
        k [-]
    alarm_at : float
        h [-]

    Returns
    -------
    watch : GaugeWatch
        Sums and first alarms [-]

    Examples
    --------
    >>> watch_gauge([1.0] * 20).alarm_up
    11

    Source
    ------
    E. S. Page, Biometrika 41, 1954, 100-115 (from memory); run lengths by `run_length`.
    """
    u = np.clip(np.nan_to_num(np.asarray(residual_sd, dtype=float)), -HELD_SD, HELD_SD)
    up, down = _summed(u - slack), _summed(-u - slack)
    first = [int(np.argmax(side > alarm_at)) + 1 if np.any(side > alarm_at) else None for side in (up, down)]
    return GaugeWatch(up, down, *first)


def _summed(steps: np.ndarray) -> np.ndarray:
    """Sum that never falls below zero: running sum less its lowest point so far."""
    total = np.cumsum(steps)
    return total - np.minimum.accumulate(np.minimum(total, 0.0))


def run_length(shift_sd: float, slack: float = REFERENCE_SLACK, alarm_at: float = ALARM_AT, states: int = 400) -> float:
    """Return after how many tests on average a one-sided sum gives alarm.

    Law
    ---
    L = (I - R)^-1 1, R the chances of going from one of many small states of the sum to another without alarm

    Parameters
    ----------
    shift_sd : float
        How far the gauge reads off, in standard deviations of a residual; 0 for a good gauge [-]
    slack : float
        k [-]
    alarm_at : float
        h [-]
    states : int
        Number of states [-]

    Returns
    -------
    tests : float
        Mean number of tests until alarm [-]

    Examples
    --------
    Table value 335.4 at k = .5, h = 4:

    >>> round(run_length(0.0, 0.5, 4.0), 0)
    335.0

    Source
    ------
    D. Brook and D. A. Evans, Biometrika 59(3), 1972, 539-549: the Markov chain; states in equal steps about their middles.
    """
    width = 2 * alarm_at / (2 * states - 1)
    middles = width * np.arange(states)
    upper = ndtr(middles[None, :] + width / 2 - middles[:, None] + slack - shift_sd)
    chance = np.diff(upper, axis=1, prepend=0.0)
    return float(np.linalg.solve(np.eye(states) - chance, np.ones(states))[0])


def gauge_names(layout: Layout) -> np.ndarray:
    """Return for every reading the gauge that took it, one name a family of quantities, empty where none is named.

    Parameters
    ----------
    layout : Layout
        A fleet's readings, with instruments [-]

    Returns
    -------
    names : ndarray
        Names [-]

    Examples
    --------
    >>> from calcs.series import lay_out
    >>> frame = pd.DataFrame({"series": 1, "group": 1, "life_h": [1.0, 2.0], "ratio": 1.0, "cv": np.nan, "scale": "log"})
    >>> gauge_names(lay_out(frame.assign(instrument=["a", None]))).tolist()
    ['log a', '']

    Source
    ------
    Our own way of naming.
    """
    family = layout.family.astype(str) if layout.family is not None else np.where(layout.cube, "cuberoot", "log")
    known = ~pd.isna(layout.instrument)
    names = np.full(len(layout.hours), "", dtype=object)
    names[known] = layout.spread(family)[known].astype(object) + " " + layout.instrument[known].astype(str).astype(object)
    return names


def offsets_of(layout: Layout) -> pd.DataFrame | None:
    """Return the offsets of all gauges of a fleet, from at most some thousand of its series; None where fewer than two are named.

    Parameters
    ----------
    layout : Layout
        A fleet's readings, with instruments [-]

    Returns
    -------
    offsets : DataFrame or None
        As from `gauge_offsets` [-]

    Examples
    --------
    >>> from calcs.series import lay_out
    >>> frame = pd.DataFrame({"series": 1, "group": 1, "life_h": [1.0, 2.0], "ratio": 1.0, "cv": np.nan, "scale": "log"})
    >>> offsets_of(lay_out(frame.assign(instrument="a"))) is None
    True

    Source
    ------
    `gauge_offsets` on a systematic sample.
    """
    names = gauge_names(layout)
    tried = np.flatnonzero(layout.count >= 3)
    tried = tried[np.argsort(layout.hours[layout.start[tried] + layout.count[tried] - 1], kind="stable")]
    tried = np.sort(tried[np.unique(np.linspace(0, len(tried) - 1, MOST_SERIES).astype(int))]) if len(tried) else tried
    rows = np.flatnonzero(layout.spread(np.isin(np.arange(len(layout.count)), tried)) & (names != ""))
    if len(np.unique(names[rows].astype(str))) < 2:
        return None
    log_ratio = _log_ratio(layout.straight, layout.spread(layout.cube))
    series = layout.spread(np.arange(len(layout.count)))
    return gauge_offsets(series[rows], layout.hours[rows], log_ratio[rows], names[rows])


def corrected(layout: Layout, offsets: pd.DataFrame) -> Layout:
    """Return the layout with the offsets of its gauges taken out.

    Parameters
    ----------
    layout : Layout
        A fleet's readings, with instruments [-]
    offsets : DataFrame
        As from `offsets_of` [-]

    Returns
    -------
    layout : Layout
        The same, corrected [-]

    Examples
    --------
    >>> from calcs.series import lay_out
    >>> frame = pd.DataFrame({"series": 1, "group": 1, "life_h": [1.0, 2.0], "ratio": [1.1, 1.0], "cv": np.nan, "scale": "log"})
    >>> offsets = pd.DataFrame({"offset": [float(np.log(1.1))]}, index=["log a"])
    >>> corrected(lay_out(frame.assign(instrument=["a", "b"])), offsets).straight.round(9).tolist()
    [0.0, 0.0]

    Source
    ------
    Correction of a known bias, JCGM 100:2008 (GUM), 3.2.4.
    """
    off = pd.Series(gauge_names(layout)).map(offsets["offset"]).fillna(0.0).to_numpy(float)
    cube = layout.spread(layout.cube)
    log_ratio = _log_ratio(layout.straight, cube) - off
    return replace(layout, straight=np.where(cube, np.exp(log_ratio / 3) - 1.0, log_ratio))


def _log_ratio(straight: np.ndarray, cube: np.ndarray) -> np.ndarray:
    return np.where(cube, 3 * np.log1p(np.where(cube, straight, 0.0)), straight)

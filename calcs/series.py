"""A fleet's readings laid out for sums: sorted by series and hours, six sums a series, the baseline as pseudo-readings."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike

from calcs.scales import CUBE_ROOT, SCALES

BEGINNINGS = ("new", "overhauled", "repaired", "first_seen", "new_gauge")
NEEDED = ("series", "group", "life_h", "ratio", "cv", "scale")
TICKS_PER_HOUR = 100


@dataclass(frozen=True)
class Layout:
    """Usable readings sorted by series, hours and ratio; one entry a series in `label`, `group`, `began`, `count`, `start`."""

    label: np.ndarray
    group: np.ndarray
    began: np.ndarray
    cube: np.ndarray
    count: np.ndarray
    start: np.ndarray
    row: np.ndarray
    hours: np.ndarray
    straight: np.ndarray
    cv: np.ndarray | None
    instrument: np.ndarray | None
    all_labels: np.ndarray
    family: np.ndarray | None
    limit_ratio: np.ndarray | None

    def spread(self, per_series: np.ndarray) -> np.ndarray:
        """Return one value a series repeated for each of its readings."""
        return np.repeat(per_series, self.count)


def lay_out(readings: pd.DataFrame) -> Layout:
    """Sort a frame of readings by series and hours, leave out rows that cannot be judged, and refuse what contradicts itself.

    Parameters
    ----------
    readings : DataFrame
        Columns series, group, life_h, ratio, cv, scale; began, instrument, family, limit_ratio may be absent [-]

    Returns
    -------
    layout : Layout
        Arrays in the order series, hours, ratio [-]

    Examples
    --------
    >>> frame = pd.DataFrame({"series": [7, 7], "group": 1, "life_h": [900.0, 400.0], "ratio": [8.0, 1.0]})
    >>> frame = frame.assign(cv=np.nan, scale="cuberoot")
    >>> lay_out(frame).straight.tolist()
    [0.0, 1.0]

    Source
    ------
    Our own layout.
    """
    _check_columns(readings)
    hours, ratio = readings["life_h"].to_numpy(float), readings["ratio"].to_numpy(float)
    if np.any(hours < 0):
        raise ValueError(f"life_h must not be below zero, got {np.nanmin(hours)}")
    series = readings["series"].to_numpy()
    usable = np.isfinite(hours) & np.isfinite(ratio) & (ratio > 0)
    row = np.arange(len(series)) if usable.all() else np.flatnonzero(usable)
    row = row[_order(series[row], hours[row], ratio[row])]
    sorted_series = series[row]
    start = np.flatnonzero(np.r_[True, sorted_series[1:] != sorted_series[:-1]]) if len(row) else np.zeros(0, int)
    first = row[start]
    group = _constant(readings["group"].to_numpy(), row, start, "group")
    cube = _cube_by_row(readings["scale"])
    _constant(cube, row, start, "scale")
    return Layout(
        label=series[first], group=group, began=_began(readings, row, start), cube=cube[first], count=np.diff(np.r_[start, len(row)]),
        start=start, row=row, hours=hours[row], straight=_straight(ratio[row], cube[row]), cv=_stated(readings["cv"], row),
        instrument=_texts(readings, "instrument", row), all_labels=series[first] if usable.all() else np.unique(series),
        family=_optional(readings, "family", row, start), limit_ratio=_optional(readings, "limit_ratio", row, start),
    )  # fmt: skip


def six_sums(x: np.ndarray, y: np.ndarray, weight: np.ndarray, start: np.ndarray) -> np.ndarray:
    """Add up, for every series, all that a straight line needs to know of its readings.

    Law
    ---
    W = sum w, X = sum w x, Y = sum w y, XX = sum w x^2, XY = sum w x y, YY = sum w y^2

    Parameters
    ----------
    x : ndarray
        Place of each reading along the line, all series one after the other [-]
    y : ndarray
        Straight figure of each reading, less one [-]
    weight : ndarray
        Weight of each reading [-]
    start : ndarray
        Where each series begins; none is empty [-]

    Returns
    -------
    sums : ndarray
        Six rows W, X, Y, XX, XY, YY, one column a series [-]

    Examples
    --------
    >>> six_sums(np.array([1.0, 2, 5]), np.array([3.0, 4, 6]), np.ones(3), np.array([0, 2]))[:, 0].tolist()
    [2.0, 3.0, 7.0, 5.0, 11.0, 25.0]

    Source
    ------
    Normal equations of a weighted line, any text on regression.
    """
    wx, wy = weight * x, weight * y
    return np.stack([np.add.reduceat(part, start) for part in (weight, wx, wy, wx * x, wx * y, wy * y)])


def parabola(sums: np.ndarray, baseline_weight: ArrayLike = 0.0, baseline: ArrayLike = 0.0) -> tuple[np.ndarray, ...]:
    """Take the level out of the six sums, so that a parabola in the slope remains; the baseline counts as readings at hour zero.

    Law
    ---
    W' = W + n0, Y' = Y + n0 a0; A = YY + n0 a0^2 - Y'^2/W', B = XY - X Y'/W', C = XX - X^2/W'; Q(slope) = A - 2 B slope + C slope^2

    Parameters
    ----------
    sums : ndarray
        Six sums, one column a series [-]
    baseline_weight : array_like
        How many readings n0 the calculated baseline is worth [-]
    baseline : array_like
        Where a0 the fleet starts on the straight scale, less one [-]

    Returns
    -------
    parts : tuple of ndarray
        A, B, C, W', Y' [-]

    Examples
    --------
    >>> a, b, c, *_ = parabola(six_sums(np.array([0.0, 1, 2]), np.array([0.0, 0.1, 0.2]), np.ones(3), np.array([0])))
    >>> round(float(b[0] / c[0]), 9)
    0.1

    Source
    ------
    Profile of a least-squares sum over its intercept; D. V. Lindley and A. F. M. Smith, J. R. Stat. Soc. B 34, 1972 (from memory).
    """
    w, x, y, xx, xy, yy = sums
    total, level = w + baseline_weight, y + baseline_weight * baseline
    a = yy + baseline_weight * baseline * baseline - level * level / total
    return np.maximum(a, 0.0), xy - x * level / total, np.maximum(xx - x * x / total, 0.0), total, level


def _check_columns(readings: pd.DataFrame) -> None:
    missing = [name for name in NEEDED if name not in readings.columns]
    if missing:
        raise ValueError(f"readings must have the columns {NEEDED}, missing {missing}")
    for name in ("series", "group"):
        if readings[name].isna().any():
            raise ValueError(f"{name} must be given for every reading, got {readings[name].isna().sum()} without")


def _order(series: np.ndarray, hours: np.ndarray, ratio: np.ndarray) -> np.ndarray:
    same = series[1:] == series[:-1]
    rising = (hours[1:] > hours[:-1]) | ((hours[1:] == hours[:-1]) & (ratio[1:] >= ratio[:-1]))
    if np.all((series[1:] > series[:-1]) | (same & rising)):
        return np.arange(len(series))
    key = _key(series, hours)
    if key is None:
        return np.lexsort((ratio, hours, series))
    order = np.argsort(key, kind="stable")
    return _settle_ties(order, key, hours, ratio)


def _key(series: np.ndarray, hours: np.ndarray) -> np.ndarray | None:
    """Pack series and hundredths of an hour into one integer; None where they do not fit."""
    if series.dtype.kind not in "iu" or hours.max() > 1e7:
        return None
    low, span = int(series.min()), int(hours.max() * TICKS_PER_HOUR) + 2
    if (int(series.max()) - low + 1) * span >= 2**62:
        return None
    return (series.astype(np.int64) - low) * span + np.floor(hours * TICKS_PER_HOUR).astype(np.int64)


def _settle_ties(order: np.ndarray, key: np.ndarray, hours: np.ndarray, ratio: np.ndarray) -> np.ndarray:
    placed = key[order]
    tied = np.zeros(len(order), bool)
    same = placed[1:] == placed[:-1]
    tied[1:] |= same
    tied[:-1] |= same
    at = np.flatnonzero(tied)
    if len(at):
        rows = order[at]
        order[at] = rows[np.lexsort((ratio[rows], hours[rows], key[rows]))]
    return order


def _constant(values: np.ndarray, row: np.ndarray, start: np.ndarray, name: str) -> np.ndarray:
    placed = values[row]
    change = np.flatnonzero(placed[1:] != placed[:-1]) + 1
    if len(np.setdiff1d(change, start, assume_unique=True)):
        raise ValueError(f"{name} must be the same for every reading of a series")
    return placed[start]


def _cube_by_row(scale: pd.Series) -> np.ndarray:
    codes, names = pd.factorize(scale)
    wrong = [name for name in names if name not in SCALES]
    if wrong or np.any(codes < 0):
        raise ValueError(f"scale must be one of {SCALES}, got {wrong or None}")
    return np.array([name == CUBE_ROOT for name in names], bool)[codes] if len(codes) else np.zeros(0, bool)


def _straight(ratio: np.ndarray, cube: np.ndarray) -> np.ndarray:
    if cube.all():
        return np.cbrt(ratio) - 1.0
    return np.where(cube, np.cbrt(ratio) - 1.0, np.log(ratio))


def _stated(cv: pd.Series, row: np.ndarray) -> np.ndarray | None:
    values = cv.to_numpy(float)
    known = np.isfinite(values)
    if np.any(values[known] < 0):
        raise ValueError(f"cv must not be below zero, got {np.nanmin(values)}")
    return values[row] if np.any(values[known] > 0) else None


def _began(readings: pd.DataFrame, row: np.ndarray, start: np.ndarray) -> np.ndarray:
    if "began" not in readings.columns:
        return np.zeros(len(start), np.int8)
    codes, names = pd.factorize(readings["began"])
    wrong = [name for name in names if name not in BEGINNINGS]
    if wrong:
        raise ValueError(f"began must be one of {BEGINNINGS}, got {wrong[0]!r}")
    place = np.array([BEGINNINGS.index(name) for name in names] + [0], np.int8)
    return _constant(place[codes], row, start, "began")


def _texts(readings: pd.DataFrame, name: str, row: np.ndarray) -> np.ndarray | None:
    if name not in readings.columns or readings[name].isna().all():
        return None
    return readings[name].to_numpy(object)[row]


def _optional(readings: pd.DataFrame, name: str, row: np.ndarray, start: np.ndarray) -> np.ndarray | None:
    return _constant(readings[name].to_numpy(), row, start, name) if name in readings.columns else None

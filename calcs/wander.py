"""Does wear wander? The chance of whole records when the wear rate itself strolls, by one pass of a filter over all drives at once."""

from __future__ import annotations

import numpy as np

from calcs.ladder import stroll_of
from calcs.series import parabola

LEAST_READINGS = 4
MOST_READINGS = 24
MOST_RECORDS = 200


def strolling_sums(x: np.ndarray, y: np.ndarray, weight: np.ndarray, count: np.ndarray, stroll: np.ndarray) -> tuple:
    """Return the six sums of every record when its path strolls about its line, and the logarithm of the determinant that goes with them.

    Law
    ---
    y_i = level + slope x_i + path(x_i) + noise/sqrt(w_i); variance of a path's step = stroll (x_i - x_(i-1)); sums of whitened rows

    Parameters
    ----------
    x : ndarray
        Place of each reading, series one after the other, rising within each [-]
    y : ndarray
        Straight figure less one [-]
    weight : ndarray
        Weight of each reading [-]
    count : ndarray
        Readings of each series [-]
    stroll : ndarray
        Variance of the path a unit of x over that of a reading, one row a case, one column a series [-]

    Returns
    -------
    sums : ndarray
        Six sums by case and series [-]
    log_det : ndarray
        Logarithm of the determinant by case and series [-]

    Examples
    --------
    Without a stroll these are the plain sums:

    >>> sums, _ = strolling_sums(np.array([1.0, 2.0]), np.array([3.0, 4.0]), np.ones(2), np.array([2]), np.zeros((1, 1)))
    >>> sums[:, 0, 0].tolist()
    [2.0, 3.0, 7.0, 5.0, 11.0, 25.0]

    Source
    ------
    J. Durbin and S. J. Koopman, Time Series Analysis by State Space Methods, 2nd ed., 2012, ch. 2 and 6.2 (from memory): local level
    with regressors, all three columns run through one filter.
    """
    start = np.cumsum(count) - count
    sums, log_det = np.zeros((6, *stroll.shape)), np.zeros(stroll.shape)
    seen = np.zeros((3, *stroll.shape))
    variance, before = np.zeros(stroll.shape), np.zeros(len(count))
    for step in range(min(int(count.max()), MOST_READINGS)):
        at = np.minimum(start + step, start + count - 1)
        here = (count > step).astype(float)
        variance = variance + stroll * np.maximum(x[at] - before, 0.0)
        total = variance + 1.0 / np.maximum(weight[at], 1e-12)
        off = np.stack([np.ones_like(total), np.broadcast_to(x[at], total.shape), np.broadcast_to(y[at], total.shape)]) - seen
        gain = variance / total
        seen, variance, before = seen + gain * off, variance * (1 - gain), x[at]
        told = here / total
        one, along, up = off
        sums += told * np.stack([one * one, one * along, one * up, along * along, along * up, up * up])
        log_det += here * np.log(total)
    return sums, log_det


def wander_scores(part: tuple, slope: np.ndarray, start: tuple, noise: tuple, strength: tuple, wanders: np.ndarray) -> np.ndarray:
    """Return the log chance of a group's records at each wander, noise set anew at each.

    Parameters
    ----------
    part : tuple of ndarray
        x, y, weight of all readings, count of each series [-]
    slope : ndarray
        Slope expected of each series that surely wears, 0 for the others, which are left out [-]
    start : tuple of ndarray
        Weight and level of the baseline of each series [-]
    noise : tuple of float
        Variance of a reading and its degrees of freedom [-]
    strength : tuple of float
        Distance from baseline to limit, typical slope [-]
    wanders : ndarray
        Wanders to try, the first 0 [-]

    Returns
    -------
    score : ndarray
        Log chance at each, the first 0; all 0 where no record is long enough [-]

    Examples
    --------
    >>> none = np.zeros(0)
    >>> wander_scores((none, none, none, np.zeros(0, int)), none, (none, none), (1.0, 8.0), (0.26, 1.0), np.zeros(2)).tolist()
    [0.0, 0.0]

    Source
    ------
    Restricted likelihood: H. D. Patterson and R. Thompson, Biometrika 58, 1971 (from memory); the wander tied to the slope is our choice.
    """
    x, y, weight, count = part
    tried = np.flatnonzero((count >= LEAST_READINGS) & (slope > 0))
    if not len(tried):
        return np.zeros(len(wanders))
    tried = tried[np.unique(np.linspace(0, len(tried) - 1, MOST_RECORDS).astype(int))]
    few, begin = count[tried], (np.cumsum(count) - count)[tried]
    rows = np.repeat(begin - (np.cumsum(few) - few), few) + np.arange(few.sum())
    stroll = np.outer(wanders, stroll_of(slope[tried], strength[1])) * strength[0] / noise[0]
    sums, log_det = strolling_sums(x[rows], y[rows], weight[rows], few, stroll)
    used = np.minimum(few, MOST_READINGS)
    rest = [_rest(case) / np.maximum(used - 2, 1) for case in sums.swapaxes(0, 1)]
    usual = np.array([np.median(each) for each in rest])
    variance = noise[0] * np.clip(usual / max(usual[0], 1e-300), 0.2, 1.0)
    ground = (start[0][tried], start[1][tried])
    cases = zip(sums.swapaxes(0, 1), log_det, variance, strict=True)
    score = np.array([_log_chance(case, det, used, ground, (v, noise[1])) for case, det, v in cases])
    return score - score[0]


def _rest(sums: np.ndarray) -> np.ndarray:
    a, b, c, *_ = parabola(sums)
    return np.maximum(a - b * b / np.maximum(c, 1e-300), 0.0)


def _log_chance(sums: np.ndarray, log_det: np.ndarray, count: np.ndarray, start: tuple, noise: tuple) -> float:
    """Restricted likelihood of the records, level and slope integrated out."""
    a, b, c, total, _ = parabola(sums, *start)
    least = np.maximum(a - b * b / np.maximum(c, 1e-300), 0.0)
    fit = -(noise[1] + count - 1) / 2 * np.log1p(least / (noise[1] * noise[0])) - (count - 1) / 2 * np.log(noise[0])
    return float((fit - 0.5 * (log_det + np.log(total) + np.log(np.maximum(c, 1e-300)))).sum())

"""How much each reading counts: a wild one is held down by its distance from the line its own fellows and its fleet draw."""

from __future__ import annotations

import numpy as np

from calcs.series import six_sums

HELD_SD = 2.5
ALIKE_SD, ALIKE_SHARE = 1.5, 0.4


def reading_weights(
    x: np.ndarray, y: np.ndarray, weight: np.ndarray, count: np.ndarray, start: tuple, slope: tuple, noise: np.ndarray
) -> np.ndarray:
    """Return how much each reading counts, 1 or less, after two looks at every line; what a neighbour in time bears out counts fully.

    Law
    ---
    weight = min(1, 2.5/|u|), u = residual sqrt(w) / (s0 sqrt(1 - leverage)) about a line pulled to the fleet's

    Parameters
    ----------
    x : ndarray
        Place of each reading along the line [-]
    y : ndarray
        Straight figure less one [-]
    weight : ndarray
        Weight of each reading by its stated uncertainty [-]
    count : ndarray
        Readings of each series [-]
    start : tuple of ndarray
        Weight and level of the baseline, one a series [-]
    slope : tuple of ndarray
        The fleet's slope and how many squares of x its pull is worth, one a series [-]
    noise : ndarray
        Standard deviation of a reading of weight 1, one a series [-]

    Returns
    -------
    share : ndarray
        Share at which each reading counts [-]

    Examples
    --------
    >>> y = np.array([0.0, 0.01, 0.4, 0.02])
    >>> one = np.ones(1)
    >>> reading_weights(np.arange(4.0), y, np.ones(4), np.array([4]), (one, 0 * one), (0 * one, one), 0.01 * one)[2] < 0.3
    np.True_

    Source
    ------
    P. J. Huber, Robust Statistics, 1981, ch. 7; deletion residuals after R. D. Cook and S. Weisberg, 1982, 2.2 (both from memory).
    """
    share = _one_look(x, y, weight, weight, count, start, slope, noise)
    begin = np.cumsum(count) - count
    again = np.flatnonzero(np.minimum.reduceat(share, begin) < 1.0) if len(count) else begin
    if not len(again):
        return share
    few = count[again]
    rows = np.repeat(begin[again] - np.r_[0, np.cumsum(few)[:-1]], few) + np.arange(few.sum())
    picked = [tuple(part[again] for part in pair) for pair in (start, slope)]
    share[rows] = _one_look(x[rows], y[rows], weight[rows], weight[rows] * share[rows], few, *picked, noise[again])
    return share


def _one_look(x, y, stated, weight, count, start, slope, noise) -> np.ndarray:
    """Weights from residuals about lines fitted with `weight`."""
    w, sx, sy, sxx, sxy, _ = six_sums(x, y, weight, np.cumsum(count) - count)
    w, sy = w + start[0], sy + start[0] * start[1]
    sxx, sxy = sxx + slope[1], sxy + slope[1] * slope[0]
    over = 1.0 / (w * sxx - sx * sx)
    beta = (w * sxy - sx * sy) * over
    alpha = (sy - beta * sx) / w
    lines = np.stack([alpha, beta, sxx * over, -2 * sx * over, w * over, 1 / noise**2], axis=1)
    at = np.repeat(lines, count, axis=0)
    residual = y - at[:, 0] - at[:, 1] * x
    leverage = weight * (at[:, 2] + x * (at[:, 3] + x * at[:, 4]))
    square = residual * residual * stated * at[:, 5] / np.maximum(1.0 - leverage, 1e-6)
    share = np.where(square > HELD_SD**2, HELD_SD / np.sqrt(np.maximum(square, HELD_SD**2)), 1.0)
    return _spare_pairs(share, np.copysign(np.sqrt(square), residual), count)


def _spare_pairs(share: np.ndarray, off_sd: np.ndarray, count: np.ndarray) -> np.ndarray:
    """Let readings count fully that a neighbour in time bears out, and a lone reading, against which nothing speaks."""
    far = np.flatnonzero(share < 1.0)
    if not len(far):
        return share
    end = np.cumsum(count)
    of = np.searchsorted(end, far, side="right")
    first, last = end[of] - count[of], end[of] - 1
    borne_out = first == last
    for beside in (np.maximum(far - 1, first), np.minimum(far + 1, last)):
        apart = np.abs(off_sd[far] - off_sd[beside])
        borne_out |= (apart < np.maximum(ALIKE_SD, ALIKE_SHARE * np.abs(off_sd[far]))) & (beside != far)
    share[far[borne_out]] = 1.0
    return share

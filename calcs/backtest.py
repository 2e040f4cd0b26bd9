"""Forecasts checked against the fleet's own past: hide the later half of each record, foretell its last reading, widen until right."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.special import ndtr

from calcs.ladder import Sums, log_likelihood
from calcs.series import parabola, six_sums

LEAST_READINGS = 4
POWERS = np.array([1.0, 0.7, 0.5, 0.35, 0.25])
WANDERS = np.array([0.0, 0.003, 0.01, 0.03, 0.1])
STEP_COST = 1.0
MOST_RECORDS = 200
REACH_TO_LIMIT = 0.26


@dataclass(frozen=True)
class Widening:
    """By how much a fleet's past asks its forecasts to be widened, and how often they would have been right."""

    power: float
    wander: float
    asked: int
    caught: int
    score: np.ndarray


NO_PAST = Widening(1.0, 0.0, 0, 0, np.zeros((len(POWERS), len(WANDERS))))


@dataclass(frozen=True)
class Hidden:
    """The last reading of each tried record, and what its kept half says: sums, level, and how far ahead the last one lies."""

    sums: Sums
    total: np.ndarray
    level: np.ndarray
    x_sum: np.ndarray
    x: np.ndarray
    ahead: np.ndarray
    y: np.ndarray
    weight: np.ndarray


def hide_later_half(
    x: np.ndarray, y: np.ndarray, weight: np.ndarray, count: np.ndarray, baseline: tuple, noise: tuple[float, float]
) -> Hidden | None:
    """Hide the later half of every record with four or more readings.

    Parameters
    ----------
    x : ndarray
        Place of each reading along the line, rising within a series [-]
    y : ndarray
        Straight figure less one [-]
    weight : ndarray
        Weight of each reading [-]
    count : ndarray
        Readings of each series [-]
    baseline : tuple
        Weight and level of the baseline, one entry a series each [-]
    noise : tuple of float
        Variance and degrees of freedom of the fleet [-]

    Returns
    -------
    hidden : Hidden or None
        What is kept and what is to be foretold; None where no record is long enough [-]

    Examples
    --------
    >>> hide_later_half(np.ones(3), np.ones(3), np.ones(3), np.array([3]), (np.ones(1), np.zeros(1)), (1.0, 8.0)) is None
    True

    Source
    ------
    Hold-out by time; A. P. Dawid, J. R. Stat. Soc. A 147, 1984, 278-292 (from memory).
    """
    start = np.cumsum(count) - count
    tried = np.flatnonzero(count >= LEAST_READINGS)
    if not len(tried):
        return None
    tried = tried[np.unique(np.linspace(0, len(tried) - 1, MOST_RECORDS).astype(int))]
    kept = (count[tried] + 1) // 2
    rows = np.repeat(start[tried] - np.r_[0, np.cumsum(kept)[:-1]], kept) + np.arange(kept.sum())
    sums = six_sums(x[rows], y[rows], weight[rows], np.cumsum(kept) - kept)
    a, b, c, total, level = parabola(sums, baseline[0][tried], baseline[1][tried])
    last = start[tried] + count[tried] - 1
    before = x[start[tried] + kept - 1]
    ahead = np.maximum(x[last] - before, 0.0)
    return Hidden(Sums(a, b, c, kept, *noise), total, level, sums[1], x[last], ahead, y[last], np.minimum(weight[last], 1.0))


def choose_widening(hidden: Hidden | None, slope: np.ndarray, share: np.ndarray, kin: Widening | None = None) -> Widening:
    """Choose how far to flatten the record's say and how much wander to allow, by the score of foretold readings.

    Law
    ---
    weight of a pair = exp(sum ln[.97 p(last reading) + .03 flat] - cost of its steps); answer = weighted mean

    Parameters
    ----------
    hidden : Hidden or None
        Records with their later half hidden [-]
    slope : ndarray
        Slopes of the rungs, the first 0 [-]
    share : ndarray
        How common each rung is [-]
    kin : Widening
        The wider family's, whose score is counted in where the fleet is small [-]

    Returns
    -------
    widening : Widening
        Power on the likelihood, wander, and how many of the tried 80 % bands caught the reading [-]

    Examples
    --------
    >>> choose_widening(None, np.array([0.0, 1.0]), np.array([0.5, 0.5])) is NO_PAST
    True

    Source
    ------
    Log score: I. J. Good, J. R. Stat. Soc. B 14, 1952, 107-114 (from memory); the pair of widenings and their mean: our choice.
    """
    if hidden is None:
        return kin and Widening(kin.power, kin.wander, 0, 0, kin.score) or NO_PAST
    log_fit = log_likelihood(hidden.sums, slope)
    score = np.array([_scores(hidden, slope, _posterior(log_fit, share, power)) for power in POWERS])
    steps = np.add.outer(np.arange(len(POWERS)), np.arange(len(WANDERS)))
    total = score - STEP_COST * steps + (kin.score if kin else 0.0)
    weight = np.exp(total - total.max())
    weight /= weight.sum()
    power = float(np.exp(weight.sum(axis=1) @ np.log(POWERS)))
    wander = float(weight.sum(axis=0) @ WANDERS)
    caught = _caught(hidden, slope, _posterior(log_fit, share, power), wander)
    return Widening(power, wander, len(hidden.x), caught, score)


def _posterior(log_fit: np.ndarray, share: np.ndarray, power: float) -> np.ndarray:
    log = power * log_fit
    post = np.exp(log - log.max(axis=1, keepdims=True)) * share
    return post / np.maximum(post.sum(axis=1, keepdims=True), 1e-300)


def _outlook(hidden: Hidden, slope: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Expected last reading, its variance without wander, and what one unit of wander adds, for every rung."""
    sums = hidden.sums
    line = hidden.level / hidden.total
    middle = line[:, None] + np.outer(hidden.x - hidden.x_sum / hidden.total, np.ones(1)) * slope
    quality = np.maximum(sums.a[:, None] - 2 * np.outer(sums.b, slope) + np.outer(sums.c, slope * slope), 0.0)
    spread = (quality + sums.freedom * sums.variance) / (sums.freedom + sums.count - 2)[:, None]
    return middle, spread * (1 / hidden.total + 1 / hidden.weight)[:, None], np.outer(hidden.ahead, slope)


def _scores(hidden: Hidden, slope: np.ndarray, post: np.ndarray) -> np.ndarray:
    middle, variance, worn = _outlook(hidden, slope)
    flat = 0.03 / (20 * np.sqrt(hidden.sums.variance))
    square = (hidden.y[:, None] - middle) ** 2
    found = []
    for wander in WANDERS:
        total = variance + wander * REACH_TO_LIMIT * worn
        density = (post * np.exp(-0.5 * square / total) / np.sqrt(2 * np.pi * total)).sum(axis=1)
        found.append(np.log(0.97 * density + flat).sum())
    return np.array(found)


def _caught(hidden: Hidden, slope: np.ndarray, post: np.ndarray, wander: float) -> int:
    middle, variance, worn = _outlook(hidden, slope)
    below = (post * ndtr((hidden.y[:, None] - middle) / np.sqrt(variance + wander * REACH_TO_LIMIT * worn))).sum(axis=1)
    return int(((below > 0.1) & (below < 0.9)).sum())

"""Forecasts checked against the fleet's own past: hide the later half of each record, foretell its last reading, widen until right."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.special import ndtr

from calcs.ladder import Sums, log_likelihood, stroll_of
from calcs.series import parabola, six_sums

LEAST_READINGS = 4
POWERS = np.array([1.0, 0.7, 0.5, 0.35])
WANDERS = np.array([0.0, 0.004, 0.01, 0.025, 0.06, 0.15])
POWER_COST = np.array([0.0, 1.0, 2.0, 3.0])
WANDER_COST = np.array([0.1, 0.0, 0.4, 1.5, 3.2, 6.0])
WANDER_COST_OF_FEW, FEW = np.array([0.0, 0.9, 1.4, 1.6, 1.6, 0.0]), 30.0
MOST_RECORDS = 150
REACH_TO_LIMIT = 0.26
BEND_OF_PATH = 0.13
GOAL_WEIGHT = 0.75
LEAST_WANDER = 1e-3


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
    """What the kept half of each tried record says (sums, level, last place), and two readings of its hidden half: middle, last."""

    sums: Sums
    total: np.ndarray
    level: np.ndarray
    x_sum: np.ndarray
    before: np.ndarray
    of: np.ndarray
    x: np.ndarray
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
    before = np.maximum(x[start[tried] + kept - 1], 1e-6)
    goals = start[tried] + np.stack([kept + (count[tried] - 1 - kept) // 2, count[tried] - 1])
    of = np.tile(np.arange(len(tried)), 2)
    at = goals.ravel()
    return Hidden(Sums(a, b, c, kept, *noise), total, level, sums[1], before, of, x[at], y[at], np.minimum(weight[at], 1.0))


def choose_widening(
    hidden: Hidden | None, slope: np.ndarray, share: np.ndarray, typical: float, told: np.ndarray | float = 0.0, kin: Widening | None = None
) -> Widening:
    """Choose how far to flatten the record's say and how much wander to allow, by the score of foretold readings.

    Law
    ---
    weight of a pair = exp(sum ln[.97 p(last reading) + .03 flat] - cost of its steps); answer = weighted mean (of the root, for wander)

    Parameters
    ----------
    hidden : Hidden or None
        Records with their later half hidden [-]
    slope : ndarray
        Slopes of the rungs, the first 0 [-]
    share : ndarray
        How common each rung is [-]
    typical : float
        Typical slope of the wearing [-]
    told : ndarray
        Log chance of whole records at each wander [-]
    kin : Widening
        The wider family's, whose score is counted in where the fleet is small [-]

    Returns
    -------
    widening : Widening
        Power on the likelihood, wander, and how many of the tried 80 % bands caught the reading [-]

    Examples
    --------
    >>> choose_widening(None, np.array([0.0, 1.0]), np.array([0.5, 0.5]), 1.0) is NO_PAST
    True

    Source
    ------
    Log score: I. J. Good, J. R. Stat. Soc. B 14, 1952, 107-114 (from memory); the pair of widenings and their mean: our choice.
    """
    if hidden is None:
        return kin and Widening(kin.power, kin.wander, 0, 0, kin.score) or NO_PAST
    slope, share = np.delete(slope, np.s_[2::2]), np.delete(share, np.s_[2::2])
    score = np.add.outer(_scores(hidden, slope, share, 0.0, typical), np.broadcast_to(told, WANDERS.shape))
    cost = WANDER_COST + WANDER_COST_OF_FEW * FEW / (FEW + len(hidden.before))
    total = score - np.add.outer(POWER_COST, cost) + (kin.score if kin else 0.0)
    weight = np.exp(total - total.max())
    weight /= weight.sum()
    power = float(np.exp(weight.sum(axis=1) @ np.log(POWERS)))
    wander = float(weight.sum(axis=0) @ np.sqrt(WANDERS)) ** 2
    wander = wander if wander > LEAST_WANDER else 0.0
    return Widening(power, wander, len(hidden.before), _caught(hidden, slope, share, (power, wander), typical), score)


def _posterior(log_fit: np.ndarray, share: np.ndarray, power: float) -> np.ndarray:
    log = power * log_fit
    post = np.exp(log - log.max(axis=1, keepdims=True)) * share
    return post / np.maximum(post.sum(axis=1, keepdims=True), 1e-300)


def _log_fit(hidden: Hidden, slope: np.ndarray, wander: float, typical: float) -> np.ndarray:
    less_told = wander * REACH_TO_LIMIT * hidden.sums.c / (hidden.sums.variance * hidden.before)
    return log_likelihood(hidden.sums, slope, (less_told, typical) if wander else None)


def _outlook(hidden: Hidden, slope: np.ndarray, wander: float, typical: float) -> tuple[np.ndarray, np.ndarray]:
    """Expected hidden reading and its variance for every rung."""
    sums, of = hidden.sums, hidden.of
    middle = (hidden.level / hidden.total)[of, None] + np.outer(hidden.x - (hidden.x_sum / hidden.total)[of], slope)
    best = sums.b / np.maximum(sums.c, 1e-12)
    quality = np.maximum(sums.a - best * sums.b, 0.0)[:, None] + sums.c[:, None] * (slope - best[:, None]) ** 2
    spread = (quality + sums.freedom * sums.variance) / (sums.freedom + sums.count - 2)[:, None]
    worn = np.maximum(hidden.x - hidden.before[of], 0.0) + BEND_OF_PATH * hidden.before[of]
    variance = spread[of] * (1 / hidden.total[of] + 1 / hidden.weight)[:, None]
    return middle, variance + wander * REACH_TO_LIMIT * np.outer(worn, stroll_of(slope, typical))


def _scores(hidden: Hidden, slope: np.ndarray, share: np.ndarray, wander: float, typical: float) -> list[float]:
    """Log score at each power."""
    middle, variance = _outlook(hidden, slope, wander, typical)
    flat = 0.03 / (20 * np.sqrt(hidden.sums.variance))
    density = np.exp(-0.5 * (hidden.y[:, None] - middle) ** 2 / variance) / np.sqrt(2 * np.pi * variance)
    log_fit = _log_fit(hidden, slope, wander, typical)
    found = [(_posterior(log_fit, share, power)[hidden.of] * density).sum(axis=1) for power in POWERS]
    return [GOAL_WEIGHT * np.log(0.97 * each + flat).sum() for each in found]


def _caught(hidden: Hidden, slope: np.ndarray, share: np.ndarray, pair: tuple, typical: float) -> int:
    """How many of the 80 % bands held the last reading."""
    middle, variance = _outlook(hidden, slope, pair[1], typical)
    post = _posterior(_log_fit(hidden, slope, pair[1], typical), share, pair[0])[hidden.of]
    below = (post * ndtr((hidden.y[:, None] - middle) / np.sqrt(variance))).sum(axis=1)[-len(hidden.before) :]
    return int(((below > 0.1) & (below < 0.9)).sum())

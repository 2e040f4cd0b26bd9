"""Many drives judged at once from their readings and the numbers of their groups, block by block so that memory stays small."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from scipy.special import stdtr

from calcs.curvature import WINGS
from calcs.group import Numbers, slope_moments
from calcs.jumps import START_AFTER_JUMP, stayed_up
from calcs.noise import moderated_variance
from calcs.posterior import Answer, Record, weigh_all
from calcs.series import parabola, six_sums
from calcs.wildness import reading_weights

BLOCK = 4096
LIFE_OF_CONCERN_H = 20_000.0
SIZES = (11, 7)
STEP_SIZES = (9, 7)


@dataclass(frozen=True)
class Judged:
    """What is found of each series, one entry a series; `record` holds what a forecast needs, one row a series."""

    level: np.ndarray
    slope: np.ndarray
    p_trend: np.ndarray
    p_wearing: np.ndarray
    weight_own: np.ndarray
    step_p: np.ndarray
    stayed: np.ndarray
    record: np.ndarray


RECORD = ("a", "total", "level", "b0", "c0", "x0", "b1", "c1", "x1", "b2", "c2", "x2")


def judge(hours: np.ndarray, y: np.ndarray, stated: np.ndarray, count: np.ndarray, numbers: Numbers) -> tuple[Judged, np.ndarray]:
    """Judge series by series, in blocks, what their readings say with their groups' numbers.

    Parameters
    ----------
    hours : ndarray
        Hours of each reading, series one after the other, rising within each [h]
    y : ndarray
        Straight figure less one [-]
    stated : ndarray
        Weight of each reading by its stated uncertainty [-]
    count : ndarray
        Readings of each series, one at least [-]
    numbers : Numbers
        Numbers of the groups, one entry a series [-]

    Returns
    -------
    judged : Judged
        What is found [-]
    share : ndarray
        Share at which each reading counts [-]

    Examples
    --------
    >>> from calcs.group import numbers_by_series
    >>> none = np.zeros(0)
    >>> judge(none, none, none, np.zeros(0, int), numbers_by_series([], np.zeros(0, int), np.zeros(0, int)))[1].size
    0

    Source
    ------
    The steps are those of `calcs.learning`; blocks of some thousand series are ours.
    """
    share, ends = np.empty(len(hours)), np.r_[0, np.cumsum(count)]
    out = {name: np.empty(len(count)) for name in ("level", "slope", "p_trend", "p_wearing", "weight_own", "step_p", "stayed")}
    out["record"] = np.empty((len(count), len(RECORD)))
    for first in range(0, len(count), BLOCK):
        block = slice(first, min(first + BLOCK, len(count)))
        rows = slice(ends[block.start], ends[block.stop])
        found, share[rows] = _judge_block(hours[rows], y[rows], stated[rows], count[block], numbers.part(block))
        for name, values in found.items():
            out[name][block] = values
    return Judged(**out), share


def trend_chances(hours: np.ndarray, y: np.ndarray, stated: np.ndarray, count: np.ndarray, numbers: Numbers) -> np.ndarray:
    """Return only the chance of each series under no trend: what the flags need, and nothing of lives.

    Parameters
    ----------
    hours : ndarray
        Hours of each reading, series one after the other, rising within each [h]
    y : ndarray
        Straight figure less one [-]
    stated : ndarray
        Weight of each reading by its stated uncertainty [-]
    count : ndarray
        Readings of each series, one at least [-]
    numbers : Numbers
        Numbers of the groups, one entry a series [-]

    Returns
    -------
    p_trend : ndarray
        Chance under no trend, one-sided [-]

    Examples
    --------
    >>> from calcs.group import numbers_by_series
    >>> none = np.zeros(0)
    >>> trend_chances(none, none, none, np.zeros(0, int), numbers_by_series([], np.zeros(0, int), np.zeros(0, int))).size
    0

    Source
    ------
    As `judge`.
    """
    out, ends = np.empty(len(count)), np.r_[0, np.cumsum(count)]
    for first in range(0, len(count), BLOCK):
        block = slice(first, min(first + BLOCK, len(count)))
        rows = slice(ends[block.start], ends[block.stop])
        some, here = numbers.part(block), count[block]
        x = (hours[rows] / np.repeat(some.age_h, here)) ** np.repeat(some.curvature, here)
        share = _weights(x, y[rows], stated[rows], here, some)
        sums = six_sums(x, y[rows], stated[rows] * share, np.cumsum(here) - here)
        out[block] = _chance(record_of(sums, some, here, 0.0, x[ends[first + 1 : block.stop + 1] - ends[first] - 1]), here, some)[0]
    return out


def _judge_block(hours, y, stated, count, numbers: Numbers) -> tuple[dict, np.ndarray]:
    found, share = _judge_plain(hours, y, stated, count, numbers)
    run = stayed_up(y, count, numbers.noise, numbers.start_level, found.pop("misfit"))
    jumped = np.flatnonzero(run)
    if len(jumped):
        rows = np.repeat(np.cumsum(count)[jumped] - np.cumsum(run[jumped]), run[jumped]) + np.arange(run[jumped].sum())
        anew = numbers.part(jumped)
        anew = replace(anew, start_weight=np.full(len(jumped), START_AFTER_JUMP))
        later, share[rows] = _judge_plain(hours[rows], y[rows], stated[rows], run[jumped], anew)
        found["stayed"][jumped] = 1.0
        for name in ("level", "slope", "p_wearing", "record"):
            found[name][jumped] = later[name]
    return found, share


def _judge_plain(hours, y, stated, count, numbers: Numbers) -> tuple[dict, np.ndarray]:
    start = np.cumsum(count) - count
    log_hours = np.log(np.maximum(hours / np.repeat(numbers.age_h, count), 1e-12))
    bent = [np.exp(log_hours * np.repeat(numbers.curvature + bend, count)) for bend in WINGS]
    share = _weights(bent[1], y, stated, count, numbers)
    sums = [six_sums(x, y, stated * share, start) for x in bent]
    last = start + count - 1
    ends = [x[last] for x in bent]
    records = [record_of(parts, numbers, count, bend, end) for parts, bend, end in zip(sums, WINGS, ends, strict=True)]
    answer = weigh_all(records, numbers.idle, numbers.doubt, SIZES)
    found = _summary(records, answer, ends, count, numbers)
    found["step_p"] = _step(sums, bent, y, (stated, stated * share), (last, count), numbers)
    own = records[1]
    parts = [own.a, own.total, own.level] + [part for record in records for part in (record.b, record.c, record.x_sum)]
    found["record"] = np.stack(parts, axis=1)
    return found, share


def _weights(x, y, stated, count, numbers: Numbers) -> np.ndarray:
    """How much each reading counts."""
    mean, variance = slope_moments(*numbers.law(0.0), numbers.idle)
    pull = (mean, numbers.noise**2 / variance)
    return reading_weights(x, y, stated, count, (numbers.start_weight, numbers.start_level), pull, numbers.noise)


def _chance(own: Record, count: np.ndarray, numbers: Numbers) -> tuple[np.ndarray, np.ndarray]:
    """Chance under no trend, and the moderated variance."""
    squares = np.maximum(own.a - own.b * own.b / np.maximum(own.c, 1e-300), 0.0)
    told = count - 1.0 / (1.0 + 10.0 * numbers.start_weight)  # a start hardly known costs a degree of freedom
    spread = moderated_variance(squares, told, numbers.noise**2, numbers.freedom)
    t = own.b / np.sqrt(np.maximum(own.c * spread, 1e-300))
    return stdtr(numbers.freedom + told - 1, -t), spread


def record_of(sums: np.ndarray, numbers: Numbers, count: np.ndarray, bend: float, x_last: np.ndarray) -> Record:
    """Return the view of many drives at one curvature.

    Parameters
    ----------
    sums : ndarray
        Six sums, one column a series [-]
    numbers : Numbers
        Numbers of the groups [-]
    count : ndarray
        Readings of each [-]
    bend : float
        How far from the group's own curvature [-]
    x_last : ndarray
        Place of the newest reading [-]

    Returns
    -------
    record : Record
        Parabola, level, fleet numbers [-]

    Examples
    --------
    >>> from calcs.group import numbers_by_series
    >>> none = numbers_by_series([], np.zeros(0, int), np.zeros(0, int))
    >>> record_of(np.zeros((6, 0)), none, np.zeros(0), 0.0, np.zeros(0)).a.size
    0

    Source
    ------
    As `calcs.series.parabola`.
    """
    a, b, c, total, level = parabola(sums, numbers.start_weight, numbers.start_level)
    return record_from((a, b, c, total, level, sums[1]), numbers, count, bend, x_last)


def record_from(parts: tuple, numbers: Numbers, count: np.ndarray, bend: float, x_last: np.ndarray) -> Record:
    """Return the view of many drives at one curvature from parabolas already known.

    Parameters
    ----------
    parts : tuple of ndarray
        A, B, C, weight, level, sum of x [-]
    numbers : Numbers
        Numbers of the groups [-]
    count : ndarray
        Readings of each [-]
    bend : float
        How far from the group's own curvature [-]
    x_last : ndarray
        Place of the newest reading [-]

    Returns
    -------
    record : Record
        Parabola, level, fleet numbers [-]

    Examples
    --------
    >>> from calcs.group import numbers_by_series
    >>> none = numbers_by_series([], np.zeros(0, int), np.zeros(0, int))
    >>> record_from((np.zeros(0),) * 6, none, np.zeros(0), 0.0, np.zeros(0)).b.size
    0

    Source
    ------
    Our own arrangement.
    """
    power = numbers.eta * (numbers.freedom + count) / 2
    wander = None
    if np.any(numbers.phi > 0):
        wander = numbers.phi * numbers.reach * parts[2] / (numbers.noise**2 * np.maximum(x_last, 1e-6))
    return Record(*parts, power, numbers.freedom * numbers.noise**2, *numbers.law(bend), wander)


def _summary(records, answer: Answer, x_last: list, count: np.ndarray, numbers: Numbers) -> dict:
    own = records[1]
    p_trend, spread = _chance(own, count, numbers)
    misfit = spread / numbers.noise**2
    level, slope, worn = _means(records, answer, x_last, numbers)
    _, variance = slope_moments(*numbers.law(0.0), numbers.idle)
    return {
        "level": level,
        "slope": slope,
        "p_trend": p_trend,
        "misfit": misfit,
        "stayed": np.zeros(len(count)),
        "p_wearing": worn,
        "weight_own": own.c / (own.c + spread / variance),
    }


def _means(records, answer: Answer, x_last: list, numbers: Numbers) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Expected level at the newest reading, expected slope per (1000 h)^b, share of lives short enough to matter."""
    level = records[1].level / records[1].total
    slope, worn = np.zeros(len(level)), np.zeros(len(level))
    for share, nodes, bend in zip(answer.share, answer.nodes, answer.bends, strict=True):
        record, curvature = records[bend], numbers.curvature + WINGS[bend]
        mean = (share * nodes.slope).sum(axis=0)
        level = level + mean * (x_last[bend] - record.x_sum / record.total)
        slope += mean * (1000.0 / numbers.age_h) ** curvature
        edge = np.log(numbers.reach) - curvature * np.log(LIFE_OF_CONCERN_H / numbers.age_h)
        beyond = (np.log(nodes.slope) - edge) / nodes.width + 0.5
        worn += (share * np.clip(beyond, 0.0, 1.0)).sum(axis=0)
    return level, slope, np.minimum(worn, 1.0)


def _step(sums, bent, y, weights, places, numbers: Numbers) -> np.ndarray:
    """Chance that a reading as high as the newest follows those before it, or the start where it is the first."""
    last, count = places
    stated, counted = weights[0][last], weights[1][last]
    at, up = bent[1][last], y[last]
    gone = counted * np.stack([np.ones_like(at), at, up, at * at, at * up, up * up])
    before = np.where(count > 1, sums[1] - gone, 0.0)
    own = record_of(before, numbers, count - 1, 0.0, bent[1][np.where(count > 1, last - 1, last)])
    answer = weigh_all([own] * 3, numbers.idle, np.zeros(len(count)), STEP_SIZES)
    mean, variance = _foretold([own] * 3, answer, [at] * 3)
    freedom = numbers.freedom + count - 2
    squares = np.maximum(own.a - own.b * own.b / np.maximum(own.c, 1e-300), 0.0)
    spread = (numbers.freedom * numbers.noise**2 + squares) / freedom
    variance += numbers.phi * numbers.reach * np.maximum(mean - own.level / own.total, 0.0)
    u = (y[last] - mean) / np.sqrt(variance + spread * (1 / stated + 1 / own.total))
    return stdtr(freedom, -u)


def _foretold(records, answer: Answer, x_next: list) -> tuple[np.ndarray, np.ndarray]:
    """Mean and variance, between slopes, of the line at the next reading."""
    first = records[1].level / records[1].total
    mean, square = np.zeros(len(first)), np.zeros(len(first))
    for share, nodes, bend in zip(answer.share, answer.nodes, answer.bends, strict=True):
        rise = nodes.slope * (x_next[bend] - records[bend].x_sum / records[bend].total)
        share *= rise
        mean += share.sum(axis=0)
        share *= rise
        square += share.sum(axis=0)
    return first + mean, np.maximum(square - mean * mean, 0.0)

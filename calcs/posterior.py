"""What each drive's record and its fleet together say of its slope: nodes laid where that drive's own answer lies."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

NEWTON_STEPS = 7
REACH = 6.0
LEAST_DOUBT = 1e-3


@dataclass(frozen=True)
class Record:
    """One curvature's view of many drives: parabola, level and fleet numbers, one entry a drive in each."""

    a: np.ndarray
    b: np.ndarray
    c: np.ndarray
    total: np.ndarray
    level: np.ndarray
    x_sum: np.ndarray
    power: np.ndarray
    noise: np.ndarray
    log_slope: np.ndarray
    log_spread: np.ndarray


@dataclass(frozen=True)
class Nodes:
    """One row a drive: slopes, logarithm of their share, width in the logarithm of slope, 1 + misfit over noise."""

    slope: np.ndarray
    log_share: np.ndarray
    width: np.ndarray
    quality: np.ndarray


def node_places(number: int) -> tuple[np.ndarray, np.ndarray]:
    """Return places of nodes in standard deviations about the middle, close in the middle and wide outside, and their widths.

    Parameters
    ----------
    number : int
        How many, odd [-]

    Returns
    -------
    places : ndarray
        Places [-]
    widths : ndarray
        Width each stands for [-]

    Examples
    --------
    >>> places, widths = node_places(9)
    >>> float(places[4]), round(float(places[-1]), 6)
    (0.0, 6.0)

    Source
    ------
    Trapezoid rule after a change of variable by the hyperbolic sine: our choice.
    """
    step = np.linspace(-1.0, 1.0, number)
    bend = 1.6
    places = REACH * np.sinh(bend * step) / np.sinh(bend)
    return places, REACH * bend * np.cosh(bend * step) / np.sinh(bend) * (step[1] - step[0])


def lay_nodes(record: Record, number: int) -> Nodes:
    """Lay nodes about the likeliest slope of every drive and weigh them by record and fleet.

    Law
    ---
    ln share = -power ln[1 + Q(slope)/noise] - (ln slope - m)^2/(2 v) + ln width - ln sqrt(2 pi v)

    Parameters
    ----------
    record : Record
        Parabolas and fleet numbers [-]
    number : int
        Nodes a drive [-]

    Returns
    -------
    nodes : Nodes
        Slopes, logarithms of shares, widths [-]

    Examples
    --------
    A drive without readings answers with its fleet's law, which adds up to one:

    >>> zero, one = np.zeros(1), np.ones(1)
    >>> nodes = lay_nodes(Record(zero, zero, zero, one, zero, zero, one, one, zero, one), 25)
    >>> round(float(np.exp(nodes.log_share).sum()), 6)
    1.0

    Source
    ------
    L. Tierney and J. B. Kadane, J. Am. Stat. Assoc. 81, 1986, 82-86 for the place (from memory); sums over nodes thereafter.
    """
    middle, sd = _likeliest(record)
    places, widths = node_places(number)
    log_slope = middle[:, None] + sd[:, None] * places
    slope = np.exp(log_slope)
    quality = _quality(record, slope)
    log_share = np.log(quality)
    log_share *= -record.power[:, None]
    off = (log_slope - record.log_slope[:, None]) / record.log_spread[:, None]
    off *= off
    off *= 0.5
    log_share -= off
    width = sd[:, None] * widths
    log_share += np.log(widths)
    log_share += (np.log(sd / record.log_spread) - 0.5 * np.log(2 * np.pi))[:, None]
    return Nodes(slope, log_share, width, quality)


def _quality(record: Record, slope: np.ndarray) -> np.ndarray:
    """One plus the misfit of each node over the noise."""
    scale = 1.0 / record.noise
    out = slope * (record.c * scale)[:, None]
    out -= (2 * record.b * scale)[:, None]
    out *= slope
    out += (1.0 + record.a * scale)[:, None]
    return np.maximum(out, 1e-12, out=out)


def _likeliest(record: Record) -> tuple[np.ndarray, np.ndarray]:
    """Likeliest logarithm of slope and its SD, by scoring steps from the better of the fleet's slope and the drive's own."""
    best = record.b / np.maximum(record.c, 1e-12)
    least = record.noise + np.maximum(record.a - best * record.b, 0.0)
    v = record.log_spread**2
    at = _start(record, best, least, v)
    for _ in range(NEWTON_STEPS):
        slope = np.exp(at)
        off = slope - best
        pull = 2 * record.power * record.c * slope / (least + record.c * off * off)
        bend = 1 / v + pull * slope
        at = at - np.clip((pull * off + (at - record.log_slope) / v) / bend, -1.5, 1.5)
    slope = np.exp(at)
    off = slope - best
    held = least + record.c * off * off
    bend = 1 / v + 2 * record.power * record.c * slope * np.maximum(slope + off, 0.3 * slope) / held
    return at, 1 / np.sqrt(bend)


def _start(record: Record, best: np.ndarray, least: np.ndarray, v: np.ndarray) -> np.ndarray:
    own = np.log(np.maximum(best, np.exp(record.log_slope - 4 * record.log_spread)))
    precision = np.where(best > 0, 2 * record.power * record.c * best * best / least, 0.0)
    return (own * precision + record.log_slope / v) / (precision + 1 / v)


@dataclass(frozen=True)
class Answer:
    """Shares of all slopes of many drives, adding up to one with the share of no wear; one entry of `bends` a curvature."""

    idle: np.ndarray
    share: list[np.ndarray]
    nodes: list[Nodes]
    bends: list[int]


def weigh_all(records: list[Record], idle: np.ndarray, doubt: np.ndarray, sizes: tuple[int, int]) -> Answer:
    """Weigh no wear against all slopes at three curvatures.

    Law
    ---
    share = prior x likelihood, made to add up to one

    Parameters
    ----------
    records : list of Record
        Lower, own and upper curvature [-]
    idle : ndarray
        Share of the fleet that does not wear, one a drive [-]
    doubt : ndarray
        Share of the two outer curvatures together [-]
    sizes : tuple of int
        Nodes for the own curvature and for each outer one [-]

    Returns
    -------
    answer : Answer
        Shares [-]

    Examples
    --------
    >>> zero, one = np.zeros(1), np.ones(1)
    >>> empty = Record(zero, zero, zero, one, zero, zero, one, one, zero, one)
    >>> round(float(weigh_all([empty] * 3, 0.3 * one, 0.2 * one, (25, 13)).idle[0]), 4)
    0.3

    Source
    ------
    Rule of Bayes.
    """
    own = records[1]
    shares = [0.5 * doubt, 1.0 - doubt, 0.5 * doubt]
    bends = [1] if np.all(doubt < LEAST_DOUBT) else [0, 1, 2]
    nodes = [lay_nodes(records[bend], sizes[0] if bend == 1 else sizes[1]) for bend in bends]
    log_idle = np.log(idle) - own.power * np.log1p(own.a / own.noise)
    logs = [laid.log_share + np.log((1 - idle) * shares[bend])[:, None] for laid, bend in zip(nodes, bends, strict=True)]
    top = np.maximum(log_idle, np.max([log.max(axis=1) for log in logs], axis=0))
    mass = [np.exp(log - top[:, None]) for log in logs]
    still = np.exp(log_idle - top)
    over = 1.0 / (still + sum(part.sum(axis=1) for part in mass))
    for part in mass:
        part *= over[:, None]
    return Answer(still * over, mass, nodes, bends)

"""What each drive's record and its fleet together say of its slope: nodes laid where that drive's own answer lies."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from calcs.ladder import stroll_of

STEPS, STEPS_AGAIN = 6, 3
REACH = 5.0
LEAST_DOUBT = 1e-3
NO_HOURS = 1e-100  # a record whose readings all lie at one hour says nothing of a slope


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
    wander: np.ndarray | None = None


@dataclass(frozen=True)
class Nodes:
    """One column a drive: slopes, logarithm of their share, width in the logarithm of slope, 1 + misfit over noise."""

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
    (0.0, 5.0)

    Source
    ------
    Trapezoid rule after a change of variable by the hyperbolic sine: our choice.
    """
    step = np.linspace(-1.0, 1.0, number)
    bend = 1.6
    places = REACH * np.sinh(bend * step) / np.sinh(bend)
    return places, REACH * bend * np.cosh(bend * step) / np.sinh(bend) * (step[1] - step[0])


def lay_nodes(record: Record, number: int, place: tuple[np.ndarray, np.ndarray] | None = None) -> Nodes:
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
    place : tuple of ndarray
        Middle and SD of the logarithm of slope; sought where left out [-]

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
    middle, sd = place or likeliest(record)
    places, widths = node_places(number)
    log_slope = places[:, None] * sd
    log_slope += middle
    slope = np.exp(log_slope)
    quality = _quality(record, slope)
    log_share = np.log(quality)
    log_share *= -record.power
    log_slope -= record.log_slope
    log_slope *= np.sqrt(0.5) / record.log_spread
    log_slope *= log_slope
    log_share -= log_slope
    log_share += np.log(widths)[:, None]
    log_share += np.log(sd / record.log_spread) - 0.5 * np.log(2 * np.pi)
    return Nodes(slope, log_share, widths[:, None] * sd, quality)


def _quality(record: Record, slope: np.ndarray) -> np.ndarray:
    """One plus the misfit of each node over the noise."""
    best = np.divide(record.b, record.c, out=np.zeros_like(record.c), where=record.c > NO_HOURS)
    out = slope - best
    out *= out
    out *= record.c / record.noise
    if record.wander is not None:
        out /= 1.0 + record.wander * stroll_of(slope, np.exp(record.log_slope))
    out += 1.0 + np.maximum(record.a - best * record.b, 0.0) / record.noise
    return out


def likeliest(record: Record, guess: np.ndarray | None = None) -> tuple[np.ndarray, np.ndarray]:
    """Return the likeliest logarithm of slope of every drive and its SD, by scoring steps from a guess or a blend of fleet and drive.

    Law
    ---
    step = slope of ln(record x fleet) / its expected bend, each held to 1.5

    Parameters
    ----------
    record : Record
        Parabolas and fleet numbers [-]
    guess : ndarray
        Where to begin; a blend where left out [-]

    Returns
    -------
    place : tuple of ndarray
        Likeliest logarithm of slope and its SD [-]

    Examples
    --------
    >>> zero, one = np.zeros(1), np.ones(1)
    >>> at, sd = likeliest(Record(zero, zero, zero, one, zero, zero, one, one, zero, 0.5 * one))
    >>> float(at[0]), float(sd[0])
    (0.0, 0.5)

    Source
    ------
    Fisher scoring; any text on maximum likelihood.
    """
    best = record.b / np.maximum(record.c, 1e-12)
    least = record.noise + np.maximum(record.a - best * record.b, 0.0)
    precision = 1.0 / record.log_spread**2
    pull = 2 * record.power * record.c
    at = _start(record, best, least, precision) if guess is None else guess
    for _ in range(STEPS if guess is None else STEPS_AGAIN):
        slope = np.exp(at)
        off = slope - best
        told = _told(record, slope)
        force = told * pull * slope / (least + told * record.c * off * off)
        step = (force * off + (at - record.log_slope) * precision) / (precision + force * slope)
        at = at - np.minimum(np.maximum(step, -1.5), 1.5)
    slope = np.exp(at)
    off = slope - best
    told = _told(record, slope)
    bend = precision + told * pull * slope * np.maximum(slope + off, 0.3 * slope) / (least + told * record.c * off * off)
    return at, 1 / np.sqrt(bend)


def _told(record: Record, slope: np.ndarray) -> np.ndarray | float:
    """Share of a record's say that is left where wear wanders."""
    return 1.0 if record.wander is None else 1.0 / (1.0 + record.wander * stroll_of(slope, np.exp(record.log_slope)))


def _start(record: Record, best: np.ndarray, least: np.ndarray, precision: np.ndarray) -> np.ndarray:
    own = np.log(np.maximum(best, np.exp(record.log_slope - 4 * record.log_spread)))
    told = np.where(best > 0, 2 * record.power * record.c * best * best / least, 0.0) * _told(record, np.maximum(best, 0.0))
    return (own * told + record.log_slope * precision) / (told + precision)


@dataclass(frozen=True)
class Answer:
    """Shares of all slopes of many drives (columns), adding up to one with that of no wear; one entry of `bends` a curvature."""

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
    bends = [1] if np.all(doubt < LEAST_DOUBT) else [1, 0, 2]
    middle = likeliest(own)
    nodes = [lay_nodes(own, sizes[0], middle)]
    for bend in bends[1:]:
        guess = middle[0] + records[bend].log_slope - own.log_slope
        nodes.append(lay_nodes(records[bend], sizes[1], likeliest(records[bend], guess)))
    log_idle = np.log(idle) - own.power * np.log1p(own.a / own.noise)
    logs = [np.log((1 - idle) * shares[bend]) for bend in bends]
    peak = [laid.log_share[len(laid.log_share) // 2] + log for laid, log in zip(nodes, logs, strict=True)]
    top = np.maximum(log_idle, np.max(peak, axis=0))
    mass = []
    for laid, log in zip(nodes, logs, strict=True):
        part = laid.log_share + (log - top)
        mass.append(np.exp(part, out=part))
    still = np.exp(log_idle - top)
    over = 1.0 / (still + sum(part.sum(axis=0) for part in mass))
    for part in mass:
        part *= over
    return Answer(still * over, mass, nodes, bends)

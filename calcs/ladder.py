"""The ladder of lives: how common each life to the limit is in a fleet, from no wear at all down to a few hundred hours."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

RUNGS = 64
SHORTEST_H, LONGEST_H = 300.0, 60_000.0
SPREAD_LEAST = 0.15


@dataclass(frozen=True)
class Lives:
    """Share of drives that do not wear, and mean and spread of the logarithm of life in hours of the others."""

    share_not_wearing: float
    log_life: float
    spread: float


@dataclass(frozen=True)
class Sums:
    """Parabolas of some drives at one curvature, with the noise of their fleet: all the ladder asks of the readings."""

    a: np.ndarray
    b: np.ndarray
    c: np.ndarray
    count: np.ndarray
    variance: float
    freedom: float


ANY_DRIVE = Lives(0.5, float(np.log(8000.0)), 0.8)
ANY_DRIVE_UNITS = 2.0


@lru_cache(maxsize=4096)
def rungs(typical_age_h: float) -> np.ndarray:
    """Return the lives of the ladder, longest first, so that a fleet's own ages lie well inside.

    Parameters
    ----------
    typical_age_h : float
        Median hours at the newest reading of the fleet's drives [h]

    Returns
    -------
    life_h : ndarray
        Lives to the limit [h]

    Examples
    --------
    >>> lives = rungs(2400.0)
    >>> len(lives), round(float(lives[0])), round(float(lives[-1]))
    (64, 96000, 240)

    Source
    ------
    Our own ladder: equal steps of the logarithm, as a grid for an unknown law; M. Stephens, Biostatistics 18(2), 2017, 275-294.
    """
    lives = np.geomspace(max(LONGEST_H, 40 * typical_age_h), min(SHORTEST_H, typical_age_h / 10), RUNGS)
    lives.flags.writeable = False
    return lives


def likelihood(sums: Sums, slope: np.ndarray, power: float = 1.0) -> np.ndarray:
    """Return how well each slope fits each drive, its noise integrated out; each drive's best is 1.

    Law
    ---
    L = [1 + Q(slope)/(d0 s0^2)]^(-(d0 + n)/2), raised to `power`

    Parameters
    ----------
    sums : Sums
        Parabolas and noise [-]
    slope : ndarray
        Slopes of the rungs, the first is 0 for no wear, the others rise [-]
    power : float
        1, or less where back-testing asks for wider forecasts [-]

    Returns
    -------
    likelihood : ndarray
        One row a drive, one column a rung [-]

    Examples
    --------
    >>> one = Sums(np.array([1.0]), np.array([1.0]), np.array([1.0]), np.array([3]), 0.01, 8.0)
    >>> likelihood(one, np.array([0.0, 0.5, 1.0])).argmax()
    np.int64(2)

    Source
    ------
    Student t marginal of a normal line under the variance law of Smyth 2004.
    """
    return np.exp(power * (log := log_likelihood(sums, slope)) - power * log.max(axis=1, keepdims=True))


def log_likelihood(sums: Sums, slope: np.ndarray, wander: tuple | None = None) -> np.ndarray:
    """Return the logarithm of `likelihood` before each drive's best is set to 1.

    Parameters
    ----------
    sums : Sums
        Parabolas and noise [-]
    slope : ndarray
        Slopes of the rungs, the first 0 [-]
    wander : tuple
        How much less a record tells where wear wanders, one a drive, and the typical slope [-]

    Returns
    -------
    log_likelihood : ndarray
        One row a drive, one column a rung [-]

    Examples
    --------
    >>> one = Sums(np.array([0.0]), np.array([0.0]), np.array([1.0]), np.array([3]), 0.01, 8.0)
    >>> float(abs(log_likelihood(one, np.array([0.0, 0.5, 1.0]))[0, 0]))
    0.0

    Source
    ------
    As `likelihood`, averaged over the width of a rung, so that a ladder coarser than the record loses nothing.
    """
    best = sums.b / np.maximum(sums.c, 1e-12)
    least = np.maximum(sums.a - best * sums.b, 0.0)
    half = np.concatenate([[0.0], 0.5 * np.gradient(slope[1:])])
    told = sums.c[:, None] if wander is None else sums.c[:, None] / (1.0 + np.outer(wander[0], stroll_of(slope, wander[1])))
    noise = sums.freedom * sums.variance
    blur = 1.0 + told * (half * half / 3.0) * ((sums.freedom + sums.count) / (noise + least))[:, None]
    off = slope - best[:, None]
    off *= off
    off *= told / (blur * noise)
    off += (1.0 + least / noise)[:, None]
    return -(sums.freedom + sums.count)[:, None] / 2 * np.log(off) - 0.5 * np.log(blur)


def commonness(lives: Lives, log_rung: np.ndarray) -> np.ndarray:
    """Return how common each rung is: first no wear, then the lives.

    Parameters
    ----------
    lives : Lives
        The fleet's three numbers [-]
    log_rung : ndarray
        Logarithms of the rungs' lives in hours [-]

    Returns
    -------
    share : ndarray
        Shares that add up to 1 [-]

    Examples
    --------
    >>> float(commonness(ANY_DRIVE, np.log(rungs(2400.0)))[0])
    0.5

    Source
    ------
    Lognormal lives beside a share that does not wear: our choice.
    """
    density = np.exp(-0.5 * ((log_rung - lives.log_life) / lives.spread) ** 2)
    share = np.empty(len(density) + 1)
    share[0] = lives.share_not_wearing
    share[1:] = density * ((1 - lives.share_not_wearing) / max(float(density.sum()), 1e-300))
    return share


def fit_lives(
    fits: np.ndarray,
    log_rung: np.ndarray,
    kin: Lives = ANY_DRIVE,
    kin_units: float = ANY_DRIVE_UNITS,
    rounds: int = 60,
    start: Lives | None = None,
) -> tuple[Lives, float]:
    """Learn from a fleet how common each life is, its kin counted in as a few pseudo-drives.

    Law
    ---
    EM: share = (c_0 + m share*)/(U + m); mean and SD of ln T weighted by c_k, with m (1 - share*) pseudo-drives of the kin

    Parameters
    ----------
    fits : ndarray
        Likelihood of each rung, one row a drive [-]
    log_rung : ndarray
        Logarithms of the rungs' lives [-]
    kin : Lives
        Numbers of the wider family [-]
    kin_units : float
        How many pseudo-drives the family counts for [-]
    rounds : int
        Most rounds [-]
    start : Lives
        Where to begin; the kin where left out [-]

    Returns
    -------
    lives : Lives
        The fleet's numbers [-]
    score : float
        Log likelihood of the fleet [-]

    Examples
    --------
    Drives that all show one life:

    >>> log_rung = np.log(rungs(2400.0))
    >>> fits = np.zeros((50, 65)); fits[:, 30] = 1.0
    >>> lives, _ = fit_lives(fits, log_rung)
    >>> lives.share_not_wearing < 0.06, bool(abs(lives.log_life - log_rung[29]) < 0.2)
    (True, True)

    Source
    ------
    A. P. Dempster, N. M. Laird and D. B. Rubin, J. R. Stat. Soc. B 39, 1977, 1-38 (from memory).
    """
    lives, before = start or kin, -np.inf
    for _ in range(rounds):
        share = commonness(lives, log_rung)
        total = np.maximum(fits @ share, 1e-300)
        score = float(np.log(total).sum())
        lives = _updated(share * ((1 / total) @ fits), len(fits), log_rung, kin, kin_units)
        if abs(score - before) < 1e-3:
            break
        before = score
    return lives, score


def _updated(found: np.ndarray, units: int, log_rung: np.ndarray, kin: Lives, kin_units: float) -> Lives:
    share = (found[0] + kin_units * kin.share_not_wearing) / (units + kin_units)
    borrowed = kin_units * (1 - kin.share_not_wearing)
    total = found[1:].sum() + borrowed
    middle = (found[1:] @ log_rung + borrowed * kin.log_life) / total
    square = (found[1:] @ (log_rung - middle) ** 2 + borrowed * (kin.spread**2 + (kin.log_life - middle) ** 2)) / total
    return Lives(float(np.clip(share, 0.01, 0.99)), float(middle), float(max(np.sqrt(square), SPREAD_LEAST)))


def stroll_of(slope: np.ndarray, typical: np.ndarray | float) -> np.ndarray:
    """Return how strongly a drive's wear wanders for its slope: with it for slow wear, no more than twice the typical for fast wear.

    Law
    ---
    2 slope typical/(slope + typical)

    Parameters
    ----------
    slope : ndarray
        Slope [-]
    typical : ndarray or float
        Typical slope of the wearing [-]

    Returns
    -------
    stroll : ndarray
        Strength [-]

    Examples
    --------
    >>> stroll_of(np.array([0.0, 1.0]), 1.0).tolist()
    [0.0, 1.0]

    Source
    ------
    Between a gamma process (variance goes with wear) and a Brownian path of one strength: our choice.
    """
    return 2.0 * typical * slope / (slope + typical)

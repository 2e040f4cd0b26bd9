"""How much readings scatter: pooled over the fleet so that two readings still have a usable spread, and how far baselines stray."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.special import gammaln

FREEDOM_GRID = np.geomspace(3.0, 60.0, 14)
CLIP = 2.5
SPREAD_GRID = np.geomspace(0.01, 4.0, 25)
BASELINE_WEIGHT_LIMITS = (0.02, 50.0)


@dataclass(frozen=True)
class Noise:
    """Variance of one reading in the fleet, how alike the drives are (as degrees of freedom), and how many drives told."""

    variance: float
    freedom: float
    told: int


def fleet_noise(variance: np.ndarray, freedom: np.ndarray, floor: float = 0.0) -> Noise | None:
    """Find the common variance of a fleet and its degrees of freedom by medians, so that a few wild drives do no harm.

    Law
    ---
    s_u^2 / s0^2 ~ F(df_u, d0) for all but one drive in twenty; s0^2 from the median of ln s_u^2, d0 the likeliest mean of 3..60

    Parameters
    ----------
    variance : ndarray
        Residual variance of each drive about its own line [-]
    freedom : ndarray
        Degrees of freedom of each [-]
    floor : float
        No variance counts for less than this [-]

    Returns
    -------
    noise : Noise or None
        Common variance, its degrees of freedom between 3 and 60, number of drives; None below three drives [-]

    Examples
    --------
    >>> rng = np.random.default_rng(3)
    >>> unit = 0.01 * 12 / rng.chisquare(12, 4000)
    >>> noise = fleet_noise(unit * rng.chisquare(5, 4000) / 5, np.full(4000, 5.0))
    >>> 0.0095 < noise.variance < 0.0105 and 9 < noise.freedom < 20
    True

    Source
    ------
    G. K. Smyth, Stat. Appl. Genet. Mol. Biol. 3(1), 2004, art. 3: the model; his moments are replaced by
    a median for s0 and a likelihood with one drive in twenty left free for d0.
    """
    keep = freedom > 0
    if keep.sum() < 3:
        return None
    variance, freedom = np.maximum(np.maximum(variance[keep], floor), 1e-30), freedom[keep]
    log_variance = np.log(variance)
    middle = np.median(log_variance - 3 * np.log1p(-2 / (9 * freedom)))
    centres = middle + 3 * np.log1p(-2 / (9 * FREEDOM_GRID))
    score = _f_score(log_variance[:, None] - centres, freedom[:, None], FREEDOM_GRID).sum(axis=0)
    share = np.exp(score - score.max())
    log_freedom = share @ np.log(FREEDOM_GRID) / share.sum()
    d0 = float(np.exp(log_freedom))
    return Noise(float(np.exp(middle) * (1 - 2 / (9 * d0)) ** 3), d0, int(keep.sum()))


def _f_score(log_ratio: np.ndarray, df: np.ndarray, d0: np.ndarray) -> np.ndarray:
    """Log density of ln F(df, d0), one twentieth of it spread evenly."""
    constant = gammaln((df + d0) / 2) - gammaln(df / 2) - gammaln(d0 / 2) + df / 2 * np.log(df / d0)
    density = np.exp(constant + df / 2 * log_ratio - (df + d0) / 2 * np.log1p(df / d0 * np.exp(log_ratio)))
    return np.log(0.95 * density + 0.05 / 12)


def moderated_variance(squares: np.ndarray, count: np.ndarray, variance: np.ndarray, freedom: np.ndarray) -> np.ndarray:
    """Pull a drive's own residual variance to that of its fleet.

    Law
    ---
    s^2 = (d0 s0^2 + squares)/(d0 + n - 1)

    Parameters
    ----------
    squares : ndarray
        Sum of squared residuals of the drive, baseline counted in [-]
    count : ndarray
        Number of readings n [-]
    variance : ndarray
        Common variance s0^2 of the fleet [-]
    freedom : ndarray
        Its degrees of freedom d0 [-]

    Returns
    -------
    variance : ndarray
        Moderated variance [-]

    Examples
    --------
    >>> float(moderated_variance(0.0, 1, 4.0, 10.0))
    4.0

    Source
    ------
    G. K. Smyth, Stat. Appl. Genet. Mol. Biol. 3(1), 2004, art. 3, section 3 (from memory).
    """
    return (freedom * variance + squares) / (freedom + count - 1)


def baseline_spread(level: np.ndarray, variance: np.ndarray) -> tuple[float, float] | None:
    """Find where a fleet's drives start and how far apart, from levels that are themselves uncertain.

    Law
    ---
    sum of min[(a - a0)^2/(v + tau^2), 2.5^2] = k - 1, a0 the mean weighted by 1/(v + tau^2)

    Parameters
    ----------
    level : ndarray
        Level of each drive's own line at hour zero [-]
    variance : ndarray
        Its variance [-]

    Returns
    -------
    start : tuple of float or None
        Mean a0 and variance tau^2 between drives; None below three drives [-]

    Examples
    --------
    >>> a0, spread = baseline_spread(np.array([-0.02, 0.0, 0.02]), np.full(3, 1e-8))
    >>> round(spread, 5)
    0.0004

    Source
    ------
    R. C. Paule and J. Mandel, J. Res. NBS 87(5), 1982, 377-385; deviations clipped by us.
    """
    if len(level) < 3:
        return None
    middle = np.median(level)
    tried = np.concatenate([[0.0], max(float(np.var(level)), 1e-12) * SPREAD_GRID])
    total = variance + tried[:, None]
    reach = CLIP * np.sqrt(total)
    centre = ((middle + np.clip(level - middle, -reach, reach)) / total).sum(axis=1) / (1 / total).sum(axis=1)
    excess = np.minimum((level - centre[:, None]) ** 2 / total, CLIP**2).sum(axis=1) - (len(level) - 1)
    above = np.flatnonzero(excess > 0)
    if not len(above):
        return float(centre[0]), 0.0
    last = min(int(above[-1]), len(tried) - 2)
    part = float(np.clip(excess[last] / max(excess[last] - excess[last + 1], 1e-300), 0.0, 1.0))
    spread = tried[last] + part * (tried[last + 1] - tried[last])
    return float(centre[last] + part * (centre[last + 1] - centre[last])), float(spread)

"""One drive's own line through its own readings, for the page: slope, band and what the line says at other hours.

It borrows nothing from the fleet; with few readings it is honest and wide. The fleet's view is in `calcs.trend`.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import ArrayLike
from scipy import stats

from calcs.scales import check_scale, ratio_from_straight, straight_uncertainty, straightened

HUBER_SD = 1.5
STATED_FREEDOM = 8.0
PASSES = 8


@dataclass(frozen=True)
class OwnLine:
    """A straight line through one drive's readings of one epoch, on the straight scale, with the numbers its band needs."""

    scale: str
    n: int
    slope_per_kh: float
    slope_low_per_kh: float
    slope_high_per_kh: float
    fitted_ratio: np.ndarray
    weight: np.ndarray
    freedom: float
    spread: float
    centre_h: float
    centre_straight: float = field(repr=False)
    weight_sum: float = field(repr=False)
    weight_moment: float = field(repr=False)
    typical_uncertainty: float = field(repr=False)

    def predict(self, life_h: ArrayLike, probability: float = 0.9, of_reading: bool = False) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """Return the line at `life_h` and its lower and upper band, all as ratios.

        Parameters
        ----------
        life_h : array_like
            Hours since the epoch began at which to draw [h]
        probability : float
            Share the band is to hold, between 0 and 1 [-]
        of_reading : bool
            True: where the next reading would fall; False: where the line itself lies [-]

        Returns
        -------
        band : tuple of ndarray
            Ratio on the line, lower end, upper end [-]

        Examples
        --------
        >>> line = own_line([0, 500, 1000, 1500], [1.0, 1.1, 1.2, 1.3], 0.03, "log")
        >>> middle, low, high = line.predict([2000])
        >>> bool(low[0] < middle[0] < high[0])
        True

        Source
        ------
        N. R. Draper and H. Smith, Applied Regression Analysis, 3rd ed., 1998, 1.4 and 3.1 (from memory).
        """
        away_kh = (np.asarray(life_h, dtype=float) - self.centre_h) / 1000.0
        middle = self.centre_straight + self.slope_per_kh * away_kh
        variance = 1.0 / self.weight_sum + away_kh**2 / self.weight_moment
        if of_reading:
            variance = variance + self.typical_uncertainty**2
        half = stats.t.ppf(0.5 + probability / 2, self.freedom) * self.spread * np.sqrt(variance)
        return tuple(ratio_from_straight(at, self.scale) for at in (middle, middle - half, middle + half))


def own_line(life_h: ArrayLike, ratio: ArrayLike, uncertainty_share: ArrayLike, scale: str, probability: float = 0.9) -> OwnLine | None:
    """Draw one drive's own line through its readings of one epoch, little moved by a wild reading.

    Law
    ---
    weighted least squares with Huber weights; spread^2 = (8 + sum of squared residuals over stated variance) / (8 + n - 2)

    Parameters
    ----------
    life_h : array_like
        Engine hours since the epoch began [h]
    ratio : array_like
        Reading over calculated baseline, worse = up; NaN rows take no part [-]
    uncertainty_share : array_like
        Standard uncertainty of each reading as a share of it; one number, or one a reading; None or NaN where not stated [-]
    scale : str
        `cuberoot` or `log` [-]
    probability : float
        Share the band of the slope is to hold, between 0 and 1 [-]

    Returns
    -------
    line : OwnLine or None
        Slope per 1000 h on the straight scale with its band, fitted ratios, weights, `predict`; None below three readings at two or
        more different hours [-]

    Examples
    --------
    Two readings make no trend:

    >>> own_line([0, 500], [1.0, 1.1], 0.03, "log") is None
    True
    >>> line = own_line([0, 1000, 2000, 3000], [1.0, 1.331, 1.728, 2.197], 0.03, "cuberoot")
    >>> round(line.slope_per_kh, 6)
    0.1

    Source
    ------
    P. J. Huber, Robust Statistics, 1981, ch. 7 (from memory); a stated uncertainty counts as eight degrees of freedom, JCGM 100:2008
    (GUM), G.4.2 with a relative doubt of one quarter.
    """
    check_scale(scale)
    hours, straight, sd, stated = _usable(life_h, ratio, uncertainty_share, scale)
    if len(hours) < 3 or np.ptp(hours) == 0:
        return None
    freedom = len(hours) - 2 + (STATED_FREEDOM if stated else 0.0)
    robust = np.ones(len(hours))
    for _ in range(PASSES):
        centre, level, slope, total, moment = _weighted(hours, straight, robust / sd**2)
        residual = (straight - level - slope * (hours - centre) / 1000.0) / sd
        spread = _spread(robust, residual, freedom, stated)
        robust = np.minimum(1.0, HUBER_SD * max(spread, 1e-12) / np.maximum(np.abs(residual), 1e-12))
    half = stats.t.ppf(0.5 + probability / 2, freedom) * spread / np.sqrt(moment)
    fitted = np.full(np.shape(np.asarray(ratio, dtype=float)), np.nan)
    weight = np.zeros_like(fitted)
    used = _used(life_h, ratio, scale)
    fitted[used] = ratio_from_straight(level + slope * (hours - centre) / 1000.0, scale)
    weight[used] = robust
    return OwnLine(
        scale, len(hours), float(slope), float(slope - half), float(slope + half), fitted, weight, float(freedom), float(spread),
        float(centre), float(level), float(total), float(moment), float(np.median(sd)),
    )  # fmt: skip


def own_lines(
    life_h: ArrayLike, epoch: ArrayLike, ratio: ArrayLike, uncertainty_share: ArrayLike, scale: str, probability: float = 0.9
) -> dict[object, OwnLine | None]:
    """Draw one line an epoch: a rebuilt drive starts anew.

    Parameters
    ----------
    life_h : array_like
        Engine hours since the epoch of that row began [h]
    epoch : array_like
        Which epoch each reading belongs to, any label [-]
    ratio : array_like
        Reading over calculated baseline, worse = up [-]
    uncertainty_share : array_like
        Standard uncertainty as a share; one number or one a reading; None where not stated [-]
    scale : str
        `cuberoot` or `log` [-]
    probability : float
        Share the band of the slope is to hold [-]

    Returns
    -------
    lines : dict
        Line, or None where there are too few readings, by epoch in the order they first appear [-]

    Examples
    --------
    >>> lines = own_lines([0, 500, 900, 0, 400], [1, 1, 1, 2, 2], [1, 1.1, 1.2, 1, 1.05], 0.03, "log")
    >>> [line is None for line in lines.values()]
    [False, True]

    Source
    ------
    `own_line`, once an epoch.
    """
    epochs = np.asarray(epoch)
    hours, ratios = np.asarray(life_h, dtype=float), np.asarray(ratio, dtype=float)
    share = np.broadcast_to(np.asarray(np.nan if uncertainty_share is None else uncertainty_share, dtype=float), ratios.shape)
    lines = {}
    for label in dict.fromkeys(epochs.tolist()):
        rows = epochs == label
        lines[label] = own_line(hours[rows], ratios[rows], share[rows], scale, probability)
    return lines


def _used(life_h: ArrayLike, ratio: ArrayLike, scale: str) -> np.ndarray:
    return np.isfinite(straightened(ratio, scale)) & np.isfinite(np.asarray(life_h, dtype=float))


def _usable(life_h: ArrayLike, ratio: ArrayLike, uncertainty_share: ArrayLike, scale: str) -> tuple:
    ratio = np.atleast_1d(np.asarray(ratio, dtype=float))
    share = np.broadcast_to(np.asarray(np.nan if uncertainty_share is None else uncertainty_share, dtype=float), ratio.shape)
    used = _used(life_h, ratio, scale)
    share = share[used]
    stated = bool(len(share)) and bool(np.all(share > 0))
    sd = straight_uncertainty(ratio[used], share if stated else np.ones(len(share)), scale)
    return np.asarray(life_h, dtype=float)[used], straightened(ratio[used], scale), sd, stated


def _weighted(hours: np.ndarray, straight: np.ndarray, weight: np.ndarray) -> tuple[float, float, float, float, float]:
    total = weight.sum()
    centre, level = weight @ hours / total, weight @ straight / total
    away = (hours - centre) / 1000.0
    moment = weight @ away**2
    return centre, level, weight @ (away * (straight - level)) / moment, total, moment


def _spread(robust: np.ndarray, residual: np.ndarray, freedom: float, stated: bool) -> float:
    squares = robust @ residual**2
    return float(np.sqrt((squares + (STATED_FREEDOM if stated else 0.0)) / freedom))

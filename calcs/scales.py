"""The scale on which wear is a straight line: cube root for leakage, logarithm for the other ratios."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

CUBE_ROOT = "cuberoot"
LOGARITHM = "log"
SCALES = (CUBE_ROOT, LOGARITHM)


def check_scale(scale: str) -> str:
    """Return the name of the scale when it is one of the two, else refuse it.

    Parameters
    ----------
    scale : str
        `cuberoot` or `log` [-]

    Returns
    -------
    scale : str
        The same name [-]

    Examples
    --------
    >>> check_scale("log")
    'log'

    Source
    ------
    Our own two names.
    """
    if scale not in SCALES:
        raise ValueError(f"scale must be one of {SCALES}, got {scale!r}")
    return scale


def straightened(ratio: ArrayLike, scale: str) -> np.ndarray:
    """Turn a ratio of reading to baseline into the figure that grows in a straight line with wear.

    Law
    ---
    cuberoot: z = ratio^(1/3); log: z = 1 + ln(ratio)

    Parameters
    ----------
    ratio : array_like
        Reading over calculated baseline, worse = up; above zero, else the answer is NaN [-]
    scale : str
        `cuberoot` (leakage, which goes with the cube of the gap) or `log` [-]

    Returns
    -------
    straight : ndarray
        The straight figure, 1 at baseline [-]

    Examples
    --------
    A gap one and a half times as wide leaks 3.375 times as much:

    >>> round(float(straightened(3.375, "cuberoot")), 9)
    1.5
    >>> float(straightened(1.0, "log"))
    1.0

    Source
    ------
    Cube law of laminar flow through a narrow gap: H. E. Merritt, Hydraulic Control Systems, 1967, ch. 3 (from memory).
    """
    ratio = np.asarray(ratio, dtype=float)
    ratio = np.where(ratio > 0, ratio, np.nan)
    return np.cbrt(ratio) if check_scale(scale) == CUBE_ROOT else 1.0 + np.log(ratio)


def ratio_from_straight(straight: ArrayLike, scale: str) -> np.ndarray:
    """Turn a straight figure back into a ratio.

    Law
    ---
    cuberoot: ratio = z^3; log: ratio = exp(z - 1)

    Parameters
    ----------
    straight : array_like
        The straight figure, 1 at baseline [-]
    scale : str
        `cuberoot` or `log` [-]

    Returns
    -------
    ratio : ndarray
        Reading over baseline; never below zero [-]

    Examples
    --------
    >>> float(ratio_from_straight(1.5, "cuberoot"))
    3.375

    Source
    ------
    Inverse of `straightened`.
    """
    straight = np.asarray(straight, dtype=float)
    return np.maximum(straight, 0.0) ** 3 if check_scale(scale) == CUBE_ROOT else np.exp(straight - 1.0)


def straight_uncertainty(ratio: ArrayLike, uncertainty_share: ArrayLike, scale: str) -> np.ndarray:
    """Carry a standard uncertainty, stated as a share of the reading, over to the straight scale.

    Law
    ---
    cuberoot: u(z) = z u / 3; log: u(z) = u

    Parameters
    ----------
    ratio : array_like
        Reading over baseline [-]
    uncertainty_share : array_like
        Standard uncertainty as a share of the reading; NaN where not stated [-]
    scale : str
        `cuberoot` or `log` [-]

    Returns
    -------
    uncertainty : ndarray
        Standard uncertainty of the straight figure [-]

    Examples
    --------
    >>> float(straight_uncertainty(1.0, 0.06, "cuberoot"))
    0.02

    Source
    ------
    First-order propagation, JCGM 100:2008 (GUM), 5.1.2.
    """
    share = np.asarray(uncertainty_share, dtype=float)
    straight = straightened(ratio, scale)
    return straight * share / 3.0 if scale == CUBE_ROOT else share * np.ones_like(straight)

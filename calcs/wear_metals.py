"""Wear metals in the oil: the rate at which a drive makes them, by the balance of a fill that is topped up and never wholly drained."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

CARRY_DOUBT = 0.15


@dataclass(frozen=True)
class Generation:
    """Rate of making metal between two looks at a fill, and its standard uncertainty."""

    rate_ppm_per_h: np.ndarray
    uncertainty_ppm_per_h: np.ndarray


def metal_in_fill(rate_ppm_per_h: ArrayLike, hours_h: ArrayLike, start_ppm: ArrayLike = 0.0, makeup_per_h: ArrayLike = 0.0) -> np.ndarray:
    """Return the metal in a fill after some hours of steady making and topping up with clean oil.

    Law
    ---
    dc/dt = g - m c; c = c0 e^(-m t) + g (1 - e^(-m t))/m

    Parameters
    ----------
    rate_ppm_per_h : array_like
        Rate of making g [ppm/h]
    hours_h : array_like
        Hours on the fill t [h]
    start_ppm : array_like
        Metal at the start of the fill c0 [ppm]
    makeup_per_h : array_like
        Share of the fill that is replaced by clean oil an hour, m [1/h]

    Returns
    -------
    metal_ppm : ndarray
        Metal c [ppm]

    Examples
    --------
    >>> float(metal_in_fill(0.02, 500.0, start_ppm=3.0))
    13.0

    Source
    ------
    Balance of a stirred vessel, any text on reactors; used for oil by many (from memory).
    """
    hours, makeup = np.asarray(hours_h, dtype=float), np.asarray(makeup_per_h, dtype=float)
    return np.asarray(start_ppm) * np.exp(-makeup * hours) + np.asarray(rate_ppm_per_h) * effective_hours(hours, makeup)


def effective_hours(hours_h: ArrayLike, makeup_per_h: ArrayLike) -> np.ndarray:
    """Return the hours during which metal would have had to gather without topping up to give the same.

    Law
    ---
    (1 - e^(-m t))/m; t where m = 0

    Parameters
    ----------
    hours_h : array_like
        Hours on the fill t [h]
    makeup_per_h : array_like
        Share topped up an hour m, zero or more [1/h]

    Returns
    -------
    hours_h : ndarray
        Effective hours [h]

    Examples
    --------
    >>> float(effective_hours(500.0, 0.0))
    500.0

    Source
    ------
    As `metal_in_fill`.
    """
    hours, makeup = np.broadcast_arrays(np.asarray(hours_h, dtype=float), np.asarray(makeup_per_h, dtype=float))
    if np.any(makeup < 0):
        raise ValueError(f"makeup_per_h must not be below zero, got {makeup.min()}")
    small = makeup * np.abs(hours) < 1e-8
    return np.where(small, hours, -np.expm1(-makeup * hours) / np.where(small, 1.0, makeup))


def generation_rate(
    metal_ppm: ArrayLike,
    hours_h: ArrayLike,
    start_ppm: ArrayLike = 0.0,
    makeup_per_h: ArrayLike = 0.0,
    repeatability: float = 0.08,
    absolute_ppm: float = 0.7,
) -> Generation:
    """Turn metal found in a sample into the rate at which the drive made it since the fill.

    Law
    ---
    g = (c - c0 e^(-m t))/A, A = (1 - e^(-m t))/m; u^2 = [(r c)^2 + s^2 + (.15 c0 e^(-m t))^2]/A^2

    Parameters
    ----------
    metal_ppm : array_like
        Metal found c [ppm]
    hours_h : array_like
        Hours on the fill t; at zero hours there is no answer [h]
    start_ppm : array_like
        Metal at the start of the fill c0 [ppm]
    makeup_per_h : array_like
        Share topped up an hour m [1/h]
    repeatability : float
        Standard uncertainty of the laboratory as a share r [-]
    absolute_ppm : float
        Its least absolute standard uncertainty s [ppm]

    Returns
    -------
    generation : Generation
        Rate and standard uncertainty, NaN where hours are zero [ppm/h]

    Examples
    --------
    >>> found = generation_rate(13.0, 500.0, start_ppm=3.0)
    >>> float(found.rate_ppm_per_h)
    0.02

    Source
    ------
    As `metal_in_fill`, first-order propagation JCGM 100:2008 (GUM), 5.1.2; the doubt of .15 on what is carried over: our choice.
    """
    hours, makeup = np.asarray(hours_h, dtype=float), np.asarray(makeup_per_h, dtype=float)
    gather = effective_hours(hours, makeup)
    gather = np.where(gather > 0, gather, np.nan)
    left = np.asarray(start_ppm) * np.exp(-makeup * hours)
    found = np.asarray(metal_ppm, dtype=float)
    variance = (repeatability * found) ** 2 + absolute_ppm**2 + (CARRY_DOUBT * left) ** 2
    return Generation((found - left) / gather, np.sqrt(variance) / gather)


def rates_over_fills(
    metal_ppm: ArrayLike,
    fill_h: ArrayLike,
    fill: ArrayLike,
    fill_end_h: ArrayLike,
    carry: float = 0.2,
    makeup_per_h: ArrayLike = 0.0,
    first_ppm: float = 0.0,
    repeatability: float = 0.08,
    absolute_ppm: float = 0.7,
) -> Generation:
    """Follow one drive through its fills: each starts with what the last one, carried on to its end, left behind.

    Law
    ---
    start of a fill = carry x metal at the end of the one before, by its own last rate

    Parameters
    ----------
    metal_ppm : array_like
        Metal found, samples in order of time [ppm]
    fill_h : array_like
        Hours on the fill at each sample [h]
    fill : array_like
        Number of the fill of each sample, rising [-]
    fill_end_h : array_like
        Hours on that fill when it was changed; NaN while it is in use [h]
    carry : float
        Share of the oil that a change leaves behind, 0 to 1 [-]
    makeup_per_h : array_like
        Share topped up an hour [1/h]
    first_ppm : float
        Metal at the start of the first fill [ppm]
    repeatability : float
        Standard uncertainty of the laboratory as a share [-]
    absolute_ppm : float
        Its least absolute standard uncertainty [ppm]

    Returns
    -------
    generation : Generation
        Rate since the start of the fill at each sample [ppm/h]

    Examples
    --------
    Twenty per cent carried over, the rate stays the same:

    >>> found = rates_over_fills([10.0, 12.0], [500.0, 500.0], [1, 2], [500.0, np.nan], carry=0.2)
    >>> found.rate_ppm_per_h.tolist()
    [0.02, 0.02]

    Source
    ------
    As `metal_in_fill`; carry-over of about a fifth is common practice, no source.
    """
    if not 0 <= carry < 1:
        raise ValueError(f"carry must lie between 0 and 1, got {carry}")
    metal, hours = np.asarray(metal_ppm, dtype=float), np.asarray(fill_h, dtype=float)
    fills, ends = np.asarray(fill), np.broadcast_to(np.asarray(fill_end_h, dtype=float), metal.shape)
    makeup = np.broadcast_to(np.asarray(makeup_per_h, dtype=float), metal.shape)
    start, rate, doubt = first_ppm, np.full(metal.shape, np.nan), np.full(metal.shape, np.nan)
    for at in range(len(metal)):
        if at and fills[at] != fills[at - 1]:
            start = carry * _at_end(metal[at - 1], hours[at - 1], ends[at - 1], rate[at - 1], makeup[at - 1])
        found = generation_rate(metal[at], hours[at], start, makeup[at], repeatability, absolute_ppm)
        rate[at], doubt[at] = found.rate_ppm_per_h, found.uncertainty_ppm_per_h
    return Generation(rate, doubt)


def _at_end(metal: float, hours: float, end_h: float, rate: float, makeup: float) -> float:
    """Metal when the fill was changed, by the rate found at its last sample."""
    if not np.isfinite(end_h) or not np.isfinite(rate):
        return metal
    return float(metal_in_fill(max(rate, 0.0), max(end_h - hours, 0.0), metal, makeup))


def metal_readings(generation: Generation, life_h: ArrayLike, usual_rate_ppm_per_h: float) -> dict[str, np.ndarray]:
    """Return rates as readings for the trend: ratio to the usual rate and stated share, on the `log` scale.

    Parameters
    ----------
    generation : Generation
        Rates of one drive [ppm/h]
    life_h : array_like
        Drive hours at each sample [h]
    usual_rate_ppm_per_h : float
        Rate of a healthy drive of this model, above zero [ppm/h]

    Returns
    -------
    columns : dict
        life_h, ratio (NaN where the rate is not above zero), cv [-]

    Examples
    --------
    >>> rates = Generation(np.array([0.02, 0.03]), np.array([0.002, 0.003]))
    >>> metal_readings(rates, [500.0, 900.0], 0.02)["ratio"].tolist()
    [1.0, 1.5]

    Source
    ------
    Uncertainty from a rate that is smoothed over the samples, so that a low figure by chance is not trusted more: our choice.
    """
    if not usual_rate_ppm_per_h > 0:
        raise ValueError(f"usual_rate_ppm_per_h must be above zero, got {usual_rate_ppm_per_h}")
    rate, doubt = generation.rate_ppm_per_h, generation.uncertainty_ppm_per_h
    known = np.isfinite(rate)
    usual = np.median(rate[known]) if known.any() else np.nan
    share = doubt / np.maximum(np.maximum(rate, usual), 0.2 * usual_rate_ppm_per_h)
    ratio = np.where(rate > 0, rate, np.nan) / usual_rate_ppm_per_h
    return {"life_h": np.asarray(life_h, dtype=float), "ratio": ratio, "cv": share}

"""Where a figure leaves the company of its fleet: limits from the figures themselves, in three forms."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

MAD_TO_SIGMA = 1.4826  # median absolute deviation of a normal law to its standard deviation, 1/0.67449
SMALL_FLEET = 30  # below this many samples the robust form; common practice, no source
FEWEST_SAMPLES = 5  # below this no limit at all; ours, a setting
CUMULATIVE_PERCENTS = (80.0, 90.0, 95.0, 98.0)  # four levels are usual; the percentages are ours, settings
NORMAL_DOUBT = 0.05


@dataclass(frozen=True)
class AlarmLimits:
    """Two limits, how they were made and out of how many samples."""

    form: str
    caution: float
    critical: float
    sample_count: int


def normal_limit(values: Sequence[float], multiple: float) -> float:
    """Return a control-chart limit: so many standard deviations above the mean.

    Law
    ---
    limit = mean + k s

    Parameters
    ----------
    values : sequence of float, shape (n,)
        Figures of the fleet, two or more, NaN left out [-]
    multiple : float
        Standard deviations above the mean [-]

    Returns
    -------
    limit : float
        In the unit of the figures [-]

    Examples
    --------
    >>> round(normal_limit([12, 9, 15, 11, 10, 14, 13, 8, 12, 40], multiple=2), 1)
    32.9

    Source
    ------
    ASTM D7720 (scope only), control-chart form; one and two deviations: Machinery Lubrication, trending using percentile calculations.
    """
    known = known_values(values, fewest=2)
    return float(known.mean() + multiple * known.std(ddof=1))


def cumulative_limit(values: Sequence[float], percent: float) -> float:
    """Return the figure below which so many per cent of the fleet lie.

    Law
    ---
    limit = percentile, straight between neighbours

    Parameters
    ----------
    values : sequence of float, shape (n,)
        Figures of the fleet, one or more, NaN left out [-]
    percent : float
        Per cent of the fleet below the limit, 0 to 100 [%]

    Returns
    -------
    limit : float
        In the unit of the figures [-]

    Examples
    --------
    >>> round(cumulative_limit([12, 9, 15, 11, 10, 14, 13, 8, 12, 40], percent=90), 6)
    17.5

    Source
    ------
    ASTM D7720 (scope only), cumulative form.
    """
    if not 0 <= percent <= 100:
        raise ValueError(f"percent must be from 0 to 100, got {percent}")
    return float(np.percentile(known_values(values, fewest=1), percent))


def cumulative_levels(values: Sequence[float], percents: Sequence[float] = CUMULATIVE_PERCENTS) -> tuple[float, ...]:
    """Return the figures below which several shares of the fleet lie, four as is usual.

    Law
    ---
    level = percentile, straight between neighbours

    Parameters
    ----------
    values : sequence of float, shape (n,)
        Figures of the fleet, one or more, NaN left out [-]
    percents : sequence of float
        Per cent of the fleet below each level, 0 to 100 [%]

    Returns
    -------
    levels : tuple of float
        As many, in the unit of the figures [-]

    Examples
    --------
    >>> [round(level, 1) for level in cumulative_levels(range(101))]
    [80.0, 90.0, 95.0, 98.0]

    Source
    ------
    ASTM D7720 (scope only), cumulative form; the percentages are not from it.
    """
    return tuple(cumulative_limit(values, percent) for percent in percents)


def robust_limit(values: Sequence[float], multiple: float = 3.0) -> float:
    """Return a limit that one outlier cannot lift over its own head.

    Law
    ---
    limit = median + k 1.4826 MAD

    Parameters
    ----------
    values : sequence of float, shape (n,)
        Figures of the fleet, one or more, NaN left out [-]
    multiple : float
        Deviations above the median [-]

    Returns
    -------
    limit : float
        In the unit of the figures [-]

    Examples
    --------
    >>> round(robust_limit([12, 9, 15, 11, 10, 14, 13, 8, 12, 40]), 2)
    20.9

    Source
    ------
    Robust statistics, Hampel; from memory.
    """
    known = known_values(values, fewest=1)
    median = np.median(known)
    return float(median + multiple * MAD_TO_SIGMA * np.median(np.abs(known - median)))


def known_values(values: Sequence[float], fewest: int) -> np.ndarray:
    """Return the figures that are there, and refuse too few of them.

    Parameters
    ----------
    values : sequence of float, shape (n,)
        Figures, NaN where missing [-]
    fewest : int
        Least number that makes sense [-]

    Returns
    -------
    known : array, shape (m,)
        Those that are not NaN [-]

    Examples
    --------
    >>> known_values([1.0, float("nan"), 3.0], fewest=2)
    array([1., 3.])

    Source
    ------
    House rule.
    """
    given = np.asarray(values, dtype=float)
    known = given[~np.isnan(given)]
    if known.size < fewest:
        raise ValueError(f"values must hold {fewest} or more, got {known.size}")
    return known


def suited_limits(values: Sequence[float], multiples: tuple[float, float] = (2.0, 3.0)) -> AlarmLimits | None:
    """Return caution and critical limits in the form that suits the figures.

    Parameters
    ----------
    values : sequence of float, shape (n,)
        Figures of the fleet, NaN left out [-]
    multiples : tuple
        Deviations above the middle for caution and critical, in the robust and the normal form [-]

    Returns
    -------
    limits : AlarmLimits or None
        Robust below 30 samples, else normal where a test for it finds no doubt, else cumulative at 90 and 98 %; None below 5 samples [-]

    Examples
    --------
    >>> limits = suited_limits([12, 9, 15, 11, 10, 14, 13, 8, 12, 40])
    >>> limits.form, round(limits.critical, 1)
    ('robust', 20.9)

    Source
    ------
    ASTM D7720 (scope only): control-chart limits where figures are normal, cumulative ones otherwise; the choice for small fleets is ours.
    """
    known = known_values(values, fewest=0)
    if known.size < FEWEST_SAMPLES:
        return None
    if known.size < SMALL_FLEET:
        return AlarmLimits("robust", robust_limit(known, multiples[0]), robust_limit(known, multiples[1]), known.size)
    if looks_normal(known):
        return AlarmLimits("normal", normal_limit(known, multiples[0]), normal_limit(known, multiples[1]), known.size)
    _, caution, _, critical = cumulative_levels(known)
    return AlarmLimits("cumulative", caution, critical, known.size)


def looks_normal(values: Sequence[float]) -> bool:
    """Say whether figures may come from a normal law, as far as a test can doubt it at 5 %.

    Parameters
    ----------
    values : sequence of float, shape (n,)
        Figures, three or more, NaN left out [-]

    Returns
    -------
    answer : bool
        False where the test doubts it or all figures are the same [-]

    Examples
    --------
    >>> looks_normal([9, 10, 10, 11, 11, 11, 12, 12, 13]), looks_normal([1, 1, 1, 1, 1, 1, 2, 2, 90])
    (True, False)

    Source
    ------
    Shapiro & Wilk 1965, as worked out by scipy.
    """
    from scipy.stats import shapiro

    known = known_values(values, fewest=3)
    return bool(np.ptp(known) > 0 and shapiro(known).pvalue > NORMAL_DOUBT)


def alarm_word(value: float, caution: float, critical: float) -> str:
    """Return in a word where a figure lies against two limits.

    Parameters
    ----------
    value : float
        The figure [-]
    caution : float
        Limit that calls for a second look [-]
    critical : float
        Limit that calls for action, not under the caution [-]

    Returns
    -------
    word : str
        usual, caution or critical; a figure on a limit is not over it [-]

    Examples
    --------
    >>> alarm_word(20, 20, 30), alarm_word(21, 20, 30), alarm_word(31, 20, 30)
    ('usual', 'caution', 'critical')

    Source
    ------
    House rule.
    """
    if not critical >= caution:
        raise ValueError(f"critical must not be under caution, got {critical} under {caution}")
    if value > critical:
        return "critical"
    return "caution" if value > caution else "usual"

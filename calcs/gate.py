"""What a law lets in and how it hands its result back: limits by argument name, single numbers and arrays alike."""

from __future__ import annotations

import numpy as np

Number = float | np.ndarray


def require_above(limit: float, **named: Number) -> None:
    """Refuse numbers that are not above a limit; NaN, a missing reading, passes.

    Parameters
    ----------
    limit : float
        Each number must be above this [-]
    **named : float or array
        Numbers by argument name [-]

    Returns
    -------
    nothing : None
        Silence if all is well, else ValueError naming the argument and the value [-]

    Examples
    --------
    >>> require_above(0, speed_rpm=-5)
    Traceback (most recent call last):
    ValueError: speed_rpm must be above 0, got -5

    Source
    ------
    House rule.
    """
    for name, value in named.items():
        outside = value <= limit if isinstance(value, float | int) else np.any(np.asarray(value) <= limit)  # a lone number needs no array
        if outside:
            raise ValueError(f"{name} must be above {limit:g}, got {value}")


def require_between(low: float, high: float, **named: Number) -> None:
    """Refuse numbers outside two limits, the limits themselves let in; NaN, a missing reading, passes.

    Parameters
    ----------
    low : float
        Smallest number let in [-]
    high : float
        Largest number let in [-]
    **named : float or array
        Numbers by argument name [-]

    Returns
    -------
    nothing : None
        Silence if all is well, else ValueError naming the argument and the value [-]

    Examples
    --------
    >>> require_between(0, 1, slip_share=1.2)
    Traceback (most recent call last):
    ValueError: slip_share must be from 0 to 1, got 1.2

    Source
    ------
    House rule.
    """
    for name, value in named.items():
        given = value if isinstance(value, float | int) else np.asarray(value)
        outside = (given < low) | (given > high)
        if outside if isinstance(outside, bool) else np.any(outside):
            raise ValueError(f"{name} must be from {low:g} to {high:g}, got {value}")


def within(low: float, high: float, name: str, value: Number) -> Number:
    """Return numbers inside two limits; a single one outside is refused, an element of an array outside becomes NaN.

    Parameters
    ----------
    low : float
        Smallest number let in [-]
    high : float
        Largest number let in [-]
    name : str
        Name of the argument, for the refusal [-]
    value : float or array
        The numbers [-]

    Returns
    -------
    value : float or array
        The same, NaN where outside [-]

    Examples
    --------
    >>> within(0, 10, "oil_temp_c", np.array([5.0, 11.0]))
    array([ 5., nan])

    Source
    ------
    House rule.
    """
    if np.ndim(value) == 0:
        require_between(low, high, **{name: value})
        return value
    given = np.asarray(value, dtype=float)
    return np.where((given < low) | (given > high), np.nan, given)


def plain(result: Number) -> Number:
    """Return a single number as a plain float and an array as it is.

    Parameters
    ----------
    result : float or array
        What a law worked out [-]

    Returns
    -------
    result : float or array
        The same, without the numpy wrapping of a single number [-]

    Examples
    --------
    >>> plain(np.float64(2.5))
    2.5

    Source
    ------
    House rule.
    """
    return float(result) if isinstance(result, float) or not np.ndim(result) else result

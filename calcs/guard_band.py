"""A figure against its limits by guard band: inside, outside, or honestly undecided, with one sentence that says why."""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum

from calcs.acceptance import Limits
from calcs.uncertainty import GAUGE_CLASSES, class_that_decides, combined_uncertainty, expanded_uncertainty, fitting_span


class State(StrEnum):
    """The states a reading can be in, as printed."""

    INSIDE = "inside"
    UNDECIDED = "undecided"
    OUTSIDE_LOW = "outside low"
    OUTSIDE_HIGH = "outside high"
    NOT_COMPARABLE = "not comparable"
    SUSPECT_INSTRUMENT = "suspect instrument"
    IMPOSSIBLE = "impossible"


@dataclass(frozen=True)
class Verdict:
    """What was found; `margin` is the way to the nearest limit, below zero when past it, `expanded` the uncertainty at k = 2."""

    state: State
    reason: str
    low: float | None = None
    high: float | None = None
    margin: float | None = None
    expanded: float | None = None
    decided_by: str = ""  # maker, calculated or empty
    source: str = ""


def shown(value: float) -> str:
    """Return a figure with as many places as a shop reads.

    Parameters
    ----------
    value : float
        Figure [any]

    Returns
    -------
    text : str
        Three figures or so [-]

    Examples
    --------
    >>> shown(20.6), shown(1.25), shown(402.4)
    ('20.6', '1.25', '402')

    Source
    ------
    House rule.
    """
    size = abs(value)
    return f"{value:.0f}" if size >= 100 else f"{value:.1f}" if size >= 10 else f"{value:.2f}"


def limits_shown(low: float | None, high: float | None, unit: str) -> str:
    """Return limits in words.

    Parameters
    ----------
    low : float or None
        Lower limit; None if open [house unit]
    high : float or None
        Upper limit; None if open [house unit]
    unit : str
        House unit [-]

    Returns
    -------
    text : str
        The limits, ready for a sentence [-]

    Examples
    --------
    >>> limits_shown(402, 411, "bar"), limits_shown(None, 7.5, "L/min")
    ('402 to 411 bar', 'limit 7.50 L/min')

    Source
    ------
    House rule.
    """
    if low is None and high is None:
        return "no limit"
    if low is None or high is None:
        return f"limit {shown(high if low is None else low)} {unit}".strip()
    return f"{shown(low)} to {shown(high)} {unit}".strip()


def margin_to(value: float, low: float | None, high: float | None) -> float | None:
    """Return the way from a reading to the nearest limit, below zero when past it.

    Parameters
    ----------
    value : float
        Reading [house unit]
    low : float or None
        Lower limit; None if open [house unit]
    high : float or None
        Upper limit; None if open [house unit]

    Returns
    -------
    margin : float or None
        Way to the nearest limit; None if both sides are open [house unit]

    Examples
    --------
    >>> margin_to(23, 21, 30), margin_to(20, 21, None)
    (2, -1)

    Source
    ------
    House rule.
    """
    ways = [way for way in (None if low is None else value - low, None if high is None else high - value) if way is not None]
    return min(ways, default=None)


def better_instrument(value: float, margin: float, unit: str, limit_uncertainty: float = 0.0) -> str:
    """Return which instrument would decide a reading that this one cannot.

    Parameters
    ----------
    value : float
        Reading [house unit]
    margin : float
        Way to the nearest limit, either sign [house unit]
    unit : str
        House unit [-]
    limit_uncertainty : float
        Standard uncertainty of the limit itself, which no instrument mends [house unit]

    Returns
    -------
    advice : str
        One clause [-]

    Examples
    --------
    >>> better_instrument(20.6, -0.4, "bar")
    'a gauge of class 0.6 and 40 bar would decide'

    Source
    ------
    Classes and spans of EN 837-1; see `class_that_decides`.
    """
    left = margin**2 - expanded_uncertainty(limit_uncertainty) ** 2
    if left <= 0:
        return (
            "closer than the conditions of the test are known, so repeat it with oil temperature, speed and pressure measured more closely"
        )
    span = fitting_span(abs(value)) if unit == "bar" else None
    if span is None:
        return f"it takes an instrument good to less than ± {shown(left**0.5)} {unit}".strip()
    percent = class_that_decides(left**0.5, span)
    if percent is None:
        return f"too close for the finest gauge, class {GAUGE_CLASSES[0]:g}, so repeat the reading or take it as on the limit"
    return f"a gauge of class {percent:g} and {span:g} bar would decide"


def judge(
    value: float,
    standard_uncertainty: float,
    limits: Limits | tuple[float | None, float | None],
    unit: str = "",
    decided_by: str = "",
    source: str = "",
) -> Verdict:
    """Return the verdict on a reading: decided only where its uncertainty leaves no doubt.

    Law
    ---
    inside if low + U <= x <= high - U; outside if x + U < low or x - U > high; else undecided; U = 2 u

    Parameters
    ----------
    value : float
        Reading [house unit]
    standard_uncertainty : float
        Standard uncertainty of the reading, zero or more [house unit]
    limits : Limits or tuple
        Lower and upper limit, None for an open side [house unit]
    unit : str
        House unit, for the sentence [-]
    decided_by : str
        `maker` or `calculated` [-]
    source : str
        Where the limits come from, for the sentence [-]

    Returns
    -------
    verdict : Verdict
        State, sentence, limits and margin [-]

    Examples
    --------
    >>> found = judge(20.6, 0.625, (21.0, None), unit="bar")
    >>> print(found.state, "-", found.reason)
    undecided - 20.6 ± 1.25 bar against limit 21.0 bar is undecided: a gauge of class 0.6 and 40 bar would decide.

    Source
    ------
    Guard bands on both sides of each limit in the sense of JCGM 106:2012, clause 8, with k = 2.
    """
    if not math.isfinite(value):
        raise ValueError(f"value must be a finite number, got {value}")
    limits = limits if isinstance(limits, Limits) else Limits(*limits)
    if limits.low is None and limits.high is None:
        return Verdict(State.NOT_COMPARABLE, "There is no limit to hold the reading against.")
    doubt = expanded_uncertainty(float(combined_uncertainty(standard_uncertainty, limits.uncertainty)))
    state = state_of(value, doubt, limits.low, limits.high)
    margin = margin_to(value, limits.low, limits.high)
    against = f"{shown(value)} ± {shown(doubt)} {unit}".strip()
    reason = sentence(
        state, against, limits_shown(limits.low, limits.high, unit), better_instrument(value, margin, unit, limits.uncertainty)
    )
    return Verdict(state, reason + (f" ({source})" if source else ""), limits.low, limits.high, margin, doubt, decided_by, source)


def state_of(value: float, doubt: float, low: float | None, high: float | None) -> State:
    """Return the state of a reading by guard band.

    Parameters
    ----------
    value : float
        Reading [house unit]
    doubt : float
        Expanded uncertainty, zero or more [house unit]
    low : float or None
        Lower limit; None if open [house unit]
    high : float or None
        Upper limit; None if open [house unit]

    Returns
    -------
    state : State
        Inside, outside low, outside high or undecided [-]

    Examples
    --------
    >>> state_of(25.0, 1.25, 21.0, None).value, state_of(19.0, 1.25, 21.0, None).value
    ('inside', 'outside low')

    Source
    ------
    JCGM 106:2012, clause 8.
    """
    if low is not None and value + doubt < low:
        return State.OUTSIDE_LOW
    if high is not None and value - doubt > high:
        return State.OUTSIDE_HIGH
    clear_of_low = low is None or value - doubt >= low
    clear_of_high = high is None or value + doubt <= high
    return State.INSIDE if clear_of_low and clear_of_high else State.UNDECIDED


def sentence(state: State, against: str, limits: str, advice: str) -> str:
    """Return the sentence of a verdict.

    Parameters
    ----------
    state : State
        State found [-]
    against : str
        Reading with its uncertainty and unit [-]
    limits : str
        Limits in words [-]
    advice : str
        What would decide, for an undecided reading [-]

    Returns
    -------
    text : str
        One sentence [-]

    Examples
    --------
    >>> sentence(State.INSIDE, "23.0 ± 0.5 bar", "limit 21.0 bar", "")
    '23.0 ± 0.5 bar against limit 21.0 bar is inside.'

    Source
    ------
    House rule.
    """
    tail = f": {advice}." if state is State.UNDECIDED else "."
    return f"{against} against {limits} is {state.value}{tail}"

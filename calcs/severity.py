"""What changes the length of an interval: hard duty, the fluid's past, findings on the machine."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from math import prod

import numpy as np

from calcs.thousands import grouped

# Shop defaults, editable: common practice, no source.
FACTORS = {
    "dust": 0.75,
    "hot oil": 0.7,
    "long transport": 0.8,
    "couplers": 0.8,
    "water": 0.7,
    "unknown fluid": 0.5,
    "many operators": 0.85,
}
FACTOR_FLOOR = 0.4
FINDINGS = {
    "indicator": "restriction indicator up on warm oil",
    "sample": "oil sample outside its limits",
    "debris": "debris on the cut-open filter",
    "foam": "foam or water in the fluid",
    "failure": "a unit failed",
}


@dataclass(frozen=True)
class ShortenedInterval:
    """An interval after its factors, with the product written out."""

    hours: float
    factor: float
    words: str


@dataclass(frozen=True)
class Finding:
    """Something seen on the machine that calls a task at once. `oil_warm` matters for a restriction indicator only."""

    kind: str
    found_on: date
    life_h: float
    oil_warm: bool = True


def severity_product(factors: Iterable[float], floor: float = FACTOR_FLOOR) -> float:
    """Return the product of severity factors, never below the floor.

    Law
    ---
    factor = max(floor, product of factors)

    Parameters
    ----------
    factors : iterable of float
        Each above zero and at most one [-]
    floor : float
        Least the product may come to [-]

    Returns
    -------
    factor : float
        What the interval is multiplied by [-]

    Examples
    --------
    >>> round(severity_product([0.75, 0.8]), 6)
    0.6
    >>> severity_product([0.5, 0.7, 0.75])
    0.4

    Source
    ------
    Makers ask for shorter intervals in dust and heavy load; factors and floor are common practice, no source.
    """
    values = list(factors)
    for value in values:
        if not 0 < value <= 1:
            raise ValueError(f"factors must be above 0 and at most 1, got {value}")
    return max(floor, prod(values))


def shorten(every_h: float, factors: Mapping[str, float], floor: float = FACTOR_FLOOR) -> ShortenedInterval:
    """Return an interval after its severity factors, with the product written out.

    Law
    ---
    hours = every x max(floor, product of factors)

    Parameters
    ----------
    every_h : float
        Interval as the maker states it, above zero [h]
    factors : mapping
        Factor by reason, each above zero and at most one [-]
    floor : float
        Least their product may come to [-]

    Returns
    -------
    shortened : ShortenedInterval
        Hours, factor and the line to print [h]

    Examples
    --------
    >>> shorten(500, {"dust": 0.75, "couplers": 0.8}).words
    '500 h x 0.75 (dust) x 0.8 (couplers) = 300 h'

    Source
    ------
    Common practice, no source.
    """
    if every_h <= 0:
        raise ValueError(f"every_h must be above zero, got {every_h}")
    factor = severity_product(factors.values(), floor)
    hours = round(every_h * factor, 6)
    if not factors:
        return ShortenedInterval(hours, factor, f"{grouped(every_h)} h")
    floored = prod(factors.values()) < floor
    line = " x ".join([f"{grouped(every_h)} h", *(f"{value:g} ({name})" for name, value in factors.items())])
    return ShortenedInterval(hours, factor, line + (f", held at {floor:g}" if floored else "") + f" = {grouped(hours)} h")


def hours_by_fluid_past(every_h, every_mixed_h, other_fluid_ever):
    """Return the interval that holds for the fluid's past: the longer one only if no other fluid was ever in the tank.

    Parameters
    ----------
    every_h : float or array
        Interval where only the named fluid was ever in the tank [h]
    every_mixed_h : float or array
        Interval where another fluid was in it at any time; NaN where the rule makes no difference [h]
    other_fluid_ever : bool or array of bool
        Whether another fluid was in the tank at any time, flushed or not [-]

    Returns
    -------
    every_h : float or array
        Interval that holds [h]

    Examples
    --------
    >>> [float(hours_by_fluid_past(2000, 800, ever)) for ever in (False, True)]
    [2000.0, 800.0]

    Source
    ------
    The Toro Company, Operator's Manual 31900A, p. 70: 1000/2000 h, or 800 h once another fluid was used.
    """
    mixed = np.asarray(every_mixed_h, float)
    return np.where(np.asarray(other_fluid_ever, bool) & ~np.isnan(mixed), mixed, np.asarray(every_h, float))


def finding_that_calls(findings: Sequence[Finding], done_on: date | None = None) -> tuple[Finding | None, tuple[str, ...]]:
    """Return the earliest finding since the task was last done that calls it at once, and the words for each one looked at.

    Parameters
    ----------
    findings : sequence of Finding
        What was seen on the machine [-]
    done_on : date, optional
        Day the task was last done; findings up to that day are answered by it [date]

    Returns
    -------
    called : tuple
        The finding or None, and the reasons in words [-]

    Examples
    --------
    An indicator that stands up on cold oil is a known false alarm:

    >>> finding_that_calls([Finding("indicator", date(2026, 3, 2), 410, oil_warm=False)])
    (None, ('restriction indicator up on cold oil on 2026-03-02: look again warm',))

    Source
    ------
    ASTM D7720 for acting on sample limits; US Navy hydraulics training texts for the cold-oil indication.
    """
    open_ones = sorted((f for f in findings if done_on is None or f.found_on > done_on), key=lambda f: (f.found_on, f.life_h))
    called, words = None, []
    for finding in open_ones:
        if finding.kind not in FINDINGS:
            raise ValueError(f"findings must be one of {sorted(FINDINGS)}, got {finding.kind!r}")
        if finding.kind == "indicator" and not finding.oil_warm:
            words.append(f"restriction indicator up on cold oil on {finding.found_on}: look again warm")
            continue
        words.append(f"{FINDINGS[finding.kind]} on {finding.found_on} at {grouped(finding.life_h)} h: due at once")
        called = called or finding
    return called, tuple(words)

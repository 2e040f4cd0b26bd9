"""The difference of two readings with its own uncertainty: what both share, such as the error of one gauge, falls out of it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from calcs.uncertainty import COVERAGE


@dataclass(frozen=True)
class Difference:
    """Second less first; `is_real` where it is larger than its expanded uncertainty."""

    value: float
    standard: float
    expanded: float
    is_real: bool


def paired_difference(
    first: float, second: float, first_standard: float, second_standard: float, shared_standard: float = 0.0
) -> Difference:
    """Return the difference of two readings, second less first, with its uncertainty.

    Law
    ---
    u(d)^2 = u1^2 + u2^2 - 2 us^2

    Parameters
    ----------
    first : float
        First reading, such as before a repair, or forward [house unit]
    second : float
        Second reading, such as after it, or reverse [house unit]
    first_standard : float
        Its standard uncertainty, the shared part with it [house unit]
    second_standard : float
        That of the second, the shared part with it [house unit]
    shared_standard : float
        Part that both have in common, such as the error of one gauge; no more than either [house unit]

    Returns
    -------
    difference : Difference
        Difference with standard and expanded uncertainty [house unit]

    Examples
    --------
    Two charge readings with one gauge of class 1.6 of 60 bar (0.554 bar), each read to half a bar (0.289 bar):

    >>> same = paired_difference(20.6, 22.0, 0.625, 0.625, shared_standard=0.554)
    >>> round(same.value, 1), round(same.expanded, 2), same.is_real
    (1.4, 0.82, True)
    >>> round(paired_difference(20.6, 22.0, 0.625, 0.625).expanded, 2)
    1.77

    Source
    ------
    Guide to the expression of uncertainty in measurement, JCGM 100:2008, equation 16, fully correlated shared part (5.2.2, note 1).
    """
    least = min(first_standard, second_standard)
    if least < 0 or not 0 <= shared_standard <= least * (1 + 1e-9):
        raise ValueError(
            f"shared_standard must lie between 0 and both others, got {shared_standard} of {first_standard} and {second_standard}"
        )
    standard = float(np.sqrt(max(first_standard**2 + second_standard**2 - 2 * shared_standard**2, 0.0)))
    value, expanded = second - first, COVERAGE * standard
    return Difference(value, standard, expanded, abs(value) > expanded)

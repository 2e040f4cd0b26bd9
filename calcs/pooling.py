"""How far a small group leans on its kin, and which of a large group's series speak for it."""

from __future__ import annotations

import numpy as np

from calcs.series import Layout

FULL_UNITS = 10.0
SMALL, ALONE = 20, 40
MOST_SERIES = 600


def kin_units(series: int) -> float:
    """Return for how many pseudo-drives the kin of a group counts: ten for a small one, none from forty series on.

    Parameters
    ----------
    series : int
        Number of series of the group [-]

    Returns
    -------
    units : float
        Pseudo-drives [-]

    Examples
    --------
    >>> [kin_units(number) for number in (5, 30, 40)]
    [10.0, 5.0, 0.0]

    Source
    ------
    Our choice: from forty series on a group stands alone, so that another fleet cannot change its answers.
    """
    return FULL_UNITS * float(np.clip((ALONE - series) / (ALONE - SMALL), 0.0, 1.0))


def representative(layout: Layout, members: np.ndarray, most: int = MOST_SERIES) -> np.ndarray:
    """Choose series that speak for a group: every k-th in the order of hours run, whatever their labels.

    Parameters
    ----------
    layout : Layout
        All readings [-]
    members : ndarray
        Places of the group's series [-]
    most : int
        How many at most [-]

    Returns
    -------
    chosen : ndarray
        Places, rising [-]

    Examples
    --------
    >>> import pandas as pd
    >>> from calcs.series import lay_out
    >>> frame = pd.DataFrame({"series": [1, 2, 3], "group": 1, "life_h": [1.0, 2.0, 3.0], "ratio": 1.0, "cv": np.nan, "scale": "log"})
    >>> representative(lay_out(frame), np.arange(3), 2).tolist()
    [0, 2]

    Source
    ------
    Systematic sample from an ordered list; W. G. Cochran, Sampling Techniques, 3rd ed., 1977, ch. 8 (from memory).
    """
    if len(members) <= most:
        return members
    last = layout.start[members] + layout.count[members] - 1
    first = layout.start[members]
    order = np.argsort(layout.hours[last] + 0.1 * layout.hours[first] + layout.straight[last], kind="stable")
    return np.sort(members[order[np.linspace(0, len(members) - 1, most).round().astype(int)]])

"""What partial changes and top-ups leave of the old oil and of what is in it."""

from __future__ import annotations

import numpy as np

from calcs.gate import Number, plain, require_above, require_between


def old_share_after(drained_l: Number, system_l: Number, changes: Number = 1) -> Number:
    """Return the share of old oil left after partial changes of the same size.

    Law
    ---
    share = (1 - drained/system)^changes

    Parameters
    ----------
    drained_l : float or array
        Drained and filled anew each time, zero to the whole system [L]
    system_l : float or array
        Oil in the whole system, above zero [L]
    changes : float or array
        Number of changes, zero or more, oil fully mixed between them [-]

    Returns
    -------
    share : float or array
        Old oil over all oil [-]

    Examples
    --------
    30 of 45 L, once, twice, three times:

    >>> [round(100 * old_share_after(30, 45, n), 1) for n in (1, 2, 3)]
    [33.3, 11.1, 3.7]

    Source
    ------
    Conservation of volume; published questions and answers on 4 of 7 L agree.
    """
    require_above(0, system_l=system_l)
    require_between(0, np.min(system_l), drained_l=drained_l)
    require_between(0, np.inf, changes=changes)
    return plain((1 - np.asarray(drained_l) / system_l) ** np.asarray(changes))


def changes_needed(drained_l: float, system_l: float, residual_share: float) -> float:
    """Return how many partial changes bring the old oil down to a share; round up for whole ones.

    Law
    ---
    changes = ln(share)/ln(1 - drained/system)

    Parameters
    ----------
    drained_l : float
        Drained and filled anew each time, above zero and below the whole system [L]
    system_l : float
        Oil in the whole system [L]
    residual_share : float
        Share of old oil allowed, above 0 to 1 [-]

    Returns
    -------
    changes : float
        Number of changes [-]

    Examples
    --------
    >>> round(changes_needed(4, 7, residual_share=0.05), 1)
    3.5

    Source
    ------
    The law of partial changes turned round.
    """
    require_above(0, drained_l=drained_l, residual_share=residual_share)
    require_above(drained_l, system_l=system_l)
    require_between(0, 1, residual_share=residual_share)
    return float(np.log(residual_share) / np.log(1 - drained_l / system_l))


def steady_before_change(rise: Number, changed_share: Number) -> Number:
    """Return what a figure that rises steadily settles at just before each partial change.

    Law
    ---
    before = rise/share

    Parameters
    ----------
    rise : float or array
        Rise within one interval, ppm or hours of age alike [-]
    changed_share : float or array
        Share of the oil changed each time, above 0 to 1 [-]

    Returns
    -------
    before : float or array
        The figure just before a change, in the unit of the rise [-]

    Examples
    --------
    20 ppm an interval with 40 % changed:

    >>> steady_before_change(20, changed_share=0.4)
    50.0

    Source
    ------
    Sum of the geometric series of what stays behind.
    """
    require_above(0, changed_share=changed_share)
    require_between(0, 1, changed_share=changed_share)
    return plain(np.asarray(rise) / changed_share)


def steady_after_change(rise: Number, changed_share: Number) -> Number:
    """Return what a figure that rises steadily settles at just after each partial change.

    Law
    ---
    after = rise (1 - share)/share

    Parameters
    ----------
    rise : float or array
        Rise within one interval, ppm or hours of age alike [-]
    changed_share : float or array
        Share of the oil changed each time, above 0 to 1 [-]

    Returns
    -------
    after : float or array
        The figure just after a change, in the unit of the rise [-]

    Examples
    --------
    >>> steady_after_change(20, changed_share=0.4)
    30.0

    Source
    ------
    Sum of the geometric series of what stays behind.
    """
    return plain(steady_before_change(rise, changed_share) * (1 - np.asarray(changed_share)))


def carry_over(before_ppm: Number, changed_share: Number, new_oil_ppm: Number = 0.0) -> Number:
    """Return what a laboratory would find just after a change, before the drive has worn any more.

    Law
    ---
    after = before (1 - share) + new share

    Parameters
    ----------
    before_ppm : float or array
        Found just before the change [ppm]
    changed_share : float or array
        Share of the oil changed, 0 to 1 [-]
    new_oil_ppm : float or array
        Held by the new oil itself [ppm]

    Returns
    -------
    after : float or array
        In the mix [ppm]

    Examples
    --------
    >>> round(carry_over(60, changed_share=2 / 3), 6)
    20.0

    Source
    ------
    Conservation of mass.
    """
    require_between(0, 1, changed_share=changed_share)
    share = np.asarray(changed_share)
    return plain(before_ppm * (1 - share) + new_oil_ppm * share)


def settled_by_top_up(wear_rate_ppm_per_h: Number, top_up_l_per_h: Number, system_l: Number, run_h: Number = np.inf) -> Number:
    """Return the wear metal in oil whose steady losses are topped up with clean oil, from clean at the start.

    Law
    ---
    c = (g V/q)(1 - exp(-q t/V))

    Parameters
    ----------
    wear_rate_ppm_per_h : float or array
        Metal the drive puts into the oil [ppm/h]
    top_up_l_per_h : float or array
        Oil lost and topped up, above zero [L/h]
    system_l : float or array
        Oil in the whole system, above zero [L]
    run_h : float or array
        Hours since the oil was clean; without end if left out [h]

    Returns
    -------
    wear_metal : float or array
        Metal in the oil [ppm]

    Examples
    --------
    0.1 ppm/h in 50 L, 0.05 L/h topped up: settles where as much leaks out as wears off:

    >>> settled_by_top_up(0.1, top_up_l_per_h=0.05, system_l=50)
    100.0

    Source
    ------
    Mass balance of a stirred vessel, any textbook of chemical engineering.
    """
    require_above(0, top_up_l_per_h=top_up_l_per_h, system_l=system_l)
    require_between(0, np.inf, run_h=run_h)
    renewal_per_h = np.asarray(top_up_l_per_h) / system_l
    return plain(wear_rate_ppm_per_h / renewal_per_h * -np.expm1(-renewal_per_h * run_h))

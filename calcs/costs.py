"""What a machine costs: repairs that grow with its hours, and cost per hour whose parts add up to the cent."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import ROUND_FLOOR, Decimal

import numpy as np

from calcs.gate import Number, plain, require_above, require_between

# ASABE D497 repair factors RF1, RF2. The first three each bear out one published result; the rest from memory, not confirmed: settings.
REPAIR_FACTORS = {
    "tractor, two-wheel drive": (0.007, 2.0),
    "tractor, four-wheel drive or crawler": (0.003, 2.0),
    "combine, self-propelled": (0.04, 2.1),
    "windrower, self-propelled": (0.06, 2.0),
    "sprayer, self-propelled": (0.41, 1.3),
    "forage harvester, self-propelled": (0.03, 2.0),
}
CENT = Decimal("0.01")


def repair_share(life_h: Number, factor1: Number, factor2: Number) -> Number:
    """Return the repairs of a machine up to an hour figure, as a share of its list price.

    Law
    ---
    share = RF1 (h/1000)^RF2

    Parameters
    ----------
    life_h : float or array
        Hours of life, zero or more [h]
    factor1 : float or array
        Repair factor RF1, above zero [-]
    factor2 : float or array
        Repair factor RF2, above zero [-]

    Returns
    -------
    share : float or array
        Repairs so far over list price of today; single machines differ widely [-]

    Examples
    --------
    A four-wheel-drive tractor at 12,000 h:

    >>> round(100 * repair_share(12_000, factor1=0.003, factor2=2.0), 1)
    43.2

    Source
    ------
    ASABE EP496 and D497; result as in Calcante et al. 2013, Journal of Agricultural Engineering.
    """
    require_between(0, np.inf, life_h=life_h)
    require_above(0, factor1=factor1, factor2=factor2)
    return plain(factor1 * (np.asarray(life_h, dtype=float) / 1000) ** np.asarray(factor2))


def repair_share_between(from_h: Number, to_h: Number, factor1: Number, factor2: Number) -> Number:
    """Return the repairs to expect between two hour figures, as a share of the list price.

    Law
    ---
    share = C(h2) - C(h1)

    Parameters
    ----------
    from_h : float or array
        Hours at the beginning, zero or more [h]
    to_h : float or array
        Hours at the end, not before the beginning [h]
    factor1 : float or array
        Repair factor RF1, above zero [-]
    factor2 : float or array
        Repair factor RF2, above zero [-]

    Returns
    -------
    share : float or array
        Repairs between over list price of today [-]

    Examples
    --------
    >>> round(repair_share_between(5000, 6000, factor1=0.007, factor2=2.0), 3)
    0.077

    Source
    ------
    ASABE EP496 and D497.
    """
    if np.any(np.asarray(to_h) < np.asarray(from_h)):
        raise ValueError(f"to_h must not be before from_h, got {to_h} before {from_h}")
    return plain(repair_share(to_h, factor1, factor2) - repair_share(from_h, factor1, factor2))


def cost_per_hour(costs: Mapping[str, Decimal], run_h: Decimal) -> dict[str, Decimal]:
    """Return each cost for one hour, in cents that add up to the whole exactly.

    Law
    ---
    part = cost/hours, cut to the cent; the cents left over go to the parts that lost most

    Parameters
    ----------
    costs : mapping
        Amount by name, zero or more; `whole` is not allowed as a name [money]
    run_h : Decimal
        Hours over which they arose, above zero [h]

    Returns
    -------
    parts : dict
        Amount for one hour by name, and their sum under `whole`, rounded half up [money/h]

    Examples
    --------
    >>> parts = cost_per_hour({"fuel": Decimal(10), "labour": Decimal(10), "parts": Decimal(10)}, Decimal(3))
    >>> [str(part) for part in parts.values()]
    ['3.34', '3.33', '3.33', '10.00']

    Source
    ------
    Largest-remainder rounding (Hamilton).
    """
    amounts = {name: Decimal(amount) for name, amount in costs.items()}
    if run_h <= 0:
        raise ValueError(f"run_h must be above 0, got {run_h}")
    if "whole" in amounts or any(amount < 0 for amount in amounts.values()):
        raise ValueError(f"costs must be zero or more and none named whole, got {dict(costs)}")
    whole_cents = int((sum(amounts.values(), Decimal(0)) / run_h / CENT + Decimal("0.5")).to_integral_value(ROUND_FLOOR))
    exact_cents = {name: amount / run_h / CENT for name, amount in amounts.items()}
    cents = spread_cents(exact_cents, whole_cents)
    return {name: part * CENT for name, part in cents.items()} | {"whole": whole_cents * CENT}


def spread_cents(exact_cents: Mapping[str, Decimal], whole_cents: int) -> dict[str, int]:
    """Return whole cents that add up to a given sum and lie within one cent of the exact parts.

    Parameters
    ----------
    exact_cents : mapping
        Exact amount by name, zero or more [cent]
    whole_cents : int
        Their sum in whole cents, within one cent of the exact one [cent]

    Returns
    -------
    cents : dict
        Whole cents by name [cent]

    Examples
    --------
    >>> spread_cents({"a": Decimal("0.6"), "b": Decimal("0.4")}, whole_cents=1)
    {'a': 1, 'b': 0}

    Source
    ------
    Largest-remainder rounding (Hamilton).
    """
    cents = {name: int(exact.to_integral_value(ROUND_FLOOR)) for name, exact in exact_cents.items()}
    by_loss = sorted(exact_cents, key=lambda name: cents[name] - exact_cents[name])
    for name in by_loss[: whole_cents - sum(cents.values())]:
        cents[name] += 1
    return cents

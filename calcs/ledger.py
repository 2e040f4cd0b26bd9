"""The litre ledger of one compartment: which oils are in it, how old they are, and whether it ever held another."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from calcs.blend import blend_value, blend_viscosity

FILL_KINDS = ("first fill", "change", "top-up", "flush")
RENEWALS = ("first fill", "change")  # a top-up or a flush never sets the age of the oil back
DROP_L = 1e-9


@dataclass(frozen=True)
class Fill:
    """Oil drained and oil filled in at one time; the drain comes first."""

    kind: str
    life_h: float
    in_l: float
    product: str
    out_l: float = 0.0


@dataclass(frozen=True)
class Portion:
    """What is left of one fill."""

    product: str
    filled_h: float
    volume_l: float
    is_old: bool = False


def portions_after(fills: Sequence[Fill], capacity_l: float | None = None) -> tuple[Portion, ...]:
    """Return what is in a compartment after its fills, in the order they were done.

    Law
    ---
    a drain takes of every portion in proportion, a fill adds one

    Parameters
    ----------
    fills : sequence of Fill
        Fills in order; hours must not run backwards [L]
    capacity_l : float or None
        Oil at the full mark: what a fill would put above it was lost before, in proportion; None for no mark [L]

    Returns
    -------
    portions : tuple of Portion
        What is left of each fill, oldest first; `is_old` where a change came after it [L]

    Examples
    --------
    45 L, then 30 L changed:

    >>> fills = [Fill("first fill", 0, 45, "A"), Fill("change", 500, 30, "B", out_l=30)]
    >>> [(p.product, p.volume_l, p.is_old) for p in portions_after(fills)]
    [('A', 15.0, True), ('B', 30, False)]

    Source
    ------
    Conservation of volume with full mixing.
    """
    portions: tuple[Portion, ...] = ()
    last_h = float("-inf")
    for fill in fills:
        require_possible(fill, last_h, bool(portions))
        last_h = fill.life_h
        portions = after_fill(portions, fill, capacity_l)
    return portions


def require_possible(fill: Fill, last_h: float, has_oil: bool) -> None:
    """Refuse a fill that cannot have happened.

    Parameters
    ----------
    fill : Fill
        The fill in question [L]
    last_h : float
        Life hours of the fill before it [h]
    has_oil : bool
        Whether there is oil in the compartment already [-]

    Returns
    -------
    nothing : None
        Silence if all is well, else ValueError naming what is wrong [-]

    Examples
    --------
    >>> require_possible(Fill("top-up", 90, 2, "A"), last_h=100, has_oil=True)
    Traceback (most recent call last):
    ValueError: life_h must not run backwards, got 90 after 100

    Source
    ------
    House rule.
    """
    if fill.kind not in FILL_KINDS:
        raise ValueError(f"kind must be one of {', '.join(FILL_KINDS)}, got {fill.kind}")
    if fill.in_l < 0 or fill.out_l < 0:
        raise ValueError(f"in_l and out_l must not be below zero, got {fill.in_l} and {fill.out_l}")
    if fill.life_h < last_h:
        raise ValueError(f"life_h must not run backwards, got {fill.life_h} after {last_h}")
    if fill.kind == "first fill" and has_oil:
        raise ValueError(f"kind must not be first fill where there is oil already, got it at {fill.life_h} h")


def after_fill(portions: tuple[Portion, ...], fill: Fill, capacity_l: float | None = None) -> tuple[Portion, ...]:
    """Return the portions after one fill more.

    Parameters
    ----------
    portions : tuple of Portion
        What is in [L]
    fill : Fill
        Drained first, then filled in [L]
    capacity_l : float or None
        Oil at the full mark, None for no mark [L]

    Returns
    -------
    portions : tuple of Portion
        What is in now [L]

    Examples
    --------
    A 2 L top-up into a full 40 L tells of 2 L lost:

    >>> after_fill((Portion("A", 0, 40),), Fill("top-up", 100, 2, "A"), capacity_l=40)
    (Portion(product='A', filled_h=0, volume_l=38.0, is_old=False), Portion(product='A', filled_h=100, volume_l=2, is_old=False))

    Source
    ------
    Conservation of volume with full mixing.
    """
    held_l = volume_l(portions)
    if fill.out_l > held_l + DROP_L:
        raise ValueError(f"out_l must not be above the {held_l:g} L that are in, got {fill.out_l}")
    if capacity_l is not None and fill.in_l > capacity_l + DROP_L:
        raise ValueError(f"in_l must not be above the capacity of {capacity_l:g} L, got {fill.in_l}")
    left_l = held_l - fill.out_l
    if capacity_l is not None:
        left_l = min(left_l, capacity_l - fill.in_l)
    kept = drawn_down(portions, left_l / held_l if held_l else 0.0, fill.kind in RENEWALS)
    return (*kept, Portion(fill.product, fill.life_h, fill.in_l)) if fill.in_l else kept


def drawn_down(portions: tuple[Portion, ...], left_share: float, is_renewal: bool = False) -> tuple[Portion, ...]:
    """Return the portions after a drain that took of each in proportion.

    Parameters
    ----------
    portions : tuple of Portion
        What is in [L]
    left_share : float
        Share that stays, 0 to 1 [-]
    is_renewal : bool
        Whether the drain belongs to a change, which makes all that stays old oil [-]

    Returns
    -------
    portions : tuple of Portion
        What stays; a portion of nothing is dropped [L]

    Examples
    --------
    >>> drawn_down((Portion("A", 0, 40), Portion("B", 90, 8)), left_share=0.25, is_renewal=True)
    (Portion(product='A', filled_h=0, volume_l=10.0, is_old=True), Portion(product='B', filled_h=90, volume_l=2.0, is_old=True))

    Source
    ------
    Conservation of volume with full mixing.
    """
    left = (Portion(p.product, p.filled_h, p.volume_l * left_share, p.is_old or is_renewal) for p in portions)
    return tuple(portion for portion in left if portion.volume_l > DROP_L)


def volume_l(portions: Sequence[Portion]) -> float:
    """Return how much oil is in.

    Parameters
    ----------
    portions : sequence of Portion
        What is in [L]

    Returns
    -------
    volume : float
        All portions together [L]

    Examples
    --------
    >>> volume_l([Portion("A", 0, 15), Portion("B", 500, 30)])
    45.0

    Source
    ------
    Definition.
    """
    return float(sum(portion.volume_l for portion in portions))


def litres_by_product(portions: Sequence[Portion]) -> dict[str, float]:
    """Return how much of each product is in.

    Parameters
    ----------
    portions : sequence of Portion
        What is in [L]

    Returns
    -------
    litres : dict
        Volume by product, in the order they first came in [L]

    Examples
    --------
    >>> litres_by_product([Portion("A", 0, 15), Portion("B", 500, 30), Portion("A", 900, 5)])
    {'A': 20, 'B': 30}

    Source
    ------
    Definition.
    """
    litres: dict[str, float] = {}
    for portion in portions:
        litres[portion.product] = litres.get(portion.product, 0) + portion.volume_l
    return litres


def old_share(portions: Sequence[Portion]) -> float | None:
    """Return the share of oil that was in before the last change.

    Parameters
    ----------
    portions : sequence of Portion
        What is in [L]

    Returns
    -------
    share : float or None
        Old oil over all oil; None where there is none [-]

    Examples
    --------
    >>> old_share([Portion("A", 0, 10, is_old=True), Portion("B", 500, 30)])
    0.25

    Source
    ------
    Definition.
    """
    held_l = volume_l(portions)
    return volume_l([p for p in portions if p.is_old]) / held_l if held_l else None


def mean_age_h(portions: Sequence[Portion], now_life_h: float) -> float | None:
    """Return how old the oil is in the mean over its litres.

    Parameters
    ----------
    portions : sequence of Portion
        What is in [L]
    now_life_h : float
        Life hours of the compartment now, not before the last fill [h]

    Returns
    -------
    age : float or None
        Mean over litres of hours since each was filled in; None where there is no oil [h]

    Examples
    --------
    10 L of 1000 h and 30 L of 200 h:

    >>> mean_age_h([Portion("A", 0, 10), Portion("B", 800, 30)], now_life_h=1000)
    400.0

    Source
    ------
    Definition.
    """
    if not portions:
        return None
    latest_h = max(portion.filled_h for portion in portions)
    if now_life_h < latest_h:
        raise ValueError(f"now_life_h must not be before the last fill at {latest_h:g} h, got {now_life_h}")
    return blend_value([p.volume_l for p in portions], [now_life_h - p.filled_h for p in portions])


def hours_since_change(fills: Sequence[Fill], now_life_h: float) -> float | None:
    """Return the hours since the last first fill or change: top-ups and flushes do not set it back.

    Parameters
    ----------
    fills : sequence of Fill
        Fills in order [L]
    now_life_h : float
        Life hours of the compartment now, not before the last change [h]

    Returns
    -------
    hours : float or None
        Hours since; None where no change is known [h]

    Examples
    --------
    >>> fills = [Fill("first fill", 0, 45, "A"), Fill("top-up", 400, 2, "A")]
    >>> hours_since_change(fills, now_life_h=500)
    500

    Source
    ------
    Common practice, no source.
    """
    renewals = [fill.life_h for fill in fills if fill.kind in RENEWALS]
    if not renewals:
        return None
    if now_life_h < renewals[-1]:
        raise ValueError(f"now_life_h must not be before the last change at {renewals[-1]:g} h, got {now_life_h}")
    return now_life_h - renewals[-1]


def ever_had_other(fills: Sequence[Fill], product: str) -> bool:
    """Say whether the compartment ever held any oil but one: some makers grant their long interval only if not.

    Parameters
    ----------
    fills : sequence of Fill
        All fills since the machine was new [L]
    product : str
        The product that would not count as other [-]

    Returns
    -------
    answer : bool
        True if any litre of another product was ever filled in [-]

    Examples
    --------
    >>> ever_had_other([Fill("first fill", 0, 45, "A"), Fill("top-up", 400, 2, "B")], "A")
    True

    Source
    ------
    Interval note of a mower maker's operator manual.
    """
    return any(fill.product != product and fill.in_l > 0 for fill in fills)


def mix_viscosity(portions: Sequence[Portion], viscosity_by_product: Mapping[str, float]) -> float | None:
    """Return the viscosity of what is in, from the viscosities of its products at one temperature.

    Parameters
    ----------
    portions : sequence of Portion
        What is in [L]
    viscosity_by_product : mapping
        Viscosity of each product at that temperature [mm2/s]

    Returns
    -------
    viscosity : float or None
        Viscosity of the mix at that temperature; None where there is no oil or one product is unknown [mm2/s]

    Examples
    --------
    >>> round(mix_viscosity([Portion("A", 0, 30), Portion("B", 500, 15)], {"A": 46, "B": 68}), 1)
    52.2

    Source
    ------
    Walther blending, see the blend of several oils.
    """
    litres = litres_by_product(portions)
    if not litres or any(product not in viscosity_by_product for product in litres):
        return None
    return blend_viscosity(list(litres.values()), [viscosity_by_product[product] for product in litres])


def mix_value(portions: Sequence[Portion], value_by_product: Mapping[str, float]) -> float | None:
    """Return a property of what is in that mixes in proportion: additive, acid number, density.

    Parameters
    ----------
    portions : sequence of Portion
        What is in [L]
    value_by_product : mapping
        Value of each product, in any one unit [-]

    Returns
    -------
    value : float or None
        Value of the mix in the same unit; None where there is no oil or one product is unknown [-]

    Examples
    --------
    >>> mix_value([Portion("A", 0, 30), Portion("B", 500, 10)], {"A": 100, "B": 20})
    80.0

    Source
    ------
    Conservation of mass.
    """
    litres = litres_by_product(portions)
    if not litres or any(product not in value_by_product for product in litres):
        return None
    return blend_value(list(litres.values()), [value_by_product[product] for product in litres])

"""Wear metals: how fast a drive makes them, seen through top-ups and changes, and what each element may come from."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from calcs.gate import Number, plain, require_above, require_between

PER_HOURS = 100.0
ACID_CAUTION_MGG, ACID_CRITICAL_MGG = 0.5, 1.0  # rise over the new oil in mg KOH/g; from memory, settings
# What an element may tell of in a hydrostatic drive. Iron, copper, aluminium: US joint oil analysis manual TM 38-301-4 and a wear-metal
# application note; the rest from memory. Wet brakes or clutches in a shared sump add copper and iron: compare within the fleet.
ELEMENT_ORIGINS = {
    "Fe": "pistons, swash and thrust plates, shafts, gears, bearings, cylinder block, rust",
    "Cu": "bronze slippers, valve plate, bushings; without tin and lead also leaching from the cooler core",
    "Sn": "overlay and bronze of slippers, block face, bearings",
    "Pb": "overlay and bronze of slippers, block face, bearings",
    "Al": "housings, some pumps; with silicon, dirt",
    "Cr": "rolling bearings, plated rods",
    "Si": "dirt, but also sealant and antifoam",
    "Na": "coolant or water",
    "K": "coolant or water",
    "Zn": "additive: a fall tells of depletion, dilution or the wrong oil",
    "P": "additive: a fall tells of depletion, dilution or the wrong oil",
    "Ca": "additive: a fall tells of depletion, dilution or the wrong oil",
    "Mg": "additive: a fall tells of depletion, dilution or the wrong oil",
    "B": "additive or coolant",
}


@dataclass(frozen=True)
class Renewal:
    """Clean oil that came in between two samples: hours after the first, share of the filling renewed, what the new oil holds itself."""

    after_h: float
    share: float
    new_oil_ppm: float = 0.0


def wear_rate(earlier_ppm: Number, later_ppm: Number, run_h: Number, top_up_l: Number = 0.0, system_l: Number = 1.0) -> Number:
    """Return how fast a drive makes a wear metal between two samples, with small top-ups spread over the hours.

    Law
    ---
    g = m (c2 - c1 exp(-m t))/(1 - exp(-m t)), with m t = top-up/system; (c2 - c1)/t without top-up

    Parameters
    ----------
    earlier_ppm : float or array
        Found in the first sample, after a change: what was left just after it [ppm]
    later_ppm : float or array
        Found in the second sample [ppm]
    run_h : float or array
        Hours between, above zero [h]
    top_up_l : float or array
        Clean oil topped up between, for as much lost, zero or more [L]
    system_l : float or array
        Oil in the whole system, above zero [L]

    Returns
    -------
    rate : float or array
        Rise there would be without renewal, for each 100 hours; below zero tells of oil changed unrecorded [ppm/100 h]

    Examples
    --------
    20 to 30 ppm in 250 h, without and with 5 L topped up in 45 L:

    >>> wear_rate(20, 30, 250), round(wear_rate(20, 30, 250, top_up_l=5, system_l=45), 2)
    (4.0, 5.12)

    Source
    ------
    Mass balance dc/dt = g - m c of a stirred vessel, solved; any textbook of chemical engineering.
    """
    require_above(0, run_h=run_h, system_l=system_l)
    require_between(0, np.inf, top_up_l=top_up_l)
    renewed = np.asarray(top_up_l, dtype=float) / system_l
    washed_out = -np.expm1(-renewed)
    spread = np.divide(renewed, washed_out, out=np.ones_like(renewed), where=renewed > 0)
    return plain(PER_HOURS * (later_ppm - earlier_ppm * (1 - washed_out)) * spread / run_h)


def wear_rate_between(earlier_ppm: float, later_ppm: float, run_h: float, renewals: Sequence[Renewal] = ()) -> float:
    """Return how fast a drive makes a wear metal between two samples, with top-ups and changes at their own hours.

    Law
    ---
    c rises by g t between renewals and becomes c (1 - share) + new share at each; solved for g

    Parameters
    ----------
    earlier_ppm : float
        Found in the first sample [ppm]
    later_ppm : float
        Found in the second sample [ppm]
    run_h : float
        Hours between, above zero [h]
    renewals : sequence of Renewal
        Top-ups and changes between, in order [-]

    Returns
    -------
    rate : float
        Rise there would be without renewal, for each 100 hours [ppm/100 h]

    Examples
    --------
    30 ppm; two thirds changed after 100 h; 30 ppm again 150 h later:

    >>> round(wear_rate_between(30, 30, 250, [Renewal(100, 2 / 3)]), 2)
    10.91

    Source
    ------
    Conservation of mass, step by step.
    """
    require_above(0, run_h=run_h)
    made_h, carried_ppm, last_h = 0.0, earlier_ppm, 0.0
    for renewal in renewals:
        require_between(last_h, run_h, after_h=renewal.after_h)
        require_between(0, 1, share=renewal.share)
        stays = 1 - renewal.share
        made_h = (made_h + renewal.after_h - last_h) * stays
        carried_ppm = carried_ppm * stays + renewal.new_oil_ppm * renewal.share
        last_h = renewal.after_h
    made_h += run_h - last_h
    if made_h <= 0:
        raise ValueError(f"run_h must leave hours after a full change, got {run_h}")
    return PER_HOURS * (later_ppm - carried_ppm) / made_h


def renewed_share(top_up_l: float, system_l: float) -> float:
    """Return the share of the filling that a top-up renews, the same amount having been lost before.

    Law
    ---
    share = top-up/system

    Parameters
    ----------
    top_up_l : float
        Clean oil filled in, zero to the whole system [L]
    system_l : float
        Oil at the full mark, above zero [L]

    Returns
    -------
    share : float
        Renewed over all [-]

    Examples
    --------
    >>> renewed_share(9, 45)
    0.2

    Source
    ------
    Conservation of volume.
    """
    require_above(0, system_l=system_l)
    require_between(0, system_l, top_up_l=top_up_l)
    return top_up_l / system_l


def acid_rise_word(used_mgg: float, new_mgg: float, caution_mgg: float = ACID_CAUTION_MGG, critical_mgg: float = ACID_CRITICAL_MGG) -> str:
    """Return in a word whether the acid number has risen too far since the oil was new.

    Parameters
    ----------
    used_mgg : float
        Acid number of the sample [mg KOH/g]
    new_mgg : float
        Acid number of the new oil [mg KOH/g]
    caution_mgg : float
        Rise that calls for a second look [mg KOH/g]
    critical_mgg : float
        Rise that calls for action, not under the caution [mg KOH/g]

    Returns
    -------
    word : str
        usual, caution or critical [-]

    Examples
    --------
    >>> acid_rise_word(1.12, 0.5), acid_rise_word(0.9, 0.5)
    ('caution', 'usual')

    Source
    ------
    No general limit exists; rises of 0.5 and 1.0 from memory, settings. MIL-PRF-27601 allows 1.0 in its oxidation test.
    """
    require_between(caution_mgg, np.inf, critical_mgg=critical_mgg)
    rise = round(used_mgg - new_mgg, 9)
    if rise >= critical_mgg:
        return "critical"
    return "caution" if rise >= caution_mgg else "usual"


def looks_like_dirt(silicon_ppm: float, aluminium_ppm: float, low_ratio: float = 2.0, high_ratio: float = 3.0) -> bool:
    """Say whether silicon and aluminium stand in the ratio of field dust; take a second sample before draining a big tank.

    Parameters
    ----------
    silicon_ppm : float
        Silicon over that of the new oil, zero or more [ppm]
    aluminium_ppm : float
        Aluminium over that of the new oil, zero or more [ppm]
    low_ratio : float
        Least silicon for each aluminium [-]
    high_ratio : float
        Most silicon for each aluminium [-]

    Returns
    -------
    answer : bool
        True where the ratio fits; False without aluminium [-]

    Examples
    --------
    >>> looks_like_dirt(20, 8), looks_like_dirt(20, 1)
    (True, False)

    Source
    ------
    Ratio of 2 to 3 from memory, a setting.
    """
    require_between(0, np.inf, silicon_ppm=silicon_ppm, aluminium_ppm=aluminium_ppm)
    return aluminium_ppm > 0 and low_ratio <= silicon_ppm / aluminium_ppm <= high_ratio

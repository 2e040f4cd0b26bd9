"""Tyres on soil: slip from counted turns, and what of the pull the soil takes."""

from __future__ import annotations

import numpy as np

from calcs.gate import Number, plain, require_above, require_between

# ASABE D497, mobility numbers of usual soils; from memory.
SOIL_MOBILITY = {"hard": 80.0, "firm": 55.0, "tilled": 40.0, "soft": 20.0}


def slip_from_turns(loaded_turns: Number, unloaded_turns: Number) -> Number:
    """Return the wheel slip from turns counted over one and the same distance with and without load.

    Law
    ---
    s = 1 - n0/n

    Parameters
    ----------
    loaded_turns : float or array
        Wheel turns under load, above zero [-]
    unloaded_turns : float or array
        Wheel turns without load, above zero [-]

    Returns
    -------
    slip : float or array
        Share of wheel travel lost; below zero while the machine pushes the wheels [-]

    Examples
    --------
    >>> round(slip_from_turns(10, unloaded_turns=8.5), 2)
    0.15

    Source
    ------
    Slip chart of a tractor maker's operator manual.
    """
    require_above(0, loaded_turns=loaded_turns, unloaded_turns=unloaded_turns)
    return plain(1 - np.asarray(unloaded_turns) / loaded_turns)


def mobility_number(
    cone_index_kpa: Number, tyre_width_m: Number, tyre_diameter_m: Number, wheel_load_kn: Number, deflection_share: Number
) -> Number:
    """Return how well a soil carries a tyre.

    Law
    ---
    Bn = (CI b d/W) (1 + 5 dl/h)/(1 + 3 b/d)

    Parameters
    ----------
    cone_index_kpa : float or array
        Cone index of the soil, above zero [kPa]
    tyre_width_m : float or array
        Width of the tyre without load, above zero [m]
    tyre_diameter_m : float or array
        Diameter of the tyre without load, above zero [m]
    wheel_load_kn : float or array
        Load on the wheel, above zero [kN]
    deflection_share : float or array
        Deflection over section height, 0 to 1 [-]

    Returns
    -------
    mobility : float or array
        Mobility number [-]

    Examples
    --------
    >>> round(mobility_number(1200, 0.5, 1.8, 25, deflection_share=0.2), 1)
    47.1

    Source
    ------
    Brixius 1987 and ASABE D497; from memory.
    """
    require_above(0, cone_index_kpa=cone_index_kpa, tyre_width_m=tyre_width_m, tyre_diameter_m=tyre_diameter_m, wheel_load_kn=wheel_load_kn)
    require_between(0, 1, deflection_share=deflection_share)
    width_m, diameter_m = np.asarray(tyre_width_m), np.asarray(tyre_diameter_m)
    carried = cone_index_kpa * width_m * diameter_m / wheel_load_kn
    return plain(carried * (1 + 5 * np.asarray(deflection_share)) / (1 + 3 * width_m / diameter_m))


def gross_traction(mobility: Number, slip_share: Number) -> Number:
    """Return the push of a driven wheel over its load, before the soil takes its part.

    Law
    ---
    gross = 0.88 (1 - exp(-0.1 Bn)) (1 - exp(-7.5 s)) + 0.04

    Parameters
    ----------
    mobility : float or array
        Mobility number, above zero [-]
    slip_share : float or array
        Slip, 0 to 1 [-]

    Returns
    -------
    gross : float or array
        Gross traction ratio [-]

    Examples
    --------
    >>> round(gross_traction(55, slip_share=0.10), 3)
    0.502

    Source
    ------
    Brixius 1987 and ASABE D497, bias tyres; from memory.
    """
    require_above(0, mobility=mobility)
    require_between(0, 1, slip_share=slip_share)
    return plain(0.88 * -np.expm1(-0.1 * np.asarray(mobility)) * -np.expm1(-7.5 * np.asarray(slip_share)) + 0.04)


def motion_resistance(mobility: Number, slip_share: Number) -> Number:
    """Return the resistance of the soil to a rolling wheel over its load.

    Law
    ---
    rho = 1/Bn + 0.04 + 0.5 s/sqrt(Bn)

    Parameters
    ----------
    mobility : float or array
        Mobility number, above zero [-]
    slip_share : float or array
        Slip, 0 to 1 [-]

    Returns
    -------
    resistance : float or array
        Motion resistance ratio [-]

    Examples
    --------
    >>> round(motion_resistance(55, slip_share=0.10), 4)
    0.0649

    Source
    ------
    Brixius 1987 and ASABE D497; from memory.
    """
    require_above(0, mobility=mobility)
    require_between(0, 1, slip_share=slip_share)
    return plain(1 / np.asarray(mobility) + 0.04 + 0.5 * np.asarray(slip_share) / np.sqrt(mobility))


def net_traction(mobility: Number, slip_share: Number) -> Number:
    """Return the pull of a driven wheel over its load: the coefficient that limits what a machine can draw.

    Law
    ---
    net = gross - resistance

    Parameters
    ----------
    mobility : float or array
        Mobility number, above zero [-]
    slip_share : float or array
        Slip, 0 to 1 [-]

    Returns
    -------
    net : float or array
        Net traction ratio; below zero where the wheel must be pushed [-]

    Examples
    --------
    Firm soil, 10 % slip:

    >>> round(net_traction(55, slip_share=0.10), 4)
    0.4375

    Source
    ------
    Brixius 1987 and ASABE D497; from memory.
    """
    return plain(gross_traction(mobility, slip_share) - motion_resistance(mobility, slip_share))


def tractive_efficiency(mobility: Number, slip_share: Number) -> Number:
    """Return the share of the wheel's power that comes out as pull.

    Law
    ---
    TE = (1 - s) net/gross

    Parameters
    ----------
    mobility : float or array
        Mobility number, above zero [-]
    slip_share : float or array
        Slip, 0 to 1 [-]

    Returns
    -------
    efficiency : float or array
        Tractive efficiency [-]

    Examples
    --------
    >>> round(tractive_efficiency(55, slip_share=0.10), 3)
    0.784

    Source
    ------
    Brixius 1987 and ASABE D497; from memory.
    """
    return plain((1 - np.asarray(slip_share)) * net_traction(mobility, slip_share) / gross_traction(mobility, slip_share))

"""Heat carried away: by a stream of oil, a cooler, the walls of a tank."""

from __future__ import annotations

import numpy as np

from calcs.gate import Number, plain, require_above, require_between
from calcs.heat import USUAL_DENSITY_KGM3, USUAL_HEAT_JKGK

LPM_PER_M3S = 60_000.0
# Sullivan, Fluid Power: Theory & Applications, 4th ed., Ex. 14.6: 0.001 hp for each square foot and degF.
TANK_W_M2K = 0.001 * 745.69987158 / (0.3048**2 * 5 / 9)


def stream_rise_k(
    heat_kw: Number, flow_lpm: Number, density_kgm3: Number = USUAL_DENSITY_KGM3, specific_heat_jkgk: Number = USUAL_HEAT_JKGK
) -> Number:
    """Return how much a stream of oil warms by a heat, or cools in a cooler that takes it away.

    Law
    ---
    dT = heat/(rho cp Q)

    Parameters
    ----------
    heat_kw : float or array
        Heat put in or taken away [kW]
    flow_lpm : float or array
        Flow, above zero [L/min]
    density_kgm3 : float or array
        Density of the oil, above zero [kg/m3]
    specific_heat_jkgk : float or array
        Specific heat of the oil, above zero [J/(kg K)]

    Returns
    -------
    rise : float or array
        Change of temperature [K]

    Examples
    --------
    16.46 kW in 30 L/min:

    >>> round(stream_rise_k(16.46, flow_lpm=30), 1)
    19.9

    Source
    ------
    Conservation of energy.
    """
    require_above(0, flow_lpm=flow_lpm, density_kgm3=density_kgm3, specific_heat_jkgk=specific_heat_jkgk)
    return plain(np.asarray(heat_kw) * 1000 * LPM_PER_M3S / (np.asarray(flow_lpm) * density_kgm3 * specific_heat_jkgk))


def log_mean_difference_k(oil_in_c: float, oil_out_c: float, air_in_c: float, air_out_c: float) -> float:
    """Return the mean difference of temperature in a cooler whose streams run against each other.

    Law
    ---
    dTlm = (d1 - d2)/ln(d1/d2), with d1 = oil in - air out and d2 = oil out - air in

    Parameters
    ----------
    oil_in_c : float
        Oil before the cooler [degC]
    oil_out_c : float
        Oil behind it [degC]
    air_in_c : float
        Air or water before it, cooler than the oil behind [degC]
    air_out_c : float
        Air or water behind it, cooler than the oil before [degC]

    Returns
    -------
    difference : float
        Mean difference [K]

    Examples
    --------
    >>> round(log_mean_difference_k(80, 65, 30, 45), 1)
    35.0

    Source
    ------
    Any textbook of heat transfer.
    """
    hot_end_k, cold_end_k = oil_in_c - air_out_c, oil_out_c - air_in_c
    if hot_end_k <= 0:
        raise ValueError(f"air_out_c must be below oil_in_c, got {air_out_c} against {oil_in_c}")
    if cold_end_k <= 0:
        raise ValueError(f"air_in_c must be below oil_out_c, got {air_in_c} against {oil_out_c}")
    ratio = hot_end_k / cold_end_k
    return float(cold_end_k if abs(ratio - 1) < 1e-9 else (hot_end_k - cold_end_k) / np.log(ratio))


def cooler_heat_kw(conductance_kwk: Number, mean_difference_k: Number) -> Number:
    """Return the heat a cooler carries away.

    Law
    ---
    heat = UA dTlm

    Parameters
    ----------
    conductance_kwk : float or array
        Heat for each kelvin of mean difference, zero or more [kW/K]
    mean_difference_k : float or array
        Mean difference of temperature, zero or more [K]

    Returns
    -------
    heat : float or array
        Heat carried away [kW]

    Examples
    --------
    >>> cooler_heat_kw(0.5, mean_difference_k=35)
    17.5

    Source
    ------
    Any textbook of heat transfer.
    """
    require_between(0, np.inf, conductance_kwk=conductance_kwk, mean_difference_k=mean_difference_k)
    return plain(np.asarray(conductance_kwk) * mean_difference_k)


def tank_heat_kw(wall_m2: Number, oil_over_air_k: Number, transfer_w_m2k: float = TANK_W_M2K) -> Number:
    """Return the heat a tank gives off through its walls.

    Law
    ---
    heat = k A (T oil - T air)

    Parameters
    ----------
    wall_m2 : float or array
        Wall wetted by oil and met by air, zero or more [m2]
    oil_over_air_k : float or array
        Oil temperature over that of the air [K]
    transfer_w_m2k : float
        Heat transfer of the wall, above zero [W/(m2 K)]

    Returns
    -------
    heat : float or array
        Heat given off [kW]

    Examples
    --------
    >>> round(tank_heat_kw(1.0, oil_over_air_k=40), 2)
    0.58

    Source
    ------
    Sullivan, Fluid Power: Theory & Applications, 4th ed., Ex. 14.6: 0.001 hp for each square foot and degF.
    """
    require_between(0, np.inf, wall_m2=wall_m2)
    require_above(0, transfer_w_m2k=transfer_w_m2k)
    return plain(np.asarray(wall_m2) * oil_over_air_k * transfer_w_m2k / 1000)

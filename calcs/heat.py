"""Heat of the drive: losses, oil that warms as it is throttled or pressed, and what a pump's temperatures tell."""

from __future__ import annotations

import numpy as np

from calcs.compression import OIL_EXPANSION_PER_K
from calcs.fluid import ICE_POINT_K
from calcs.gate import Number, plain, require_above, require_between

USUAL_DENSITY_KGM3 = 870.0  # mineral hydraulic oil; from memory
USUAL_HEAT_JKGK = 1900.0  # its specific heat; from memory
PA_PER_BAR = 1e5


def heat_loss_kw(power_in_kw: Number, efficiency_share: Number) -> Number:
    """Return the part of the power put in that a drive turns to heat.

    Law
    ---
    heat = P (1 - eta)

    Parameters
    ----------
    power_in_kw : float or array
        Power put in, zero or more [kW]
    efficiency_share : float or array
        Overall efficiency, 0 to 1 [-]

    Returns
    -------
    heat : float or array
        Heat into oil and housing [kW]

    Examples
    --------
    >>> round(heat_loss_kw(75, efficiency_share=0.78057), 2)
    16.46

    Source
    ------
    Conservation of energy.
    """
    require_between(0, np.inf, power_in_kw=power_in_kw)
    require_between(0, 1, efficiency_share=efficiency_share)
    return plain(power_in_kw * (1 - np.asarray(efficiency_share)))


def throttled_rise_k(
    pressure_drop_bar: Number, density_kgm3: Number = USUAL_DENSITY_KGM3, specific_heat_jkgk: Number = USUAL_HEAT_JKGK
) -> Number:
    """Return how much warmer oil gets when its whole pressure is lost, as through a gap or a relief valve.

    Law
    ---
    dT = dp/(rho cp)

    Parameters
    ----------
    pressure_drop_bar : float or array
        Pressure lost, zero or more [bar]
    density_kgm3 : float or array
        Density of the oil, above zero [kg/m3]
    specific_heat_jkgk : float or array
        Specific heat of the oil, above zero [J/(kg K)]

    Returns
    -------
    rise : float or array
        Temperature over that of the same oil before the pump [K]

    Examples
    --------
    About 6 K for each 100 bar:

    >>> round(throttled_rise_k(100), 2)
    6.05

    Source
    ------
    Conservation of energy; Esposito, Fluid Power with Applications, Ex. 11-2 and 11-3 (FOSSEE textbook-companion notebooks).
    """
    require_between(0, np.inf, pressure_drop_bar=pressure_drop_bar)
    require_above(0, density_kgm3=density_kgm3, specific_heat_jkgk=specific_heat_jkgk)
    return plain(np.asarray(pressure_drop_bar) * PA_PER_BAR / (np.asarray(density_kgm3) * specific_heat_jkgk))


def compressed_rise_k(
    pressure_rise_bar: Number,
    oil_temp_c: Number,
    density_kgm3: Number = USUAL_DENSITY_KGM3,
    specific_heat_jkgk: Number = USUAL_HEAT_JKGK,
    expansion_per_k: Number = OIL_EXPANSION_PER_K,
) -> Number:
    """Return how much warmer oil gets by loss-free compression: the high line over the inlet of a perfect pump.

    Law
    ---
    dT = alpha T dp/(rho cp)

    Parameters
    ----------
    pressure_rise_bar : float or array
        Rise of pressure, zero or more [bar]
    oil_temp_c : float or array
        Temperature at the inlet [degC]
    density_kgm3 : float or array
        Density of the oil, above zero [kg/m3]
    specific_heat_jkgk : float or array
        Specific heat of the oil, above zero [J/(kg K)]
    expansion_per_k : float or array
        Thermal expansion of the oil [1/K]

    Returns
    -------
    rise : float or array
        Temperature rise [K]

    Examples
    --------
    >>> round(compressed_rise_k(100, oil_temp_c=50), 2)
    1.37

    Source
    ------
    Thermodynamics of a liquid, isentropic compression; any textbook.
    """
    lost_k = throttled_rise_k(pressure_rise_bar, density_kgm3, specific_heat_jkgk)
    return plain(expansion_per_k * (np.asarray(oil_temp_c) + ICE_POINT_K) * lost_k)


def thermal_efficiency(
    pressure_rise_bar: Number,
    inlet_temp_c: Number,
    outlet_temp_c: Number,
    density_kgm3: Number = USUAL_DENSITY_KGM3,
    specific_heat_jkgk: Number = USUAL_HEAT_JKGK,
    expansion_per_k: Number = OIL_EXPANSION_PER_K,
) -> Number:
    """Return the overall efficiency of a pump from the temperatures of its two lines; a tenth of a kelvin matters.

    Law
    ---
    1/eta = 1 + rho cp (dT - alpha T dp/(rho cp))/dp

    Parameters
    ----------
    pressure_rise_bar : float or array
        Pressure at the outlet over that at the inlet, above zero [bar]
    inlet_temp_c : float or array
        Temperature at the inlet [degC]
    outlet_temp_c : float or array
        Temperature at the outlet, not below that of a perfect pump [degC]
    density_kgm3 : float or array
        Density of the oil, above zero [kg/m3]
    specific_heat_jkgk : float or array
        Specific heat of the oil, above zero [J/(kg K)]
    expansion_per_k : float or array
        Thermal expansion of the oil [1/K]

    Returns
    -------
    efficiency : float or array
        Overall efficiency, 1 for a perfect pump [-]

    Examples
    --------
    200 bar and 4.08 K:

    >>> round(thermal_efficiency(200, inlet_temp_c=50, outlet_temp_c=54.08), 2)
    0.9

    Source
    ------
    Thermodynamic method of pump testing; from memory. At 200 bar 0.1 K is 0.7 points: shop thermometers are too coarse.
    """
    require_above(0, pressure_rise_bar=pressure_rise_bar)
    perfect_k = compressed_rise_k(pressure_rise_bar, inlet_temp_c, density_kgm3, specific_heat_jkgk, expansion_per_k)
    lossy_k = np.asarray(outlet_temp_c) - inlet_temp_c - perfect_k
    if np.any(lossy_k < -1e-9):
        raise ValueError(f"outlet_temp_c must not be below that of a perfect pump, got {outlet_temp_c}")
    return plain(1 / (1 + lossy_k / throttled_rise_k(pressure_rise_bar, density_kgm3, specific_heat_jkgk)))


def relief_heating_ks(
    pressure_bar: Number,
    flow_lpm: Number,
    loop_volume_l: Number,
    density_kgm3: Number = USUAL_DENSITY_KGM3,
    specific_heat_jkgk: Number = USUAL_HEAT_JKGK,
) -> Number:
    """Return how fast the oil of a loop heats while all its flow goes over the relief valve: why a relief test lasts seconds.

    Law
    ---
    dT/dt = p Q/(rho cp V)

    Parameters
    ----------
    pressure_bar : float or array
        Pressure across the relief valve, zero or more [bar]
    flow_lpm : float or array
        Flow over it, zero or more [L/min]
    loop_volume_l : float or array
        Oil in the loop, above zero [L]
    density_kgm3 : float or array
        Density of the oil, above zero [kg/m3]
    specific_heat_jkgk : float or array
        Specific heat of the oil, above zero [J/(kg K)]

    Returns
    -------
    heating : float or array
        Rise of temperature each second [K/s]

    Examples
    --------
    209 L/min over 420 bar in 3 L of oil:

    >>> round(relief_heating_ks(420, flow_lpm=209, loop_volume_l=3), 1)
    29.5

    Source
    ------
    Conservation of energy, nothing carried away.
    """
    require_between(0, np.inf, flow_lpm=flow_lpm)
    require_above(0, loop_volume_l=loop_volume_l)
    turnovers_per_s = np.asarray(flow_lpm) / 60 / loop_volume_l
    return plain(throttled_rise_k(pressure_bar, density_kgm3, specific_heat_jkgk) * turnovers_per_s)

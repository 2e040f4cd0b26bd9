"""From a reading of leakage to a number free of the test conditions, and back to what would be read elsewhere."""

from __future__ import annotations

import numpy as np

from calcs.gate import Number, plain, require_above, require_between
from calcs.piston_unit import theoretical_flow

LOWEST_TEST_BAR = 20.0  # below this a leakage coefficient is mostly error of the gauge
SI_FACTOR = 6e12  # L/min x mPa.s/bar in a K of one m3


def leakage_coefficient(leakage_lpm: Number, pressure_bar: Number, dynamic_mpas: Number) -> Number:
    """Return the leakage coefficient K, which wear alone moves.

    Law
    ---
    K = Q mu/dp

    Parameters
    ----------
    leakage_lpm : float or array
        Leakage, zero or more [L/min]
    pressure_bar : float or array
        Difference of pressure that drives the leakage, 20 or more [bar]
    dynamic_mpas : float or array
        Dynamic viscosity, above zero [mPa.s]

    Returns
    -------
    coefficient : float or array
        Leakage coefficient [m3]

    Examples
    --------
    >>> f"{leakage_coefficient(3.0, pressure_bar=200, dynamic_mpas=18.0):.3e}"
    '4.500e-14'

    Source
    ------
    Laminar leakage, Merritt, Hydraulic Control Systems (from memory).
    """
    require_above(0, dynamic_mpas=dynamic_mpas)
    require_between(0, np.inf, leakage_lpm=leakage_lpm)
    require_between(LOWEST_TEST_BAR, np.inf, pressure_bar=pressure_bar)
    return plain(leakage_lpm * dynamic_mpas / pressure_bar / SI_FACTOR)


def predicted_leakage(coefficient_m3: Number, pressure_bar: Number, dynamic_mpas: Number) -> Number:
    """Return the leakage to be read at another pressure and viscosity.

    Law
    ---
    Q = K dp/mu

    Parameters
    ----------
    coefficient_m3 : float or array
        Leakage coefficient K, zero or more [m3]
    pressure_bar : float or array
        Difference of pressure that drives the leakage [bar]
    dynamic_mpas : float or array
        Dynamic viscosity, above zero [mPa.s]

    Returns
    -------
    leakage : float or array
        Leakage [L/min]

    Examples
    --------
    >>> round(predicted_leakage(4.5e-14, pressure_bar=200, dynamic_mpas=18.0), 9)
    3.0

    Source
    ------
    Laminar leakage, Merritt, Hydraulic Control Systems (from memory).
    """
    require_above(0, dynamic_mpas=dynamic_mpas)
    return plain(coefficient_m3 * pressure_bar / dynamic_mpas * SI_FACTOR)


def baseline_coefficient(
    volumetric_efficiency: Number, displacement_cc: Number, speed_rpm: Number, pressure_bar: Number, dynamic_mpas: Number
) -> Number:
    """Return the leakage coefficient of a new unit from its volumetric efficiency.

    Law
    ---
    K = (1 - eta_v) V n mu/dp

    Parameters
    ----------
    volumetric_efficiency : float or array
        Volumetric efficiency when new, above 0 to 1 [-]
    displacement_cc : float or array
        Displacement per revolution, above zero [cm3/rev]
    speed_rpm : float or array
        Shaft speed, above zero [rev/min]
    pressure_bar : float or array
        Difference of pressure that drives the leakage, 20 or more [bar]
    dynamic_mpas : float or array
        Dynamic viscosity, above zero [mPa.s]

    Returns
    -------
    coefficient : float or array
        Leakage coefficient when new [m3]

    Examples
    --------
    >>> baseline_coefficient(0.95, displacement_cc=100, speed_rpm=2200, pressure_bar=420, dynamic_mpas=20) > 0
    True

    Source
    ------
    ISO 4391 volumetric efficiency put into the laminar law; compression is counted as leakage.
    """
    require_above(0, volumetric_efficiency=volumetric_efficiency)
    require_between(0, 1, volumetric_efficiency=volumetric_efficiency)
    lost = (1 - volumetric_efficiency) * theoretical_flow(displacement_cc, speed_rpm)
    return leakage_coefficient(lost, pressure_bar, dynamic_mpas)


def motor_baseline_coefficient(volumetric_efficiency: Number, flow_lpm: Number, pressure_bar: Number, dynamic_mpas: Number) -> Number:
    """Return the leakage coefficient of a new motor from its volumetric efficiency and the flow into it.

    Law
    ---
    K = (1 - eta_v) Q mu/dp

    Parameters
    ----------
    volumetric_efficiency : float or array
        Volumetric efficiency when new, above 0 to 1 [-]
    flow_lpm : float or array
        Flow into the motor at which that was stated, above zero [L/min]
    pressure_bar : float or array
        Difference of pressure that drives the leakage, 20 or more [bar]
    dynamic_mpas : float or array
        Dynamic viscosity, above zero [mPa.s]

    Returns
    -------
    coefficient : float or array
        Leakage coefficient when new [m3]

    Examples
    --------
    >>> motor_baseline_coefficient(0.95, flow_lpm=209, pressure_bar=420, dynamic_mpas=20) > 0
    True

    Source
    ------
    ISO 4391 volumetric efficiency put into the laminar law.
    """
    require_above(0, volumetric_efficiency=volumetric_efficiency, flow_lpm=flow_lpm)
    require_between(0, 1, volumetric_efficiency=volumetric_efficiency)
    return leakage_coefficient((1 - volumetric_efficiency) * flow_lpm, pressure_bar, dynamic_mpas)


def condition_index(coefficient_m3: Number, reference_m3: Number) -> Number:
    """Return how many times as much a unit leaks as it did when new, whatever oil and pressure.

    Law
    ---
    CI = K/K_ref

    Parameters
    ----------
    coefficient_m3 : float or array
        Leakage coefficient K, zero or more [m3]
    reference_m3 : float or array
        Leakage coefficient when new or rebuilt, above zero [m3]

    Returns
    -------
    index : float or array
        Condition index, 1 as new [-]

    Examples
    --------
    >>> condition_index(7.2e-14, reference_m3=4.5e-14)
    1.6

    Source
    ------
    Ratio of two laminar coefficients.
    """
    require_above(0, reference_m3=reference_m3)
    return plain(coefficient_m3 / reference_m3)


def clearance_growth(index: Number) -> Number:
    """Return how many times as wide the gaps are, all taken to grow alike.

    Law
    ---
    h/h0 = CI^(1/3)

    Parameters
    ----------
    index : float or array
        Condition index, zero or more [-]

    Returns
    -------
    growth : float or array
        Ratio of clearances [-]

    Examples
    --------
    >>> round(clearance_growth(1.6), 3)
    1.17

    Source
    ------
    Laminar gap flow goes with the cube of the gap.
    """
    require_between(0, np.inf, index=index)
    return plain(np.cbrt(index))


def index_after(hours_h: Number, growth_per_1000h: Number) -> Number:
    """Return the condition index after hours of steady wear.

    Law
    ---
    CI = (1 + g t)^3

    Parameters
    ----------
    hours_h : float or array
        Hours since new, zero or more [h]
    growth_per_1000h : float or array
        Growth of the clearance in 1000 hours as a share of the new clearance [-]

    Returns
    -------
    index : float or array
        Condition index [-]

    Examples
    --------
    >>> round(index_after(2000, growth_per_1000h=0.05), 3)
    1.331

    Source
    ------
    Cube law with a clearance that grows by the hour.
    """
    require_between(0, np.inf, hours_h=hours_h)
    return plain((1 + growth_per_1000h * hours_h / 1000) ** 3)


def hours_to_index(index: Number, growth_per_1000h: Number) -> Number:
    """Return the hours of steady wear until a condition index.

    Law
    ---
    t = (CI^(1/3) - 1)/g

    Parameters
    ----------
    index : float or array
        Condition index to be reached, 1 or more [-]
    growth_per_1000h : float or array
        Growth of the clearance in 1000 hours as a share of the new clearance, above zero [-]

    Returns
    -------
    hours : float or array
        Hours since new [h]

    Examples
    --------
    >>> round(hours_to_index(2, growth_per_1000h=0.05), 2)
    5198.42

    Source
    ------
    Cube law turned round.
    """
    require_above(0, growth_per_1000h=growth_per_1000h)
    require_between(1, np.inf, index=index)
    return plain((np.cbrt(index) - 1) / growth_per_1000h * 1000)


def flow_droop_slope(flow1_lpm: Number, flow2_lpm: Number, pressure1_bar: Number, pressure2_bar: Number) -> Number:
    """Return how much flow is lost for each bar between two loads.

    Law
    ---
    s = (Q1 - Q2)/(p2 - p1)

    Parameters
    ----------
    flow1_lpm : float or array
        Flow at the lower pressure [L/min]
    flow2_lpm : float or array
        Flow at the higher pressure [L/min]
    pressure1_bar : float or array
        Lower pressure [bar]
    pressure2_bar : float or array
        Higher pressure, above the lower [bar]

    Returns
    -------
    slope : float or array
        Flow lost for each bar [L/min/bar]

    Examples
    --------
    A limit of 1.5 US gallons a minute between 300 and 1100 psi:

    >>> round(flow_droop_slope(5.678, 0, 20.684, 75.842), 4)
    0.1029

    Source
    ------
    Limit seen in two mower service manuals; slope worked out.
    """
    if np.any(np.asarray(pressure2_bar) <= pressure1_bar):
        raise ValueError(f"pressure2_bar must be above pressure1_bar, got {pressure2_bar} and {pressure1_bar}")
    return plain((flow1_lpm - flow2_lpm) / (pressure2_bar - pressure1_bar))


def coefficient_from_slope(slope_lpm_per_bar: Number, dynamic_mpas: Number) -> Number:
    """Return the leakage coefficient from a flow droop.

    Law
    ---
    K = s mu

    Parameters
    ----------
    slope_lpm_per_bar : float or array
        Flow lost for each bar, zero or more [L/min/bar]
    dynamic_mpas : float or array
        Dynamic viscosity, above zero [mPa.s]

    Returns
    -------
    coefficient : float or array
        Leakage coefficient [m3]

    Examples
    --------
    >>> f"{coefficient_from_slope(0.015, dynamic_mpas=18.0):.3e}"
    '4.500e-14'

    Source
    ------
    Laminar leakage, Merritt, Hydraulic Control Systems (from memory).
    """
    require_above(0, dynamic_mpas=dynamic_mpas)
    require_between(0, np.inf, slope_lpm_per_bar=slope_lpm_per_bar)
    return plain(slope_lpm_per_bar * dynamic_mpas / SI_FACTOR)


def leakage_share(leakage_lpm: Number, displacement_cc: Number, speed_rpm: Number) -> Number:
    """Return leakage as a share of theoretical flow.

    Law
    ---
    share = 1000 Q/(V n)

    Parameters
    ----------
    leakage_lpm : float or array
        Case drain flow less the flow that is there by design [L/min]
    displacement_cc : float or array
        Displacement per revolution, above zero [cm3/rev]
    speed_rpm : float or array
        Shaft speed, above zero [rev/min]

    Returns
    -------
    share : float or array
        Leakage over theoretical flow [-]

    Examples
    --------
    10 of 200 L/min:

    >>> leakage_share(10, displacement_cc=100, speed_rpm=2000)
    0.05

    Source
    ------
    ISO 4391 theoretical flow.
    """
    require_above(0, displacement_cc=displacement_cc, speed_rpm=speed_rpm)
    return plain(leakage_lpm / theoretical_flow(displacement_cc, speed_rpm))


def film_temperature(inlet_temp_c: Number | None, drain_temp_c: Number | None, drain_rise_k: Number = 0.0) -> Number | None:
    """Return the temperature to take for the oil in the gaps.

    Law
    ---
    T = (T_inlet + T_drain)/2

    Parameters
    ----------
    inlet_temp_c : float or array or None
        Oil temperature at the inlet of the unit [degC]
    drain_temp_c : float or array or None
        Oil temperature in the case drain [degC]
    drain_rise_k : float or array
        Rise to be expected across the gaps, used if one of the two is missing [K]

    Returns
    -------
    temperature : float or array or None
        Temperature of the film; None if neither was measured [degC]

    Examples
    --------
    >>> film_temperature(50, 62), film_temperature(None, 62, drain_rise_k=12)
    (56.0, 56.0)

    Source
    ------
    Common practice, no source.
    """
    if inlet_temp_c is None and drain_temp_c is None:
        return None
    if inlet_temp_c is None:
        return plain(drain_temp_c - drain_rise_k / 2)
    if drain_temp_c is None:
        return plain(inlet_temp_c + drain_rise_k / 2)
    return plain((inlet_temp_c + drain_temp_c) / 2)

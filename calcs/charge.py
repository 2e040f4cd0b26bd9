"""The charge circuit as a balance of flows: what the charge pump gives, what is used, what is left for the relief."""

from __future__ import annotations

import numpy as np

from calcs.gate import Number, plain, require_above, require_between


def charge_delivery(charge_displacement_cc: Number, charge_speed_rpm: Number, volumetric_efficiency: Number) -> Number:
    """Return the flow of the charge pump.

    Law
    ---
    Q = V n eta_v/1000

    Parameters
    ----------
    charge_displacement_cc : float or array
        Displacement of the charge pump, above zero [cm3/rev]
    charge_speed_rpm : float or array
        Speed of the charge pump, zero or more [rev/min]
    volumetric_efficiency : float or array
        Volumetric efficiency, above 0 to 1 [-]

    Returns
    -------
    delivery : float or array
        Charge flow [L/min]

    Examples
    --------
    >>> round(charge_delivery(20, charge_speed_rpm=2200, volumetric_efficiency=0.9), 6)
    39.6

    Source
    ------
    ISO 4391 volumetric efficiency.
    """
    require_above(0, charge_displacement_cc=charge_displacement_cc, volumetric_efficiency=volumetric_efficiency)
    require_between(0, 1, volumetric_efficiency=volumetric_efficiency)
    require_between(0, np.inf, charge_speed_rpm=charge_speed_rpm)
    return plain(charge_displacement_cc * charge_speed_rpm * volumetric_efficiency / 1000)


def charge_efficiency_at(
    volumetric_efficiency: Number, charge_speed_rpm: Number, stated_speed_rpm: Number, dynamic_mpas: Number, stated_dynamic_mpas: Number
) -> Number:
    """Return the volumetric efficiency of a charge pump at another speed and viscosity.

    Law
    ---
    1 - eta = (1 - eta0)(n0/n)(mu0/mu), not past 0.05

    Parameters
    ----------
    volumetric_efficiency : float or array
        Volumetric efficiency as stated, above 0 to 1 [-]
    charge_speed_rpm : float or array
        Speed of the charge pump, above zero [rev/min]
    stated_speed_rpm : float or array
        Speed at which the efficiency was stated, above zero [rev/min]
    dynamic_mpas : float or array
        Dynamic viscosity of the oil, above zero [mPa.s]
    stated_dynamic_mpas : float or array
        Viscosity at which the efficiency was stated, above zero [mPa.s]

    Returns
    -------
    efficiency : float or array
        Volumetric efficiency, no less than 0.05 [-]

    Examples
    --------
    >>> charge_efficiency_at(0.9, 2200, stated_speed_rpm=2200, dynamic_mpas=10, stated_dynamic_mpas=20)
    0.8

    Source
    ------
    Laminar leakage against a theoretical flow that goes with speed; the floor is ours.
    """
    require_above(0, charge_speed_rpm=charge_speed_rpm, stated_speed_rpm=stated_speed_rpm)
    require_above(0, dynamic_mpas=dynamic_mpas, stated_dynamic_mpas=stated_dynamic_mpas)
    lost = (1 - volumetric_efficiency) * stated_speed_rpm / charge_speed_rpm * stated_dynamic_mpas / dynamic_mpas
    return plain(np.maximum(1 - lost, 0.05))


def charge_need(pump_leakage_lpm: Number, motor_leakage_lpm: Number, flushing_lpm: Number = 0.0, servo_lpm: Number = 0.0) -> Number:
    """Return what the loop asks of the charge pump.

    Law
    ---
    Q = Q_pump + Q_motors + Q_flushing + Q_servo

    Parameters
    ----------
    pump_leakage_lpm : float or array
        Leakage of the main pump, zero or more [L/min]
    motor_leakage_lpm : float or array
        Leakage of all motors, zero or more [L/min]
    flushing_lpm : float or array
        Loop flushing, zero or more [L/min]
    servo_lpm : float or array
        Servo and controls, zero or more [L/min]

    Returns
    -------
    need : float or array
        Flow asked for [L/min]

    Examples
    --------
    >>> charge_need(11.0, 10.45, flushing_lpm=8, servo_lpm=2)
    31.45

    Source
    ------
    Conservation of flow in the charge circuit; Casey, case drain from hydrostatic transmissions (trade article), for the
    consequence.
    """
    return plain(pump_leakage_lpm + motor_leakage_lpm + flushing_lpm + servo_lpm)


def charge_overflow(delivery_lpm: Number, need_lpm: Number) -> Number:
    """Return what is left for the charge relief.

    Law
    ---
    Q = delivery - need, not below zero

    Parameters
    ----------
    delivery_lpm : float or array
        Charge flow [L/min]
    need_lpm : float or array
        Flow asked for [L/min]

    Returns
    -------
    overflow : float or array
        Flow over the charge relief [L/min]

    Examples
    --------
    >>> round(charge_overflow(39.6, need_lpm=31.45), 2)
    8.15

    Source
    ------
    Conservation of flow in the charge circuit; Casey, case drain from hydrostatic transmissions (trade article), for the
    consequence.
    """
    return plain(np.maximum(delivery_lpm - need_lpm, 0))


def charge_margin(delivery_lpm: Number, need_lpm: Number) -> Number:
    """Return the share of the charge flow that is not asked for; below zero the loop starves.

    Law
    ---
    m = (delivery - need)/delivery

    Parameters
    ----------
    delivery_lpm : float or array
        Charge flow, above zero [L/min]
    need_lpm : float or array
        Flow asked for [L/min]

    Returns
    -------
    margin : float or array
        Margin as a share of charge flow [-]

    Examples
    --------
    >>> round(charge_margin(39.6, need_lpm=31.45), 4)
    0.2058

    Source
    ------
    Conservation of flow in the charge circuit; Casey, case drain from hydrostatic transmissions (trade article), for the
    consequence.
    """
    require_above(0, delivery_lpm=delivery_lpm)
    return plain((delivery_lpm - need_lpm) / delivery_lpm)


def growth_at_collapse(delivery_lpm: Number, leakage_lpm: Number, other_need_lpm: Number) -> Number:
    """Return by how much the leakage may grow before the charge pressure collapses.

    Law
    ---
    g = (delivery - other)/leakage

    Parameters
    ----------
    delivery_lpm : float or array
        Charge flow [L/min]
    leakage_lpm : float or array
        Leakage of pump and motors now, above zero [L/min]
    other_need_lpm : float or array
        Flushing, servo and controls [L/min]

    Returns
    -------
    growth : float or array
        Leakage at collapse over leakage now [-]

    Examples
    --------
    >>> round(growth_at_collapse(39.6, leakage_lpm=21.45, other_need_lpm=10), 5)
    1.37995

    Source
    ------
    Conservation of flow in the charge circuit; Casey, case drain from hydrostatic transmissions (trade article), for the
    consequence.
    """
    require_above(0, leakage_lpm=leakage_lpm)
    return plain((delivery_lpm - other_need_lpm) / leakage_lpm)


def charge_pressure(
    setting_bar: Number, overflow_lpm: Number, setting_overflow_lpm: Number, rise_bar_per_lpm: Number, case_bar: Number = 0.0
) -> Number:
    """Return the charge pressure at the gauge from what flows over the relief.

    Law
    ---
    p = p_case + p_setting + s (Q - Q_setting)

    Parameters
    ----------
    setting_bar : float or array
        Relief setting above case pressure [bar]
    overflow_lpm : float or array
        Flow over the relief now, zero or more [L/min]
    setting_overflow_lpm : float or array
        Flow over the relief at which it was set [L/min]
    rise_bar_per_lpm : float or array
        Slope of the relief, zero or more [bar/(L/min)]
    case_bar : float or array
        Case pressure [bar]

    Returns
    -------
    pressure : float or array
        Charge pressure at the gauge [bar]

    Examples
    --------
    >>> charge_pressure(22, overflow_lpm=20, setting_overflow_lpm=30, rise_bar_per_lpm=0.1, case_bar=0.5)
    21.5

    Source
    ------
    Straight override line of a relief valve; common practice, no source.
    """
    require_between(0, np.inf, overflow_lpm=overflow_lpm, rise_bar_per_lpm=rise_bar_per_lpm)
    return plain(case_bar + setting_bar + rise_bar_per_lpm * (overflow_lpm - setting_overflow_lpm))


def drop_share(neutral_bar: Number, stroked_bar: Number) -> Number:
    """Return by what share the charge pressure falls from neutral to stroked.

    Law
    ---
    d = (p_neutral - p_stroked)/p_neutral

    Parameters
    ----------
    neutral_bar : float or array
        Charge pressure in neutral, above zero [bar]
    stroked_bar : float or array
        Charge pressure stroked [bar]

    Returns
    -------
    drop : float or array
        Drop as a share of the neutral reading [-]

    Examples
    --------
    >>> round(drop_share(8.0, stroked_bar=6.8), 4)
    0.15

    Source
    ------
    Limits of 15 % and of 20 psi seen in service manuals; never one rule for all units.
    """
    require_above(0, neutral_bar=neutral_bar)
    return plain((neutral_bar - stroked_bar) / neutral_bar)


def return_excess(case_return_lpm: Number, delivery_lpm: Number) -> Number:
    """Return how much more comes back from the cases than the charge pump gives; above zero is impossible in steady running.

    Law
    ---
    e = Q_return - delivery

    Parameters
    ----------
    case_return_lpm : float or array
        Flow from all cases together [L/min]
    delivery_lpm : float or array
        Charge flow [L/min]

    Returns
    -------
    excess : float or array
        Excess; what is not explained by error of the meters cannot be [L/min]

    Examples
    --------
    >>> return_excess(45.0, delivery_lpm=39.6) > 0
    True

    Source
    ------
    Conservation of flow in the charge circuit; Casey, case drain from hydrostatic transmissions (trade article), for the
    consequence.
    """
    return plain(case_return_lpm - delivery_lpm)


def relief_at_gauge(setting_bar: Number, charge_bar: Number) -> Number:
    """Return what the gauge at the high port shows when the main relief opens.

    Law
    ---
    p_gauge = p_setting + p_charge

    Parameters
    ----------
    setting_bar : float or array
        Relief setting above the low side of the loop, above zero [bar]
    charge_bar : float or array
        Charge pressure at the gauge [bar]

    Returns
    -------
    pressure : float or array
        Gauge pressure at the high port [bar]

    Examples
    --------
    >>> relief_at_gauge(420, charge_bar=22)
    442

    Source
    ------
    Settings are stated above low loop pressure: service manual of a closed-circuit pump maker, in substance.
    """
    require_above(0, setting_bar=setting_bar)
    return setting_bar + charge_bar


def case_flow(leakage_lpm: Number, by_design_lpm: Number = 0.0) -> Number:
    """Return what a meter in a case drain reads: leakage and what flows there by design.

    Law
    ---
    Q = Q_leak + Q_design

    Parameters
    ----------
    leakage_lpm : float or array
        Leakage of that unit [L/min]
    by_design_lpm : float or array
        Flushing or servo oil that ends in the same case [L/min]

    Returns
    -------
    flow : float or array
        Case drain flow [L/min]

    Examples
    --------
    >>> case_flow(5.0, by_design_lpm=8.0)
    13.0

    Source
    ------
    Conservation of flow in the charge circuit; Casey, case drain from hydrostatic transmissions (trade article), for the
    consequence.
    """
    return leakage_lpm + by_design_lpm

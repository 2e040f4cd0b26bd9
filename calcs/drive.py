"""Pump and motor in a closed loop: from the control position to the speed of the machine."""

from __future__ import annotations

import numpy as np

from calcs.gate import Number, plain, require_above, require_between

FULL_COMMAND = 2.0  # up to 1 the pump is stroked, from 1 to 2 the motor is flattened


def pump_stroke(command: Number) -> Number:
    """Return the pump stroke at a control position: pump first, then motor.

    Law
    ---
    x = c up to 1, then 1

    Parameters
    ----------
    command : float or array
        Control position, -2 full reverse to 2 full forward [-]

    Returns
    -------
    stroke : float or array
        Pump stroke, signed [-]

    Examples
    --------
    >>> pump_stroke(0.4), pump_stroke(-1.6)
    (0.4, -1.0)

    Source
    ------
    Common practice of two-stage control, no source.
    """
    require_between(-FULL_COMMAND, FULL_COMMAND, command=command)
    return plain(np.clip(command, -1.0, 1.0))


def motor_displacement(command: Number, motor_max_cc: Number, motor_min_cc: Number) -> Number:
    """Return the motor displacement at a control position.

    Law
    ---
    V_m = V_max - (|c| - 1)(V_max - V_min) from 1 on

    Parameters
    ----------
    command : float or array
        Control position, -2 full reverse to 2 full forward [-]
    motor_max_cc : float or array
        Largest motor displacement, above zero [cm3/rev]
    motor_min_cc : float or array
        Smallest motor displacement, above zero [cm3/rev]

    Returns
    -------
    displacement : float or array
        Motor displacement [cm3/rev]

    Examples
    --------
    >>> motor_displacement(1.5, motor_max_cc=160, motor_min_cc=80)
    120.0

    Source
    ------
    Common practice of two-stage control, no source.
    """
    require_above(0, motor_max_cc=motor_max_cc, motor_min_cc=motor_min_cc)
    require_between(-FULL_COMMAND, FULL_COMMAND, command=command)
    if np.any(np.asarray(motor_min_cc) > motor_max_cc):
        raise ValueError(f"motor_min_cc must not be above motor_max_cc, got {motor_min_cc} and {motor_max_cc}")
    return plain(motor_max_cc - np.clip(np.abs(command) - 1, 0, 1) * (motor_max_cc - motor_min_cc))


def motor_speed(
    stroke: Number,
    pump_displacement_cc: Number,
    pump_speed_rpm: Number,
    motor_displacement_cc: Number,
    leakage_lpm: Number,
    motors: int = 1,
) -> Number:
    """Return the motor speed from pump flow and leakage; a flow that the leakage swallows turns nothing.

    Law
    ---
    n = (x V_p n_p - 1000 Q_leak)/(V_m m), never past zero

    Parameters
    ----------
    stroke : float or array
        Pump stroke, -1 full reverse to 1 full forward [-]
    pump_displacement_cc : float or array
        Largest pump displacement, above zero [cm3/rev]
    pump_speed_rpm : float or array
        Pump shaft speed, zero or more [rev/min]
    motor_displacement_cc : float or array
        Motor displacement in use, above zero [cm3/rev]
    leakage_lpm : float or array
        Leakage of pump and motors together, zero or more [L/min]
    motors : int
        Motors side by side in the loop, 1 or more [-]

    Returns
    -------
    speed : float or array
        Motor speed, signed like the stroke [rev/min]

    Examples
    --------
    >>> round(motor_speed(1, 100, 2200, motor_displacement_cc=160, leakage_lpm=21.45), 2)
    1240.94
    >>> motor_speed(0, 100, 2200, motor_displacement_cc=160, leakage_lpm=21.45)
    0.0

    Source
    ------
    Conservation of flow in the loop; drive of invented figures in the tests.
    """
    require_above(0, pump_displacement_cc=pump_displacement_cc, motor_displacement_cc=motor_displacement_cc, motors=motors)
    require_between(-1, 1, stroke=stroke)
    require_between(0, np.inf, leakage_lpm=leakage_lpm, pump_speed_rpm=pump_speed_rpm)
    left = np.maximum(np.abs(stroke) * pump_displacement_cc * pump_speed_rpm - 1000 * leakage_lpm, 0)
    return plain(np.sign(stroke) * left / (motor_displacement_cc * motors) + 0.0)


def motor_speed_by_efficiency(
    command: Number,
    pump_displacement_cc: Number,
    pump_speed_rpm: Number,
    motor_max_cc: Number,
    motor_min_cc: Number,
    pump_efficiency: Number,
    motor_efficiency: Number,
    motors: int = 1,
) -> Number:
    """Return the motor speed from volumetric efficiencies; true well above stall only.

    Law
    ---
    n = x V_p n_p eta_p eta_m/(V_m m)

    Parameters
    ----------
    command : float or array
        Control position, -2 full reverse to 2 full forward [-]
    pump_displacement_cc : float or array
        Largest pump displacement, above zero [cm3/rev]
    pump_speed_rpm : float or array
        Pump shaft speed, zero or more [rev/min]
    motor_max_cc : float or array
        Largest motor displacement, above zero [cm3/rev]
    motor_min_cc : float or array
        Smallest motor displacement, above zero [cm3/rev]
    pump_efficiency : float or array
        Volumetric efficiency of the pump, above 0 to 1 [-]
    motor_efficiency : float or array
        Volumetric efficiency of the motor, above 0 to 1 [-]
    motors : int
        Motors side by side in the loop, 1 or more [-]

    Returns
    -------
    speed : float or array
        Motor speed, signed like the command [rev/min]

    Examples
    --------
    >>> round(motor_speed_by_efficiency(2, 100, 2200, 160, 80, pump_efficiency=0.95, motor_efficiency=0.95), 2)
    2481.88

    Source
    ------
    Conservation of flow in the loop; drive of invented figures in the tests.
    """
    require_above(
        0, pump_displacement_cc=pump_displacement_cc, pump_efficiency=pump_efficiency, motor_efficiency=motor_efficiency, motors=motors
    )
    require_between(0, 1, pump_efficiency=pump_efficiency, motor_efficiency=motor_efficiency)
    flow = pump_stroke(command) * pump_displacement_cc * pump_speed_rpm * pump_efficiency
    return plain(flow * motor_efficiency / (motor_displacement(command, motor_max_cc, motor_min_cc) * motors))


def speed_ratio(motor_speed_rpm: Number, pump_speed_rpm: Number) -> Number:
    """Return the ratio of motor speed to pump speed.

    Law
    ---
    i = n_m/n_p

    Parameters
    ----------
    motor_speed_rpm : float or array
        Motor speed, signed [rev/min]
    pump_speed_rpm : float or array
        Pump speed, above zero [rev/min]

    Returns
    -------
    ratio : float or array
        Speed ratio, signed [-]

    Examples
    --------
    >>> speed_ratio(1100, pump_speed_rpm=2200)
    0.5

    Source
    ------
    Definition.
    """
    require_above(0, pump_speed_rpm=pump_speed_rpm)
    return plain(motor_speed_rpm / pump_speed_rpm)


def ground_speed(motor_speed_rpm: Number, final_ratio: Number, rolling_radius_m: Number, slip_share: Number = 0.0) -> Number:
    """Return the speed over ground.

    Law
    ---
    v = 0.12 pi r n (1 - s)/i

    Parameters
    ----------
    motor_speed_rpm : float or array
        Motor speed, signed [rev/min]
    final_ratio : float or array
        Turns of the motor for one turn of the wheel, above zero [-]
    rolling_radius_m : float or array
        Rolling radius, above zero [m]
    slip_share : float or array
        Wheel slip, 0 to below 1 [-]

    Returns
    -------
    speed : float or array
        Ground speed, signed [km/h]

    Examples
    --------
    >>> round(ground_speed(2481.875, final_ratio=24, rolling_radius_m=0.75), 3)
    29.239

    Source
    ------
    Geometry of the rolling wheel.
    """
    require_above(0, final_ratio=final_ratio, rolling_radius_m=rolling_radius_m)
    require_between(0, 0.99, slip_share=slip_share)
    return plain(0.12 * np.pi * rolling_radius_m * motor_speed_rpm * (1 - slip_share) / final_ratio)


def rolling_radius(advance_m: Number, turns: Number = 10) -> Number:
    """Return the rolling radius from the way made in some turns of the tyre.

    Law
    ---
    r = L/(2 pi N)

    Parameters
    ----------
    advance_m : float or array
        Way made, above zero [m]
    turns : float or array
        Turns of the wheel, above zero; ten are usual [-]

    Returns
    -------
    radius : float or array
        Rolling radius [m]

    Examples
    --------
    >>> round(rolling_radius(47.124), 3)
    0.75

    Source
    ------
    Common practice, no source.
    """
    require_above(0, advance_m=advance_m, turns=turns)
    return plain(advance_m / (2 * np.pi * turns))


def creep_speed(null_flow_lpm: Number, leakage_lpm: Number, motor_displacement_cc: Number, motors: int = 1) -> Number:
    """Return the motor speed in neutral when the pump is not quite at neutral.

    Law
    ---
    n = 1000 (Q0 - Q_leak)/(V_m m), never past zero

    Parameters
    ----------
    null_flow_lpm : float or array
        Flow that the pump gives in its false neutral, signed [L/min]
    leakage_lpm : float or array
        Leakage at the pressure that just moves the machine, zero or more [L/min]
    motor_displacement_cc : float or array
        Motor displacement in use, above zero [cm3/rev]
    motors : int
        Motors side by side in the loop, 1 or more [-]

    Returns
    -------
    speed : float or array
        Motor speed, signed; a worn unit creeps less [rev/min]

    Examples
    --------
    >>> creep_speed(2.5, leakage_lpm=1.0, motor_displacement_cc=150)
    10.0

    Source
    ------
    Conservation of flow in the loop; drive of invented figures in the tests.
    """
    require_above(0, motor_displacement_cc=motor_displacement_cc, motors=motors)
    require_between(0, np.inf, leakage_lpm=leakage_lpm)
    left = np.maximum(np.abs(null_flow_lpm) - leakage_lpm, 0)
    return plain(np.sign(null_flow_lpm) * 1000 * left / (motor_displacement_cc * motors) + 0.0)


def null_flow(null_error_deg: Number, swash_max_deg: Number, pump_displacement_cc: Number, pump_speed_rpm: Number) -> Number:
    """Return the flow of a pump whose swash plate is off its neutral.

    Law
    ---
    Q0 = V_p n_p tan(a0)/tan(a_max)

    Parameters
    ----------
    null_error_deg : float or array
        Angle off neutral, signed, within the largest angle [deg]
    swash_max_deg : float or array
        Angle at full displacement, above 0 to 30 [deg]
    pump_displacement_cc : float or array
        Largest pump displacement, above zero [cm3/rev]
    pump_speed_rpm : float or array
        Pump shaft speed, zero or more [rev/min]

    Returns
    -------
    flow : float or array
        Flow, signed [L/min]

    Examples
    --------
    >>> round(null_flow(0.2, swash_max_deg=17, pump_displacement_cc=100, pump_speed_rpm=2200), 3)
    2.512

    Source
    ------
    Swash-plate displacement near neutral.
    """
    require_above(0, swash_max_deg=swash_max_deg)
    require_between(-30, 30, swash_max_deg=swash_max_deg, null_error_deg=null_error_deg)
    return plain(pump_displacement_cc * pump_speed_rpm / 1000 * np.tan(np.radians(null_error_deg)) / np.tan(np.radians(swash_max_deg)))


def dead_band(leakage_lpm: Number, swash_max_deg: Number, pump_displacement_cc: Number, pump_speed_rpm: Number) -> Number:
    """Return the angle on each side of neutral within which the leakage swallows the flow.

    Law
    ---
    tan(a) = Q_leak tan(a_max)/(V_p n_p)

    Parameters
    ----------
    leakage_lpm : float or array
        Leakage at the pressure that just moves the machine, zero or more [L/min]
    swash_max_deg : float or array
        Angle at full displacement, above 0 to 30 [deg]
    pump_displacement_cc : float or array
        Largest pump displacement, above zero [cm3/rev]
    pump_speed_rpm : float or array
        Pump shaft speed, above zero [rev/min]

    Returns
    -------
    angle : float or array
        Half the dead band [deg]

    Examples
    --------
    >>> round(dead_band(1.0214, swash_max_deg=17, pump_displacement_cc=100, pump_speed_rpm=2200), 4)
    0.0813

    Source
    ------
    Conservation of flow in the loop; drive of invented figures in the tests.
    """
    require_above(0, swash_max_deg=swash_max_deg, pump_displacement_cc=pump_displacement_cc, pump_speed_rpm=pump_speed_rpm)
    require_between(0, np.inf, leakage_lpm=leakage_lpm)
    return plain(np.degrees(np.arctan(leakage_lpm * 1000 / (pump_displacement_cc * pump_speed_rpm) * np.tan(np.radians(swash_max_deg)))))


def stall_stroke(leakage_lpm: Number, pump_displacement_cc: Number, pump_speed_rpm: Number) -> Number:
    """Return the pump stroke at which a held motor keeps the pressure: all flow leaks.

    Law
    ---
    x = 1000 Q_leak/(V_p n_p)

    Parameters
    ----------
    leakage_lpm : float or array
        Leakage of pump and motors at that pressure, zero or more [L/min]
    pump_displacement_cc : float or array
        Largest pump displacement, above zero [cm3/rev]
    pump_speed_rpm : float or array
        Pump shaft speed, above zero [rev/min]

    Returns
    -------
    stroke : float or array
        Pump stroke; above 1 the pressure cannot be reached [-]

    Examples
    --------
    >>> round(stall_stroke(21.45, pump_displacement_cc=100, pump_speed_rpm=2200), 4)
    0.0975

    Source
    ------
    Conservation of flow in the loop; drive of invented figures in the tests.
    """
    require_above(0, pump_displacement_cc=pump_displacement_cc, pump_speed_rpm=pump_speed_rpm)
    require_between(0, np.inf, leakage_lpm=leakage_lpm)
    return plain(1000 * leakage_lpm / (pump_displacement_cc * pump_speed_rpm))

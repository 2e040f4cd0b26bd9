"""What the drive can pull: by its relief, by the engine's power and by the ground, and how it holds back."""

from __future__ import annotations

import numpy as np

from calcs.gate import Number, plain, require_above, require_between


def motor_torque(motor_displacement_cc: Number, pressure_bar: Number, hydromechanical_efficiency: Number) -> Number:
    """Return the torque of a motor.

    Law
    ---
    T = V dp eta_hm/(20 pi)

    Parameters
    ----------
    motor_displacement_cc : float or array
        Motor displacement in use, above zero [cm3/rev]
    pressure_bar : float or array
        High less low side [bar]
    hydromechanical_efficiency : float or array
        Hydromechanical efficiency, above 0 to 1 [-]

    Returns
    -------
    torque : float or array
        Torque at the motor shaft [N.m]

    Examples
    --------
    >>> round(motor_torque(77.3, pressure_bar=70, hydromechanical_efficiency=0.9), 1)
    77.5

    Source
    ------
    Esposito, Fluid Power with Applications, example 7-7.
    """
    require_above(0, motor_displacement_cc=motor_displacement_cc, hydromechanical_efficiency=hydromechanical_efficiency)
    require_between(0, 1, hydromechanical_efficiency=hydromechanical_efficiency)
    return plain(motor_displacement_cc * pressure_bar * hydromechanical_efficiency / (20 * np.pi))


def tractive_effort(
    motor_torque_nm: Number, final_ratio: Number, rolling_radius_m: Number, final_efficiency: Number = 1.0, motors: int = 1
) -> Number:
    """Return the pull at the tyres.

    Law
    ---
    F = T i eta m/r

    Parameters
    ----------
    motor_torque_nm : float or array
        Torque of one motor [N.m]
    final_ratio : float or array
        Turns of the motor for one turn of the wheel, above zero [-]
    rolling_radius_m : float or array
        Rolling radius, above zero [m]
    final_efficiency : float or array
        Efficiency of the final drive, above 0 to 1 [-]
    motors : int
        Motors side by side in the loop, 1 or more [-]

    Returns
    -------
    pull : float or array
        Tractive effort [N]

    Examples
    --------
    >>> tractive_effort(115, final_ratio=10, rolling_radius_m=0.4)
    2875.0

    Source
    ------
    Geometry of the wheel; inputs from a test-equipment maker's education page, result worked out.
    """
    require_above(0, final_ratio=final_ratio, rolling_radius_m=rolling_radius_m, final_efficiency=final_efficiency, motors=motors)
    require_between(0, 1, final_efficiency=final_efficiency)
    return plain(motor_torque_nm * final_ratio * final_efficiency * motors / rolling_radius_m)


def relief_limited_pull(
    motor_displacement_cc: Number,
    relief_bar: Number,
    hydromechanical_efficiency: Number,
    final_ratio: Number,
    rolling_radius_m: Number,
    final_efficiency: Number = 1.0,
    motors: int = 1,
) -> Number:
    """Return the pull at which the main relief opens.

    Law
    ---
    F = V dp eta_hm i eta m/(20 pi r)

    Parameters
    ----------
    motor_displacement_cc : float or array
        Motor displacement in use, above zero [cm3/rev]
    relief_bar : float or array
        Relief setting above the low side [bar]
    hydromechanical_efficiency : float or array
        Hydromechanical efficiency of the motor, above 0 to 1 [-]
    final_ratio : float or array
        Turns of the motor for one turn of the wheel, above zero [-]
    rolling_radius_m : float or array
        Rolling radius, above zero [m]
    final_efficiency : float or array
        Efficiency of the final drive, above 0 to 1 [-]
    motors : int
        Motors side by side in the loop, 1 or more [-]

    Returns
    -------
    pull : float or array
        Tractive effort [N]

    Examples
    --------
    >>> round(relief_limited_pull(160, 420, 0.93, final_ratio=24, rolling_radius_m=0.75, final_efficiency=0.95))
    30238

    Source
    ------
    Tractive effort after drive makers' sizing practice, no source; drive of invented figures in the tests.
    """
    torque = motor_torque(motor_displacement_cc, relief_bar, hydromechanical_efficiency)
    return tractive_effort(torque, final_ratio, rolling_radius_m, final_efficiency, motors)


def power_limited_pull(engine_power_kw: Number, total_efficiency: Number, ground_speed_kmh: Number) -> Number:
    """Return the pull that the engine can keep up at a speed.

    Law
    ---
    F = 3600 P eta/v

    Parameters
    ----------
    engine_power_kw : float or array
        Engine power left for the drive, zero or more [kW]
    total_efficiency : float or array
        Efficiency from engine to tyre, above 0 to 1 [-]
    ground_speed_kmh : float or array
        Ground speed, not zero [km/h]

    Returns
    -------
    pull : float or array
        Tractive effort [N]

    Examples
    --------
    >>> round(power_limited_pull(75, total_efficiency=0.741545, ground_speed_kmh=10))
    20022

    Source
    ------
    Tractive effort after drive makers' sizing practice, no source; drive of invented figures in the tests.
    """
    require_above(0, total_efficiency=total_efficiency)
    require_between(0, 1, total_efficiency=total_efficiency)
    require_above(0, ground_speed_kmh=np.abs(ground_speed_kmh))
    return plain(3600 * engine_power_kw * total_efficiency / np.abs(ground_speed_kmh))


def traction_limited_pull(driven_load_n: Number, traction_coefficient: Number) -> Number:
    """Return the pull at which the driven wheels spin.

    Law
    ---
    F = mu W

    Parameters
    ----------
    driven_load_n : float or array
        Weight on the driven wheels, zero or more [N]
    traction_coefficient : float or array
        Traction coefficient of the ground, 0 to 1.5 [-]

    Returns
    -------
    pull : float or array
        Tractive effort [N]

    Examples
    --------
    >>> traction_limited_pull(40000, traction_coefficient=0.5)
    20000.0

    Source
    ------
    Common practice, no source.
    """
    require_between(0, np.inf, driven_load_n=driven_load_n)
    require_between(0, 1.5, traction_coefficient=traction_coefficient)
    return plain(driven_load_n * traction_coefficient)


def pull_at_speed(
    ground_speed_kmh: Number, relief_pull_n: Number, engine_power_kw: Number, total_efficiency: Number, traction_pull_n: Number = np.inf
) -> Number:
    """Return the pull on the curve: the least of relief, power and traction limit.

    Law
    ---
    F = min(F_relief, F_power, F_traction)

    Parameters
    ----------
    ground_speed_kmh : float or array
        Ground speed; zero is let in, where power sets no limit [km/h]
    relief_pull_n : float or array
        Pull at which the relief opens [N]
    engine_power_kw : float or array
        Engine power left for the drive [kW]
    total_efficiency : float or array
        Efficiency from engine to tyre, above 0 to 1 [-]
    traction_pull_n : float or array
        Pull at which the wheels spin [N]

    Returns
    -------
    pull : float or array
        Tractive effort [N]

    Examples
    --------
    >>> round(pull_at_speed(20, relief_pull_n=30237.5, engine_power_kw=75, total_efficiency=0.741545))
    10011

    Source
    ------
    Tractive effort after drive makers' sizing practice, no source; drive of invented figures in the tests.
    """
    crawl = np.maximum(np.abs(ground_speed_kmh), 1e-9)
    return plain(np.minimum(np.minimum(relief_pull_n, traction_pull_n), power_limited_pull(engine_power_kw, total_efficiency, crawl)))


def corner_speed(engine_power_kw: Number, total_efficiency: Number, relief_pull_n: Number) -> Number:
    """Return the speed at the corner of the curve, where relief and power limit meet.

    Law
    ---
    v = 3600 P eta/F

    Parameters
    ----------
    engine_power_kw : float or array
        Engine power left for the drive [kW]
    total_efficiency : float or array
        Efficiency from engine to tyre, above 0 to 1 [-]
    relief_pull_n : float or array
        Pull at which the relief opens, above zero [N]

    Returns
    -------
    speed : float or array
        Ground speed [km/h]

    Examples
    --------
    >>> round(corner_speed(75, total_efficiency=0.741545, relief_pull_n=30237.5), 3)
    6.621

    Source
    ------
    Tractive effort after drive makers' sizing practice, no source; drive of invented figures in the tests.
    """
    require_above(0, relief_pull_n=relief_pull_n, total_efficiency=total_efficiency)
    return plain(3600 * engine_power_kw * total_efficiency / relief_pull_n)


def machine_corner_power(relief_pull_n: Number, speed_max_kmh: Number) -> Number:
    """Return the corner power of the machine: highest pull times highest speed, never met together.

    Law
    ---
    P = F v/3600

    Parameters
    ----------
    relief_pull_n : float or array
        Pull at which the relief opens [N]
    speed_max_kmh : float or array
        Highest ground speed [km/h]

    Returns
    -------
    power : float or array
        Corner power, a figure of size [kW]

    Examples
    --------
    >>> round(machine_corner_power(30237.5, speed_max_kmh=29.2389), 2)
    245.59

    Source
    ------
    Tractive effort after drive makers' sizing practice, no source; drive of invented figures in the tests.
    """
    return plain(relief_pull_n * speed_max_kmh / 3600)


def power_limited_pressure(
    engine_power_kw: Number, pump_displacement_cc: Number, pump_speed_rpm: Number, hydromechanical_efficiency: Number, stroke: Number = 1.0
) -> Number:
    """Return the pressure at which the engine starts to lug.

    Law
    ---
    dp = 600000 P eta_hm/(x V_p n_p)

    Parameters
    ----------
    engine_power_kw : float or array
        Engine power left for the drive [kW]
    pump_displacement_cc : float or array
        Largest pump displacement, above zero [cm3/rev]
    pump_speed_rpm : float or array
        Pump shaft speed, above zero [rev/min]
    hydromechanical_efficiency : float or array
        Hydromechanical efficiency of the pump, above 0 to 1 [-]
    stroke : float or array
        Pump stroke, above 0 to 1 [-]

    Returns
    -------
    pressure : float or array
        High less low side [bar]

    Examples
    --------
    >>> round(power_limited_pressure(75, 100, 2200, hydromechanical_efficiency=0.93), 2)
    190.23

    Source
    ------
    Tractive effort after drive makers' sizing practice, no source; drive of invented figures in the tests.
    """
    require_above(0, pump_displacement_cc=pump_displacement_cc, pump_speed_rpm=pump_speed_rpm, stroke=stroke)
    require_above(0, hydromechanical_efficiency=hydromechanical_efficiency)
    require_between(0, 1, hydromechanical_efficiency=hydromechanical_efficiency, stroke=stroke)
    return plain(600000 * engine_power_kw * hydromechanical_efficiency / (stroke * pump_displacement_cc * pump_speed_rpm))


def braking_motor_torque(motor_displacement_cc: Number, pressure_bar: Number, hydromechanical_efficiency: Number) -> Number:
    """Return the torque that holds the machine back when its motor is driven by the wheels and pumps.

    Law
    ---
    T = V dp/(20 pi eta_hm)

    Parameters
    ----------
    motor_displacement_cc : float or array
        Motor displacement in use, above zero [cm3/rev]
    pressure_bar : float or array
        High less low side while braking [bar]
    hydromechanical_efficiency : float or array
        Hydromechanical efficiency of the motor as a pump, above 0 to 1 [-]

    Returns
    -------
    torque : float or array
        Torque at the motor shaft [N.m]

    Examples
    --------
    >>> round(braking_motor_torque(160, pressure_bar=100, hydromechanical_efficiency=0.93), 1)
    273.8

    Source
    ------
    Pump torque by ISO 4391, applied to the motor.
    """
    require_above(0, motor_displacement_cc=motor_displacement_cc, hydromechanical_efficiency=hydromechanical_efficiency)
    require_between(0, 1, hydromechanical_efficiency=hydromechanical_efficiency)
    return plain(motor_displacement_cc * pressure_bar / (20 * np.pi * hydromechanical_efficiency))


def braking_engine_torque(stroke: Number, pump_displacement_cc: Number, pressure_bar: Number, hydromechanical_efficiency: Number) -> Number:
    """Return the torque with which the pump drives the engine while the machine is held back.

    Law
    ---
    T = x V_p dp eta_hm/(20 pi)

    Parameters
    ----------
    stroke : float or array
        Pump stroke, -1 full reverse to 1 full forward [-]
    pump_displacement_cc : float or array
        Largest pump displacement, above zero [cm3/rev]
    pressure_bar : float or array
        High less low side while braking [bar]
    hydromechanical_efficiency : float or array
        Hydromechanical efficiency of the pump as a motor, above 0 to 1 [-]

    Returns
    -------
    torque : float or array
        Torque into the engine; above its drag the engine overspeeds [N.m]

    Examples
    --------
    >>> round(braking_engine_torque(0.5, 100, pressure_bar=100, hydromechanical_efficiency=0.93), 1)
    74.0

    Source
    ------
    Motor torque by ISO 4391, applied to the pump.
    """
    require_between(-1, 1, stroke=stroke)
    return plain(np.abs(stroke) * motor_torque(pump_displacement_cc, pressure_bar, hydromechanical_efficiency))

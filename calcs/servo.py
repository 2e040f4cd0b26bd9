"""How fast a servo piston strokes the swash plate, what limits it, and what speeding up the machine asks of the loop."""

from __future__ import annotations

import numpy as np

from calcs.gate import Number, plain, require_above, require_between
from calcs.orifice import USUAL_DENSITY_KGM3, USUAL_DISCHARGE, orifice_flow_lpm

PA_PER_BAR = 1e5
KMH_PER_MS = 3.6
S_LPM_PER_CC = 0.06  # 1 cm3 in 1 s is 0.06 L/min


def stroke_time_s(
    servo_volume_cc: Number,
    orifice_mm: Number,
    pressure_drop_bar: Number,
    density_kgm3: Number = USUAL_DENSITY_KGM3,
    discharge_share: float = USUAL_DISCHARGE,
) -> Number:
    """Return the time in which a control orifice fills the servo.

    Law
    ---
    t = V/(Cd A sqrt(2 dp/rho))

    Parameters
    ----------
    servo_volume_cc : float or array
        Volume the servo piston sweeps, zero or more [cm3]
    orifice_mm : float or array
        Bore of the control orifice, above zero [mm]
    pressure_drop_bar : float or array
        Charge pressure less servo pressure, above zero [bar]
    density_kgm3 : float or array
        Density of the oil, above zero [kg/m3]
    discharge_share : float
        Discharge coefficient, above 0 to 1 [-]

    Returns
    -------
    time : float or array
        Time of the stroke [s]

    Examples
    --------
    >>> round(stroke_time_s(25, orifice_mm=0.8, pressure_drop_bar=12), 3)
    1.527

    Source
    ------
    Orifice law and volume; any textbook of fluid power.
    """
    require_above(0, pressure_drop_bar=pressure_drop_bar)
    return fill_time_s(servo_volume_cc, orifice_flow_lpm(orifice_mm, pressure_drop_bar, density_kgm3, discharge_share))


def fill_time_s(servo_volume_cc: Number, flow_lpm: Number) -> Number:
    """Return the time in which a flow fills the servo; with the spare charge flow the shortest time there can be.

    Law
    ---
    t = V/Q

    Parameters
    ----------
    servo_volume_cc : float or array
        Volume the servo piston sweeps, zero or more [cm3]
    flow_lpm : float or array
        Flow into the servo, above zero [L/min]

    Returns
    -------
    time : float or array
        Time of the stroke [s]

    Examples
    --------
    >>> fill_time_s(50, flow_lpm=6)
    0.5

    Source
    ------
    Conservation of volume.
    """
    require_between(0, np.inf, servo_volume_cc=servo_volume_cc)
    require_above(0, flow_lpm=flow_lpm)
    return plain(np.asarray(servo_volume_cc) * S_LPM_PER_CC / flow_lpm)


def rescaled_time_s(known_time_s: Number, known_orifice_mm: Number, orifice_mm: Number) -> Number:
    """Return the stroke time with another orifice, from a time known with one.

    Law
    ---
    t = t0 (d0/d)^2

    Parameters
    ----------
    known_time_s : float or array
        Time with the known orifice, zero or more [s]
    known_orifice_mm : float or array
        Its bore, above zero [mm]
    orifice_mm : float or array
        Bore of the other, above zero [mm]

    Returns
    -------
    time : float or array
        Time with the other [s]

    Examples
    --------
    >>> round(rescaled_time_s(1.5, known_orifice_mm=0.8, orifice_mm=1.0), 2)
    0.96

    Source
    ------
    Orifice law; response table in a closed-circuit pump maker's service manual agrees within 8 %.
    """
    require_between(0, np.inf, known_time_s=known_time_s)
    require_above(0, known_orifice_mm=known_orifice_mm, orifice_mm=orifice_mm)
    return plain(known_time_s * (np.asarray(known_orifice_mm) / orifice_mm) ** 2)


def stroke_time_index(time_s: Number, drop_bar: Number, reference_time_s: Number, reference_drop_bar: Number) -> Number:
    """Return a stroke time over that of the healthy unit, both brought to one pressure: above 1 slow, below 1 fast.

    Law
    ---
    index = (t/t0) sqrt(dp/dp0)

    Parameters
    ----------
    time_s : float or array
        Time measured, above zero [s]
    drop_bar : float or array
        Charge less servo pressure at the measurement, above zero [bar]
    reference_time_s : float or array
        Time of the healthy unit, above zero [s]
    reference_drop_bar : float or array
        Its charge less servo pressure, above zero [bar]

    Returns
    -------
    index : float or array
        Slow tells of a plugged orifice, low charge or a servo leak; fast of a missing orifice [-]

    Examples
    --------
    >>> stroke_time_index(2.0, drop_bar=12, reference_time_s=1.0, reference_drop_bar=12)
    2.0

    Source
    ------
    Orifice law.
    """
    require_above(0, time_s=time_s, drop_bar=drop_bar, reference_time_s=reference_time_s, reference_drop_bar=reference_drop_bar)
    return plain(np.asarray(time_s) / reference_time_s * np.sqrt(np.asarray(drop_bar) / reference_drop_bar))


def acceleration_ms2(speed_change_kmh: Number, time_s: Number) -> Number:
    """Return the mean acceleration of a machine.

    Law
    ---
    a = dv/t

    Parameters
    ----------
    speed_change_kmh : float or array
        Change of ground speed [km/h]
    time_s : float or array
        Time it takes, above zero [s]

    Returns
    -------
    acceleration : float or array
        Mean acceleration [m/s2]

    Examples
    --------
    >>> round(acceleration_ms2(29.239, time_s=3), 2)
    2.71

    Source
    ------
    Definition.
    """
    require_above(0, time_s=time_s)
    return plain(np.asarray(speed_change_kmh) / KMH_PER_MS / time_s)


def accelerating_pressure_bar(
    mass_kg: Number,
    acceleration_ms2: Number,
    rolling_radius_m: Number,
    motor_displacement_cc: Number,
    final_ratio: Number,
    hydromechanical_efficiency: Number,
    final_efficiency: Number,
    resistance_n: Number = 0.0,
) -> Number:
    """Return the loop pressure that one motor needs to speed a machine up; above the relief setting it cannot be had.

    Law
    ---
    dp = 2 pi (m a + R) r/(Vm eta_hm i eta_fd)

    Parameters
    ----------
    mass_kg : float or array
        Mass of the machine, above zero [kg]
    acceleration_ms2 : float or array
        Acceleration [m/s2]
    rolling_radius_m : float or array
        Rolling radius of the wheel, above zero [m]
    motor_displacement_cc : float or array
        Displacement of the motor, of all motors together if several, above zero [cm3/rev]
    final_ratio : float or array
        Motor turns for each wheel turn, above zero [-]
    hydromechanical_efficiency : float or array
        Of the motor, above 0 to 1 [-]
    final_efficiency : float or array
        Of the final drive, above 0 to 1 [-]
    resistance_n : float or array
        Motion resistance and grade [N]

    Returns
    -------
    pressure : float or array
        Difference of pressure across the motor [bar]

    Examples
    --------
    >>> round(accelerating_pressure_bar(6000, 2.7073, 0.75, 160, 24, 0.93, 0.95))
    226

    Source
    ------
    Newton's second law and the torque of a motor.
    """
    require_above(0, mass_kg=mass_kg, rolling_radius_m=rolling_radius_m)
    require_above(0, motor_displacement_cc=motor_displacement_cc, final_ratio=final_ratio)
    require_above(0, hydromechanical_efficiency=hydromechanical_efficiency, final_efficiency=final_efficiency)
    require_between(0, 1, hydromechanical_efficiency=hydromechanical_efficiency, final_efficiency=final_efficiency)
    wheel_nm = (np.asarray(mass_kg) * acceleration_ms2 + resistance_n) * rolling_radius_m
    motor_m3 = np.asarray(motor_displacement_cc) * 1e-6
    return plain(2 * np.pi * wheel_nm / (motor_m3 * hydromechanical_efficiency * final_ratio * final_efficiency) / PA_PER_BAR)

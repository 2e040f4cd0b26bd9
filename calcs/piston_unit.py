"""The axial piston unit as geometry: displacement, stroke, flow, torque, power, and how its pistons move."""

from __future__ import annotations

import numpy as np

from calcs.gate import Number, plain, require_above, require_between

STEEPEST_SWASH_DEG = 30.0
STEEPEST_BENT_DEG = 50.0


def swash_displacement(pistons: int, bore_mm: Number, pitch_mm: Number, swash_deg: Number) -> Number:
    """Return the displacement of a swash-plate unit.

    Law
    ---
    V = z (pi/4) d^2 D tan(a)

    Parameters
    ----------
    pistons : int
        Number of pistons, 3 to 15 [-]
    bore_mm : float or array
        Bore of a cylinder, above zero [mm]
    pitch_mm : float or array
        Pitch circle diameter of the bores, above zero [mm]
    swash_deg : float or array
        Angle of the swash plate, -30 to 30; the sign is the direction [deg]

    Returns
    -------
    displacement : float or array
        Displacement, below zero on the other side of neutral [cm3/rev]

    Examples
    --------
    >>> round(swash_displacement(9, bore_mm=15, pitch_mm=125, swash_deg=10), 3)
    35.054

    Source
    ------
    Esposito, Fluid Power with Applications, example 5-7, for the geometry; figure worked out.
    """
    require_between(3, 15, pistons=pistons)
    require_above(0, bore_mm=bore_mm, pitch_mm=pitch_mm)
    return plain(pistons * np.pi / 4 * bore_mm**2 * swash_stroke(pitch_mm, swash_deg) / 1000)


def swash_stroke(pitch_mm: Number, swash_deg: Number) -> Number:
    """Return the stroke of a piston on a swash plate.

    Law
    ---
    s = D tan(a)

    Parameters
    ----------
    pitch_mm : float or array
        Pitch circle diameter of the bores, above zero [mm]
    swash_deg : float or array
        Angle of the swash plate, -30 to 30; the sign is the direction [deg]

    Returns
    -------
    stroke : float or array
        Stroke of each piston, signed like the angle [mm]

    Examples
    --------
    >>> round(swash_stroke(125, swash_deg=10), 4)
    22.0409

    Source
    ------
    Geometry of the tilted plane, as in Ivantysyn and Ivantysynova, Hydrostatic Pumps and Motors (from memory).
    """
    require_between(-STEEPEST_SWASH_DEG, STEEPEST_SWASH_DEG, swash_deg=swash_deg)
    return plain(pitch_mm * np.tan(np.radians(swash_deg)))


def bent_axis_displacement(pistons: int, bore_mm: Number, flange_pitch_mm: Number, bend_deg: Number) -> Number:
    """Return the displacement of a bent-axis unit.

    Law
    ---
    V = z (pi/4) d^2 D_f sin(a)

    Parameters
    ----------
    pistons : int
        Number of pistons, 3 to 15 [-]
    bore_mm : float or array
        Bore of a cylinder, above zero [mm]
    flange_pitch_mm : float or array
        Pitch circle diameter of the ball joints in the drive flange, above zero [mm]
    bend_deg : float or array
        Angle between shaft and cylinder block, -50 to 50 [deg]

    Returns
    -------
    displacement : float or array
        Displacement, signed like the angle [cm3/rev]

    Examples
    --------
    >>> round(bent_axis_displacement(7, bore_mm=20, flange_pitch_mm=80, bend_deg=25), 3)
    74.351

    Source
    ------
    Geometry of the ball joints; checked against their coordinates.
    """
    require_between(3, 15, pistons=pistons)
    require_above(0, bore_mm=bore_mm, flange_pitch_mm=flange_pitch_mm)
    require_between(-STEEPEST_BENT_DEG, STEEPEST_BENT_DEG, bend_deg=bend_deg)
    return plain(pistons * np.pi / 4 * bore_mm**2 * flange_pitch_mm * np.sin(np.radians(bend_deg)) / 1000)


def swash_angle(displacement_cc: Number, pistons: int, bore_mm: Number, pitch_mm: Number) -> Number:
    """Return the swash angle that gives a displacement.

    Law
    ---
    a = atan(4 V/(z pi d^2 D))

    Parameters
    ----------
    displacement_cc : float or array
        Displacement per revolution, signed [cm3/rev]
    pistons : int
        Number of pistons, 3 to 15 [-]
    bore_mm : float or array
        Bore of a cylinder, above zero [mm]
    pitch_mm : float or array
        Pitch circle diameter of the bores, above zero [mm]

    Returns
    -------
    angle : float or array
        Angle of the swash plate [deg]

    Examples
    --------
    >>> round(swash_angle(35.0536, pistons=9, bore_mm=15, pitch_mm=125), 3)
    10.0

    Source
    ------
    Swash-plate displacement turned round.
    """
    require_between(3, 15, pistons=pistons)
    require_above(0, bore_mm=bore_mm, pitch_mm=pitch_mm)
    return plain(np.degrees(np.arctan(displacement_cc * 4000 / (pistons * np.pi * bore_mm**2 * pitch_mm))))


def bent_axis_angle(displacement_cc: Number, pistons: int, bore_mm: Number, flange_pitch_mm: Number) -> Number:
    """Return the bend that gives a displacement.

    Law
    ---
    a = asin(4 V/(z pi d^2 D_f))

    Parameters
    ----------
    displacement_cc : float or array
        Displacement per revolution, signed; no more than the unit has at 90 degrees [cm3/rev]
    pistons : int
        Number of pistons, 3 to 15 [-]
    bore_mm : float or array
        Bore of a cylinder, above zero [mm]
    flange_pitch_mm : float or array
        Pitch circle diameter of the ball joints in the drive flange, above zero [mm]

    Returns
    -------
    angle : float or array
        Angle between shaft and cylinder block [deg]

    Examples
    --------
    >>> round(bent_axis_angle(74.3509, pistons=7, bore_mm=20, flange_pitch_mm=80), 3)
    25.0

    Source
    ------
    Bent-axis displacement turned round.
    """
    require_between(3, 15, pistons=pistons)
    require_above(0, bore_mm=bore_mm, flange_pitch_mm=flange_pitch_mm)
    sine = displacement_cc * 4000 / (pistons * np.pi * bore_mm**2 * flange_pitch_mm)
    if np.any(np.abs(sine) > 1):
        raise ValueError(f"displacement_cc must be within reach of the bores and the flange, got {displacement_cc}")
    return plain(np.degrees(np.arcsin(sine)))


def swash_fraction(swash_deg: Number, swash_max_deg: Number) -> Number:
    """Return the share of full displacement at a swash angle; it is not the share of the angle.

    Law
    ---
    x = tan(a)/tan(a_max)

    Parameters
    ----------
    swash_deg : float or array
        Angle of the swash plate, -30 to 30; the sign is the direction [deg]
    swash_max_deg : float or array
        Angle at full displacement, above 0 to 30 [deg]

    Returns
    -------
    fraction : float or array
        Share of full displacement, -1 to 1 [-]

    Examples
    --------
    >>> round(swash_fraction(8.5, swash_max_deg=17), 6)
    0.488832

    Source
    ------
    Swash-plate displacement at two angles.
    """
    require_above(0, swash_max_deg=swash_max_deg)
    require_between(-STEEPEST_SWASH_DEG, STEEPEST_SWASH_DEG, swash_deg=swash_deg, swash_max_deg=swash_max_deg)
    return plain(np.tan(np.radians(swash_deg)) / np.tan(np.radians(swash_max_deg)))


def bent_axis_fraction(bend_deg: Number, bend_max_deg: Number) -> Number:
    """Return the share of full displacement at a bend of the axis.

    Law
    ---
    x = sin(a)/sin(a_max)

    Parameters
    ----------
    bend_deg : float or array
        Angle between shaft and cylinder block, -50 to 50 [deg]
    bend_max_deg : float or array
        Angle at full displacement, above 0 to 50 [deg]

    Returns
    -------
    fraction : float or array
        Share of full displacement, -1 to 1 [-]

    Examples
    --------
    >>> round(bent_axis_fraction(25, bend_max_deg=25), 6)
    1.0

    Source
    ------
    Bent-axis displacement at two angles.
    """
    require_above(0, bend_max_deg=bend_max_deg)
    require_between(-STEEPEST_BENT_DEG, STEEPEST_BENT_DEG, bend_deg=bend_deg, bend_max_deg=bend_max_deg)
    return plain(np.sin(np.radians(bend_deg)) / np.sin(np.radians(bend_max_deg)))


def theoretical_flow(displacement_cc: Number, speed_rpm: Number) -> Number:
    """Return the flow that a unit would move if nothing leaked.

    Law
    ---
    Q = V n/1000

    Parameters
    ----------
    displacement_cc : float or array
        Displacement per revolution [cm3/rev]
    speed_rpm : float or array
        Shaft speed [rev/min]

    Returns
    -------
    flow : float or array
        Flow, signed like displacement and speed together [L/min]

    Examples
    --------
    >>> theoretical_flow(100, speed_rpm=2200)
    220.0

    Source
    ------
    Esposito, Fluid Power with Applications, chapter 5.
    """
    return plain(displacement_cc * speed_rpm / 1000)


def motor_speed_lossless(flow_lpm: Number, displacement_cc: Number) -> Number:
    """Return the speed of a motor if nothing leaked.

    Law
    ---
    n = 1000 Q/V

    Parameters
    ----------
    flow_lpm : float or array
        Flow into the motor [L/min]
    displacement_cc : float or array
        Displacement, above zero [cm3/rev]

    Returns
    -------
    speed : float or array
        Shaft speed [rev/min]

    Examples
    --------
    Ten US gallons a minute into five cubic inches:

    >>> round(motor_speed_lossless(37.85411784, displacement_cc=81.93532))
    462

    Source
    ------
    Esposito, Fluid Power with Applications, example 7-2.
    """
    require_above(0, displacement_cc=displacement_cc)
    return plain(1000 * flow_lpm / displacement_cc)


def theoretical_torque(displacement_cc: Number, pressure_bar: Number) -> Number:
    """Return the torque of a unit without friction.

    Law
    ---
    T = V dp/(20 pi)

    Parameters
    ----------
    displacement_cc : float or array
        Displacement per revolution [cm3/rev]
    pressure_bar : float or array
        Difference of pressure across the unit [bar]

    Returns
    -------
    torque : float or array
        Torque [N.m]

    Examples
    --------
    >>> round(theoretical_torque(100, pressure_bar=420), 1)
    668.5

    Source
    ------
    Esposito, Fluid Power with Applications, chapter 7.
    """
    return plain(displacement_cc * pressure_bar / (20 * np.pi))


def hydraulic_power(flow_lpm: Number, pressure_bar: Number) -> Number:
    """Return the power that a flow carries across a difference of pressure.

    Law
    ---
    P = Q dp/600

    Parameters
    ----------
    flow_lpm : float or array
        Flow [L/min]
    pressure_bar : float or array
        Difference of pressure [bar]

    Returns
    -------
    power : float or array
        Power [kW]

    Examples
    --------
    >>> round(hydraulic_power(36, pressure_bar=70), 3)
    4.2

    Source
    ------
    Esposito, Fluid Power with Applications, example 7-5.
    """
    return plain(flow_lpm * pressure_bar / 600)


def shaft_power(torque_nm: Number, speed_rpm: Number) -> Number:
    """Return the power in a shaft.

    Law
    ---
    P = pi T n/30000

    Parameters
    ----------
    torque_nm : float or array
        Torque [N.m]
    speed_rpm : float or array
        Shaft speed [rev/min]

    Returns
    -------
    power : float or array
        Power [kW]

    Examples
    --------
    >>> round(shaft_power(170, speed_rpm=2000), 1)
    35.6

    Source
    ------
    Esposito, Fluid Power with Applications, example 7-6.
    """
    return plain(np.pi * torque_nm * speed_rpm / 30000)


def unit_corner_power(displacement_cc: Number, speed_max_rpm: Number, pressure_max_bar: Number) -> Number:
    """Return the corner power of a unit: highest pressure, displacement and speed at once, as never happens in service.

    Law
    ---
    P = V n dp/600000

    Parameters
    ----------
    displacement_cc : float or array
        Largest displacement, above zero [cm3/rev]
    speed_max_rpm : float or array
        Highest speed, above zero [rev/min]
    pressure_max_bar : float or array
        Highest difference of pressure, above zero [bar]

    Returns
    -------
    power : float or array
        Corner power, a figure of size [kW]

    Examples
    --------
    >>> round(unit_corner_power(100, speed_max_rpm=2200, pressure_max_bar=420), 1)
    154.0

    Source
    ------
    Common practice of sizing, no source.
    """
    require_above(0, displacement_cc=displacement_cc, speed_max_rpm=speed_max_rpm, pressure_max_bar=pressure_max_bar)
    return hydraulic_power(theoretical_flow(displacement_cc, speed_max_rpm), pressure_max_bar)

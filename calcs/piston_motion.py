"""What the pistons do in one turn: how the flow of all pulses, and how one moves along its bore."""

from __future__ import annotations

import numpy as np

from calcs.gate import Number, plain, require_between
from calcs.piston_unit import swash_stroke


def ripple_of_mean(pistons: int) -> float:
    """Return the geometric flow ripple as a share of the mean flow.

    Law
    ---
    odd z: (pi/2z) tan(pi/4z); even z: (pi/z) tan(pi/2z)

    Parameters
    ----------
    pistons : int
        Number of pistons, 3 to 15 [-]

    Returns
    -------
    ripple : float
        Largest less smallest flow over mean flow; compression of the oil comes on top [-]

    Examples
    --------
    >>> round(100 * ripple_of_mean(9), 3), round(100 * ripple_of_mean(8), 3)
    (1.527, 7.811)

    Source
    ------
    Closed form of the sum of half sines; the published table gives the ripple over the largest flow.
    """
    require_between(3, 15, pistons=pistons)
    waves = 2 * pistons if pistons % 2 else pistons
    return float(np.pi / waves * np.tan(np.pi / (2 * waves)))


def ripple_of_peak(pistons: int) -> float:
    """Return the geometric flow ripple as a share of the largest flow.

    Law
    ---
    odd z: 1 - cos(pi/2z); even z: 1 - cos(pi/z)

    Parameters
    ----------
    pistons : int
        Number of pistons, 3 to 15 [-]

    Returns
    -------
    ripple : float
        Largest less smallest flow over largest flow [-]

    Examples
    --------
    >>> round(100 * ripple_of_peak(9), 1), round(100 * ripple_of_peak(6), 1)
    (1.5, 13.4)

    Source
    ------
    Published table of piston-pump ripple, 1 - cos(90/z) odd and 1 - cos(180/z) even, in degrees.
    """
    require_between(3, 15, pistons=pistons)
    return float(1 - np.cos(np.pi / (2 * pistons if pistons % 2 else pistons)))


def ripple_frequency(pistons: int, speed_rpm: Number) -> Number:
    """Return how often the flow pulses in a second.

    Law
    ---
    odd z: 2 z n/60; even z: z n/60

    Parameters
    ----------
    pistons : int
        Number of pistons, 3 to 15 [-]
    speed_rpm : float or array
        Shaft speed [rev/min]

    Returns
    -------
    frequency : float or array
        Pulses in a second [Hz]

    Examples
    --------
    >>> ripple_frequency(9, speed_rpm=2000)
    600.0

    Source
    ------
    Count of the corners in the sum of half sines.
    """
    require_between(3, 15, pistons=pistons)
    return plain((2 * pistons if pistons % 2 else pistons) * speed_rpm / 60)


def piston_travel(pitch_mm: Number, swash_deg: Number, shaft_deg: Number) -> Number:
    """Return how far a piston has moved from its outer dead centre.

    Law
    ---
    s = (D/2) tan(a) (1 - cos f)

    Parameters
    ----------
    pitch_mm : float or array
        Pitch circle diameter of the bores, above zero [mm]
    swash_deg : float or array
        Angle of the swash plate, -30 to 30; the sign is the direction [deg]
    shaft_deg : float or array
        Turn of the shaft from outer dead centre [deg]

    Returns
    -------
    travel : float or array
        Travel of the piston [mm]

    Examples
    --------
    Half a turn is the whole stroke:

    >>> round(piston_travel(125, swash_deg=10, shaft_deg=180), 4)
    22.0409

    Source
    ------
    Manring, Hydraulic Control Systems (from memory).
    """
    return plain(swash_stroke(pitch_mm, swash_deg) / 2 * (1 - np.cos(np.radians(shaft_deg))))


def piston_velocity(pitch_mm: Number, swash_deg: Number, speed_rpm: Number, shaft_deg: Number = 90.0) -> Number:
    """Return the velocity of a piston; without an angle of the shaft the highest.

    Law
    ---
    v = (D/2) w tan(a) sin f

    Parameters
    ----------
    pitch_mm : float or array
        Pitch circle diameter of the bores, above zero [mm]
    swash_deg : float or array
        Angle of the swash plate, -30 to 30; the sign is the direction [deg]
    speed_rpm : float or array
        Shaft speed [rev/min]
    shaft_deg : float or array
        Turn of the shaft from outer dead centre [deg]

    Returns
    -------
    velocity : float or array
        Velocity along the bore [m/s]

    Examples
    --------
    >>> round(piston_velocity(125, swash_deg=10, speed_rpm=1000), 5)
    1.15406

    Source
    ------
    Manring, Hydraulic Control Systems (from memory).
    """
    return plain(swash_stroke(pitch_mm, swash_deg) / 2000 * speed_rpm * np.pi / 30 * np.sin(np.radians(shaft_deg)))


def piston_acceleration(pitch_mm: Number, swash_deg: Number, speed_rpm: Number, shaft_deg: Number = 0.0) -> Number:
    """Return the acceleration of a piston; without an angle of the shaft the highest.

    Law
    ---
    a = (D/2) w^2 tan(a) cos f

    Parameters
    ----------
    pitch_mm : float or array
        Pitch circle diameter of the bores, above zero [mm]
    swash_deg : float or array
        Angle of the swash plate, -30 to 30; the sign is the direction [deg]
    speed_rpm : float or array
        Shaft speed [rev/min]
    shaft_deg : float or array
        Turn of the shaft from outer dead centre [deg]

    Returns
    -------
    acceleration : float or array
        Acceleration along the bore [m/s2]

    Examples
    --------
    >>> round(piston_acceleration(125, swash_deg=10, speed_rpm=1000), 1)
    120.9

    Source
    ------
    Manring, Hydraulic Control Systems (from memory).
    """
    return plain(swash_stroke(pitch_mm, swash_deg) / 2000 * (speed_rpm * np.pi / 30) ** 2 * np.cos(np.radians(shaft_deg)))

"""The slipper under a piston: how it is pressed on and how far oil can lift it."""

from __future__ import annotations

import numpy as np

from calcs.gate import Number, plain, require_above, require_between

PA_PER_BAR = 1e5


def piston_load_n(pressure_bar: Number, bore_mm: Number, swash_deg: Number) -> Number:
    """Return the force that presses a slipper onto the swash plate.

    Law
    ---
    F = p (pi/4) d^2/cos(a)

    Parameters
    ----------
    pressure_bar : float or array
        Pressure behind the piston over that in the case, zero or more [bar]
    bore_mm : float or array
        Bore of the piston, above zero [mm]
    swash_deg : float or array
        Angle of the swash plate, -60 to 60 [deg]

    Returns
    -------
    load : float or array
        Force across the plate [N]

    Examples
    --------
    >>> round(piston_load_n(300, bore_mm=20, swash_deg=0))
    9425

    Source
    ------
    Balance of forces on the piston; Ivantysyn & Ivantysynova, Hydrostatic Pumps and Motors, from memory.
    """
    require_between(0, np.inf, pressure_bar=pressure_bar)
    require_above(0, bore_mm=bore_mm)
    require_between(-60, 60, swash_deg=swash_deg)
    area_m2 = np.pi / 4 * (np.asarray(bore_mm) / 1000) ** 2
    return plain(pressure_bar * PA_PER_BAR * area_m2 / np.cos(np.radians(swash_deg)))


def pad_area_mm2(outer_mm: Number, inner_mm: Number) -> Number:
    """Return the area on which full pocket pressure would lift as much as pocket and land together do.

    Law
    ---
    A = pi (ro^2 - ri^2)/(2 ln(ro/ri))

    Parameters
    ----------
    outer_mm : float or array
        Outer radius of the sealing land [mm]
    inner_mm : float or array
        Its inner radius, above zero and below the outer [mm]

    Returns
    -------
    area : float or array
        Effective area [mm2]

    Examples
    --------
    >>> round(pad_area_mm2(12.5, inner_mm=8.5), 1)
    342.1

    Source
    ------
    Laminar flow across a ring, its pressure falling with the logarithm of the radius; any textbook on bearings.
    """
    require_land(outer_mm, inner_mm)
    outer, inner = np.asarray(outer_mm, dtype=float), np.asarray(inner_mm, dtype=float)
    return plain(np.pi * (outer**2 - inner**2) / (2 * np.log(outer / inner)))


def require_land(outer_mm: Number, inner_mm: Number) -> None:
    """Refuse a sealing land without width.

    Parameters
    ----------
    outer_mm : float or array
        Outer radius [mm]
    inner_mm : float or array
        Inner radius [mm]

    Returns
    -------
    nothing : None
        Silence if all is well, else ValueError naming the argument [-]

    Examples
    --------
    >>> require_land(8, 8)
    Traceback (most recent call last):
    ValueError: outer_mm must be above inner_mm, got 8 and 8

    Source
    ------
    House rule.
    """
    require_above(0, inner_mm=inner_mm)
    if np.any(np.asarray(outer_mm) <= np.asarray(inner_mm)):
        raise ValueError(f"outer_mm must be above inner_mm, got {outer_mm} and {inner_mm}")


def balance_ratio(bore_mm: Number, outer_mm: Number, inner_mm: Number, swash_deg: Number) -> Number:
    """Return the lift at full pocket pressure over the load; at 1 or below no film is held up by pressure alone.

    Law
    ---
    B = [(ro^2 - ri^2)/(2 ln(ro/ri))] cos(a)/(d^2/4)

    Parameters
    ----------
    bore_mm : float or array
        Bore of the piston, above zero [mm]
    outer_mm : float or array
        Outer radius of the land [mm]
    inner_mm : float or array
        Inner radius of the land [mm]
    swash_deg : float or array
        Angle of the swash plate, -60 to 60 [deg]

    Returns
    -------
    ratio : float or array
        Lift over load [-]

    Examples
    --------
    >>> round(balance_ratio(20, outer_mm=12.5, inner_mm=8.5, swash_deg=15), 3)
    1.052

    Source
    ------
    Balance of forces; Ivantysyn & Ivantysynova, Hydrostatic Pumps and Motors, from memory.
    """
    lift_n = pad_area_mm2(outer_mm, inner_mm) * PA_PER_BAR * 1e-6
    return plain(lift_n / piston_load_n(1.0, bore_mm, swash_deg))

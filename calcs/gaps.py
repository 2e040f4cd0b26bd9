"""Leakage through the single gaps of a piston unit: laminar films between parallel, round and flat faces."""

from __future__ import annotations

import numpy as np

from calcs.gate import Number, plain, require_above, require_between


def slot_flow(
    gap_um: Number, width_mm: Number, length_mm: Number, pressure_bar: Number, dynamic_mpas: Number, wall_speed_mps: Number = 0.0
) -> Number:
    """Return the flow through a flat slot, with what a sliding wall drags along.

    Law
    ---
    Q = b h^3 dp/(12 mu L) + b h U/2

    Parameters
    ----------
    gap_um : float or array
        Height of the slot, zero or more [um]
    width_mm : float or array
        Width across the flow, above zero [mm]
    length_mm : float or array
        Length along the flow, above zero [mm]
    pressure_bar : float or array
        Difference of pressure [bar]
    dynamic_mpas : float or array
        Dynamic viscosity, above zero [mPa.s]
    wall_speed_mps : float or array
        Speed of one wall along the flow [m/s]

    Returns
    -------
    flow : float or array
        Flow [L/min]

    Examples
    --------
    >>> round(slot_flow(20, width_mm=1000, length_mm=10, pressure_bar=100, dynamic_mpas=20), 6)
    2.0

    Source
    ------
    Merritt, Hydraulic Control Systems, laminar flow between plates (from memory); agrees with the numeric integral of the profile.
    """
    require_above(0, width_mm=width_mm, length_mm=length_mm, dynamic_mpas=dynamic_mpas)
    require_between(0, 1000, gap_um=gap_um)
    driven = width_mm * gap_um**3 * pressure_bar / (12 * dynamic_mpas * length_mm) * 1e-10  # m3/s
    dragged = width_mm * gap_um * wall_speed_mps / 2 * 1e-9
    return plain((driven + dragged) * 60000)


def piston_leakage(
    bore_mm: Number, clearance_um: Number, length_mm: Number, pressure_bar: Number, dynamic_mpas: Number, eccentricity: Number = 0.0
) -> Number:
    """Return the leakage past one piston in its bore.

    Law
    ---
    Q = pi d h^3 dp (1 + 1.5 e^2)/(12 mu L)

    Parameters
    ----------
    bore_mm : float or array
        Bore, above zero [mm]
    clearance_um : float or array
        Radial clearance, zero or more [um]
    length_mm : float or array
        Length of piston in the bore, above zero [mm]
    pressure_bar : float or array
        Difference of pressure [bar]
    dynamic_mpas : float or array
        Dynamic viscosity, above zero [mPa.s]
    eccentricity : float or array
        How far off centre the piston lies, 0 to 1 [-]

    Returns
    -------
    flow : float or array
        Flow [L/min]

    Examples
    --------
    >>> round(piston_leakage(20, clearance_um=15, length_mm=35, pressure_bar=300, dynamic_mpas=20), 7)
    0.0454409

    Source
    ------
    Merritt, Hydraulic Control Systems, annular leakage (from memory); fully off centre is 2.5 times as much.
    """
    require_above(0, bore_mm=bore_mm)
    require_between(0, 1, eccentricity=eccentricity)
    return plain(slot_flow(clearance_um, np.pi * bore_mm, length_mm, pressure_bar, dynamic_mpas) * (1 + 1.5 * eccentricity**2))


def slipper_leakage(film_um: Number, outer_mm: Number, inner_mm: Number, pocket_bar: Number, dynamic_mpas: Number) -> Number:
    """Return the leakage over the land of one slipper.

    Law
    ---
    Q = pi h^3 p/(6 mu ln(r_o/r_i))

    Parameters
    ----------
    film_um : float or array
        Film under the land, zero or more [um]
    outer_mm : float or array
        Outer radius of the land, above the inner [mm]
    inner_mm : float or array
        Inner radius of the land, above zero [mm]
    pocket_bar : float or array
        Pressure in the pocket above the case [bar]
    dynamic_mpas : float or array
        Dynamic viscosity, above zero [mPa.s]

    Returns
    -------
    flow : float or array
        Flow [L/min]

    Examples
    --------
    >>> round(slipper_leakage(15, outer_mm=12.5, inner_mm=8.5, pocket_bar=285, dynamic_mpas=20), 3)
    0.392

    Source
    ------
    Radial laminar flow between discs, Merritt, Hydraulic Control Systems (from memory).
    """
    require_above(0, inner_mm=inner_mm, dynamic_mpas=dynamic_mpas)
    require_between(0, 1000, film_um=film_um)
    if np.any(np.asarray(outer_mm) <= inner_mm):
        raise ValueError(f"outer_mm must be above inner_mm, got {outer_mm} and {inner_mm}")
    return plain(np.pi * film_um**3 * pocket_bar / (6 * dynamic_mpas * np.log(outer_mm / inner_mm)) * 60000e-10)


def valve_plate_leakage(
    film_um: Number, sector_deg: Number, radii_mm: tuple[float, float, float, float], pressure_bar: Number, dynamic_mpas: Number
) -> Number:
    """Return the leakage from a kidney slot over its inner and outer land.

    Law
    ---
    Q = b h^3 dp/(12 mu) (1/ln(R2/R1) + 1/ln(R4/R3))

    Parameters
    ----------
    film_um : float or array
        Film on the valve plate, zero or more [um]
    sector_deg : float or array
        Sector under pressure, above 0 to 360 [deg]
    radii_mm : tuple of 4 floats
        Inner land from R1 to R2, outer land from R3 to R4, rising [mm]
    pressure_bar : float or array
        Difference of pressure to the case [bar]
    dynamic_mpas : float or array
        Dynamic viscosity, above zero [mPa.s]

    Returns
    -------
    flow : float or array
        Flow [L/min]

    Examples
    --------
    >>> round(valve_plate_leakage(10, 180, (30, 34, 42, 46), pressure_bar=300, dynamic_mpas=20), 3)
    0.447

    Source
    ------
    From memory; agrees with the numeric integral over the sector.
    """
    require_above(0, sector_deg=sector_deg, dynamic_mpas=dynamic_mpas)
    require_between(0, 360, sector_deg=sector_deg)
    require_between(0, 1000, film_um=film_um)
    r1, r2, r3, r4 = radii_mm
    if not 0 < r1 < r2 < r3 < r4:
        raise ValueError(f"radii_mm must be above zero and rising, got {radii_mm}")
    lands = 1 / np.log(r2 / r1) + 1 / np.log(r4 / r3)
    return plain(np.radians(sector_deg) * film_um**3 * pressure_bar / (12 * dynamic_mpas) * lands * 60000e-10)

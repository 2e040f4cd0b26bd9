"""The film under a slipper: where the flow that feeds it and the flow that escapes come to rest."""

from __future__ import annotations

import numpy as np

from calcs.gate import Number, plain, require_above, require_between
from calcs.orifice import LPM_PER_M3S, PA_PER_BAR, USUAL_DENSITY_KGM3, USUAL_DISCHARGE, orifice_flow_lpm
from calcs.slipper import require_land


def film_um(flow_lpm: Number, pocket_bar: Number, dynamic_mpas: Number, outer_mm: Number, inner_mm: Number) -> Number:
    """Return the film under a slipper through whose land a flow escapes.

    Law
    ---
    h = [6 mu ln(ro/ri) Q/(pi pp)]^(1/3)

    Parameters
    ----------
    flow_lpm : float or array
        Flow across the land, zero or more [L/min]
    pocket_bar : float or array
        Pressure in the pocket, above zero [bar]
    dynamic_mpas : float or array
        Dynamic viscosity, above zero [mPa.s]
    outer_mm : float or array
        Outer radius of the land [mm]
    inner_mm : float or array
        Inner radius of the land [mm]

    Returns
    -------
    film : float or array
        Film thickness [um]

    Examples
    --------
    >>> round(film_um(0.4, pocket_bar=285, dynamic_mpas=20, outer_mm=12.5, inner_mm=8.5), 1)
    15.1

    Source
    ------
    Laminar flow across a ring; any textbook on bearings.
    """
    require_land(outer_mm, inner_mm)
    require_between(0, np.inf, flow_lpm=flow_lpm)
    require_above(0, pocket_bar=pocket_bar, dynamic_mpas=dynamic_mpas)
    log_ratio = np.log(np.asarray(outer_mm) / np.asarray(inner_mm))
    cube_m3 = 6 * np.asarray(dynamic_mpas) * 1e-3 * log_ratio * flow_lpm / LPM_PER_M3S / (np.pi * np.asarray(pocket_bar) * PA_PER_BAR)
    return plain(np.cbrt(cube_m3) * 1e6)


def fed_film_um(
    pressure_bar: float,
    ratio: float,
    orifice_mm: float,
    dynamic_mpas: float,
    outer_mm: float,
    inner_mm: float,
    density_kgm3: float = USUAL_DENSITY_KGM3,
    discharge_share: float = USUAL_DISCHARGE,
) -> float | None:
    """Return the film at which a slipper fed through an orifice comes to rest: the pocket takes just the pressure that bears the load.

    Law
    ---
    pp = p/B, orifice flow at p - pp = land flow at pp

    Parameters
    ----------
    pressure_bar : float
        Pressure behind the piston, above zero [bar]
    ratio : float
        Balance ratio, above zero [-]
    orifice_mm : float
        Bore of the feed orifice, above zero [mm]
    dynamic_mpas : float
        Dynamic viscosity, above zero [mPa.s]
    outer_mm : float
        Outer radius of the land [mm]
    inner_mm : float
        Inner radius of the land [mm]
    density_kgm3 : float
        Density of the oil, above zero [kg/m3]
    discharge_share : float
        Discharge coefficient of the orifice [-]

    Returns
    -------
    film : float or None
        Film thickness; None at a ratio of 1 or below, where pressure alone holds no film [um]

    Examples
    --------
    >>> round(fed_film_um(300, 1.05193, orifice_mm=0.5, dynamic_mpas=20, outer_mm=12.5, inner_mm=8.5, density_kgm3=860), 2)
    15.45

    Source
    ------
    Orifice and land in series; Ivantysyn & Ivantysynova, Hydrostatic Pumps and Motors, from memory.
    """
    require_above(0, pressure_bar=pressure_bar, ratio=ratio)
    if ratio <= 1:
        return None
    pocket_bar = pressure_bar / ratio
    flow_lpm = orifice_flow_lpm(orifice_mm, pressure_bar - pocket_bar, density_kgm3, discharge_share)
    return film_um(flow_lpm, pocket_bar, dynamic_mpas, outer_mm, inner_mm)


def capillary_film_um(ratio: float, capillary_mm: float, length_mm: float, outer_mm: float, inner_mm: float) -> float | None:
    """Return the film of a slipper fed through a fine long bore: neither pressure nor viscosity moves it.

    Law
    ---
    h = [6 ln(ro/ri) d^4 (B - 1)/(128 l)]^(1/3)

    Parameters
    ----------
    ratio : float
        Balance ratio, above zero [-]
    capillary_mm : float
        Bore of the capillary, above zero [mm]
    length_mm : float
        Its length, above zero [mm]
    outer_mm : float
        Outer radius of the land [mm]
    inner_mm : float
        Inner radius of the land [mm]

    Returns
    -------
    film : float or None
        Film thickness; None at a ratio of 1 or below [um]

    Examples
    --------
    >>> round(capillary_film_um(1.05193, capillary_mm=0.5, length_mm=10, outer_mm=12.5, inner_mm=8.5), 1)
    18.0

    Source
    ------
    Hagen-Poiseuille flow and land in series, viscosity and pressure cancelled.
    """
    require_above(0, ratio=ratio, capillary_mm=capillary_mm, length_mm=length_mm)
    require_land(outer_mm, inner_mm)
    if ratio <= 1:
        return None
    cube_mm3 = 6 * np.log(outer_mm / inner_mm) * capillary_mm**4 * (ratio - 1) / (128 * length_mm)
    return float(np.cbrt(cube_mm3) * 1000)


def recess_radius_mm(outer_mm: float, load_n: float, gap_um: float, dynamic_mpas: float, flow_lpm: float) -> float:
    """Return the pocket radius that bears a load on a given film with a given flow.

    Law
    ---
    ri^2 = ro^2 - F h^3/(3 mu Q)

    Parameters
    ----------
    outer_mm : float
        Outer radius of the pad, above zero [mm]
    load_n : float
        Load, above zero [N]
    gap_um : float
        Film thickness, above zero [um]
    dynamic_mpas : float
        Dynamic viscosity, above zero [mPa.s]
    flow_lpm : float
        Flow fed to the pad, above zero [L/min]

    Returns
    -------
    radius : float
        Radius of the pocket [mm]

    Examples
    --------
    60 kN on 30 um with 0.24 L/min of 80 mPa.s, pad of 100 mm:

    >>> round(recess_radius_mm(50, load_n=60_000, gap_um=30, dynamic_mpas=80, flow_lpm=0.24), 1)
    28.5

    Source
    ------
    Lift and flow of a ring combined; published tribology problem with answer.
    """
    require_above(0, outer_mm=outer_mm, load_n=load_n, gap_um=gap_um, dynamic_mpas=dynamic_mpas, flow_lpm=flow_lpm)
    taken_m2 = load_n * (gap_um * 1e-6) ** 3 / (3 * dynamic_mpas * 1e-3 * flow_lpm / LPM_PER_M3S)
    left_m2 = (outer_mm / 1000) ** 2 - taken_m2
    if left_m2 <= 0:
        raise ValueError(f"flow_lpm must be enough for that load and film, got {flow_lpm}")
    return float(np.sqrt(left_m2) * 1000)

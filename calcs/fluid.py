"""Viscosity against temperature, density, and how far a degree moves the viscosity."""

from __future__ import annotations

import numpy as np

from calcs.gate import Number, plain, require_above, require_between, within

ICE_POINT_K = 273.15
WALTHER_ADDEND_MM2S = 0.7  # ASTM D341, valid from 2 mm2/s up; below that the standard adds further terms
LOWEST_VISCOSITY_MM2S = 2.0
COLDEST_C, HOTTEST_C = -10.0, 120.0  # how far beyond the two data points the line is drawn; common practice, no source
LUBRICANT_K1 = 0.6278  # API MPMS 11.1, table 54D, lubricants group (K0 = 0)
DENSITY_BASE_C = 15.0


def walther_constants(
    temp1_c: Number, viscosity1_mm2s: Number, temp2_c: Number, viscosity2_mm2s: Number, ice_point_k: float = ICE_POINT_K
) -> tuple[Number, Number]:
    """Return the constants A and B of the viscosity-temperature line through two measured points.

    Law
    ---
    log log(nu + 0.7) = A - B log T

    Parameters
    ----------
    temp1_c : float or array
        Temperature of the first point [degC]
    viscosity1_mm2s : float or array
        Kinematic viscosity there; 2 or more [mm2/s]
    temp2_c : float or array
        Temperature of the second point, unlike the first [degC]
    viscosity2_mm2s : float or array
        Kinematic viscosity there; 2 or more, and thinner where it is warmer [mm2/s]
    ice_point_k : float
        Kelvin added to the temperatures; old worksheets use 273 [K]

    Returns
    -------
    constants : tuple
        A and B, logarithms to base 10 [-]

    Examples
    --------
    A worksheet for a VG 32 oil, with T = degC + 273:

    >>> a, b = walther_constants(40, 32, 100, 5.4, ice_point_k=273)
    >>> round(a, 4), round(b, 4)
    (9.5259, 3.7449)

    Source
    ------
    ASTM D341-20, equation 1 and its two-point procedure; worked figures from a public D341 worksheet.
    """
    require_measurable(viscosity1_mm2s=viscosity1_mm2s, viscosity2_mm2s=viscosity2_mm2s)
    if np.any(np.asarray(temp1_c) == np.asarray(temp2_c)):
        raise ValueError(f"temp2_c must differ from temp1_c, got {temp2_c}")
    log_t1 = np.log10(np.asarray(temp1_c) + ice_point_k)
    log_t2 = np.log10(np.asarray(temp2_c) + ice_point_k)
    y1, y2 = walther_ordinate(viscosity1_mm2s), walther_ordinate(viscosity2_mm2s)
    b = (y1 - y2) / (log_t2 - log_t1)
    if np.any(b <= 0):
        raise ValueError(f"viscosity2_mm2s must be below viscosity1_mm2s where it is warmer, got {viscosity2_mm2s}")
    return plain(y1 + b * log_t1), plain(b)


def require_measurable(**named: Number) -> None:
    """Refuse viscosities under 2 mm2/s, where the short viscosity-temperature law no longer holds.

    Parameters
    ----------
    **named : float or array
        Kinematic viscosities by argument name [mm2/s]

    Returns
    -------
    nothing : None
        Silence if all is well, else ValueError naming the argument [-]

    Examples
    --------
    >>> require_measurable(nu100_mm2s=1.9)
    Traceback (most recent call last):
    ValueError: nu100_mm2s must be 2 mm2/s or more, got 1.9

    Source
    ------
    ASTM D341-20: the exponential terms may be dropped from 2 mm2/s up.
    """
    for name, value in named.items():
        if np.any(np.asarray(value) < LOWEST_VISCOSITY_MM2S):
            raise ValueError(f"{name} must be {LOWEST_VISCOSITY_MM2S:g} mm2/s or more, got {value}")


def walther_ordinate(viscosity_mm2s: Number) -> Number:
    """Return the double logarithm in which viscosity is a straight line over the logarithm of temperature.

    Law
    ---
    Y = log log(nu + 0.7)

    Parameters
    ----------
    viscosity_mm2s : float or array
        Kinematic viscosity, 2 or more [mm2/s]

    Returns
    -------
    ordinate : float or array
        Double logarithm to base 10 [-]

    Examples
    --------
    >>> round(walther_ordinate(99.3), 5)
    0.30103

    Source
    ------
    ASTM D341-20, equation 1.
    """
    return plain(np.log10(np.log10(np.asarray(viscosity_mm2s) + WALTHER_ADDEND_MM2S)))


def viscosity_from_ordinate(ordinate: Number) -> Number:
    """Return the viscosity that belongs to a double logarithm.

    Law
    ---
    nu = 10^(10^Y) - 0.7

    Parameters
    ----------
    ordinate : float or array
        Double logarithm to base 10 [-]

    Returns
    -------
    viscosity : float or array
        Kinematic viscosity [mm2/s]

    Examples
    --------
    >>> round(viscosity_from_ordinate(0.30103), 3)
    99.3

    Source
    ------
    ASTM D341-20, equation 1 turned round.
    """
    return plain(10 ** (10 ** np.asarray(ordinate)) - WALTHER_ADDEND_MM2S)


def viscosity_at(oil_temp_c: Number, nu40_mm2s: Number, nu100_mm2s: Number) -> Number:
    """Return the kinematic viscosity of an oil at a temperature, from its viscosities at 40 and 100 degC.

    Law
    ---
    nu = 10^(10^(A - B log T)) - 0.7

    Parameters
    ----------
    oil_temp_c : float or array
        Oil temperature, -10 to 120 [degC]
    nu40_mm2s : float or array
        Viscosity at 40 degC [mm2/s]
    nu100_mm2s : float or array
        Viscosity at 100 degC, 2 or more and below that at 40 [mm2/s]

    Returns
    -------
    viscosity : float or array
        Kinematic viscosity [mm2/s]

    Errors
    ------
    Outside the range of temperature, or where the oil is thinner than 2 mm2/s: ValueError for a single number, NaN in an array.

    Examples
    --------
    >>> round(viscosity_at(60, nu40_mm2s=46, nu100_mm2s=6.8), 2)
    20.62

    Source
    ------
    ASTM D341-20, equation 1 through the points at 40 and 100 degC; polymer-thickened oils follow it less well.
    """
    a, b = constants_of(nu40_mm2s, nu100_mm2s)
    oil_temp_c = within(COLDEST_C, HOTTEST_C, "oil_temp_c", oil_temp_c)
    viscosity = viscosity_from_ordinate(a - b * np.log10(oil_temp_c + ICE_POINT_K))
    too_thin = viscosity < LOWEST_VISCOSITY_MM2S * (1 - 1e-9)  # the point at 100 degC itself must not fail by rounding
    if np.ndim(viscosity):
        return np.where(too_thin, np.nan, viscosity)
    if too_thin:
        raise ValueError(f"oil_temp_c must leave the oil 2 mm2/s or thicker, got {oil_temp_c} where it has {viscosity:.2f}")
    return viscosity


def constants_of(nu40_mm2s: Number, nu100_mm2s: Number) -> tuple[Number, Number]:
    """Return the constants A and B of an oil from its two catalogue viscosities.

    Parameters
    ----------
    nu40_mm2s : float or array
        Viscosity at 40 degC [mm2/s]
    nu100_mm2s : float or array
        Viscosity at 100 degC, 2 or more and below that at 40 [mm2/s]

    Returns
    -------
    constants : tuple
        A and B, logarithms to base 10, temperatures in kelvin [-]

    Examples
    --------
    >>> a, b = constants_of(46, 6.8)
    >>> round(b, 3)
    3.684

    Source
    ------
    ASTM D341-20, two-point procedure at the temperatures of ISO 3448 and ASTM D2270.
    """
    require_measurable(nu40_mm2s=nu40_mm2s, nu100_mm2s=nu100_mm2s)
    if np.any(np.asarray(nu100_mm2s) >= np.asarray(nu40_mm2s)):
        raise ValueError(f"nu100_mm2s must be below nu40_mm2s, got {nu100_mm2s} and {nu40_mm2s}")
    return walther_constants(40.0, nu40_mm2s, 100.0, nu100_mm2s)


def viscosity_sensitivity(oil_temp_c: Number, nu40_mm2s: Number, nu100_mm2s: Number) -> Number:
    """Return by what share the viscosity changes for each kelvin, a number below zero.

    Law
    ---
    (d nu/dT)/nu = -(B/T) z ln z/nu, with z = nu + 0.7

    Parameters
    ----------
    oil_temp_c : float or array
        Oil temperature, -10 to 120 [degC]
    nu40_mm2s : float or array
        Viscosity at 40 degC [mm2/s]
    nu100_mm2s : float or array
        Viscosity at 100 degC [mm2/s]

    Returns
    -------
    sensitivity : float or array
        Share of the viscosity for each kelvin [1/K]

    Examples
    --------
    A VG 46 oil at 60 degC loses 3.5 % a degree:

    >>> round(viscosity_sensitivity(60, nu40_mm2s=46, nu100_mm2s=6.8), 5)
    -0.03499

    Source
    ------
    Our own derivative of ASTM D341-20, equation 1.
    """
    viscosity = viscosity_at(oil_temp_c, nu40_mm2s, nu100_mm2s)
    _, b = constants_of(nu40_mm2s, nu100_mm2s)
    z = viscosity + WALTHER_ADDEND_MM2S
    return plain(-(b / (np.asarray(oil_temp_c) + ICE_POINT_K)) * z * np.log(z) / viscosity)


def density_at(oil_temp_c: Number, density15_kgm3: Number) -> Number:
    """Return the density of a mineral lubricating oil at a temperature.

    Law
    ---
    rho = rho15 exp(-a D (1 + 0.8 a D)), with a = 0.6278/rho15 and D = T - 15

    Parameters
    ----------
    oil_temp_c : float or array
        Oil temperature, -50 to 150 [degC]
    density15_kgm3 : float or array
        Density at 15 degC, 700 to 1200 [kg/m3]

    Returns
    -------
    density : float or array
        Density at that temperature and no pressure [kg/m3]

    Examples
    --------
    >>> round(density_at(60, density15_kgm3=870), 1)
    841.5

    Source
    ------
    API MPMS chapter 11.1, table 54D, lubricants group; the constant 0.6278 seen in public code, the equation from memory.
    """
    require_between(700, 1200, density15_kgm3=density15_kgm3)
    require_between(-50, 150, oil_temp_c=oil_temp_c)
    warmer = np.asarray(oil_temp_c) - DENSITY_BASE_C
    expansion = LUBRICANT_K1 / np.asarray(density15_kgm3) * warmer
    return plain(density15_kgm3 * np.exp(-expansion * (1 + 0.8 * expansion)))


def dynamic_viscosity(viscosity_mm2s: Number, density_kgm3: Number) -> Number:
    """Return the dynamic viscosity that resists the flow through a gap.

    Law
    ---
    mu = nu rho/1000

    Parameters
    ----------
    viscosity_mm2s : float or array
        Kinematic viscosity, above zero [mm2/s]
    density_kgm3 : float or array
        Density, above zero [kg/m3]

    Returns
    -------
    dynamic : float or array
        Dynamic viscosity [mPa.s]

    Examples
    --------
    >>> dynamic_viscosity(32, density_kgm3=870)
    27.84

    Source
    ------
    Definition of kinematic viscosity, ISO 3104.
    """
    require_above(0, viscosity_mm2s=viscosity_mm2s, density_kgm3=density_kgm3)
    return plain(np.asarray(viscosity_mm2s) * density_kgm3 / 1000)

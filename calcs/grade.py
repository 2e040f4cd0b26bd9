"""What kind of oil it is: viscosity index, ISO class, Saybolt seconds."""

from __future__ import annotations

import numpy as np

from calcs.fluid import require_measurable
from calcs.gate import require_above, require_between

MM2S_PER_M2S = 1e6
# ISO 3448:1992, table 1: midpoint at 40 degC in mm2/s by class number; the limits lie 10 % either side.
ISO_VG_MIDPOINTS_MM2S = {2: 2.2, 3: 3.2, 5: 4.6, 7: 6.8} | {
    grade: float(grade) for grade in (10, 15, 22, 32, 46, 68, 100, 150, 220, 320, 460, 680, 1000, 1500, 2200, 3200)
}
ISO_VG_HALF_WIDTH = 0.10
LEAST_SAYBOLT_MM2S = 1.81  # ASTM D2161, lower end of its table for Saybolt Universal
SAYBOLT_BASE_F = 100.0
SAYBOLT_PER_F = 0.000061  # ASTM D2161: growth of Saybolt seconds with temperature at one viscosity


def viscosity_index(nu40_mm2s: float, nu100_mm2s: float) -> float:
    """Return how little the viscosity of an oil changes with temperature, on the scale of the standard.

    Law
    ---
    VI = 100 (L - U)/(L - H), or ((H/U)^(1/log Y) - 1)/0.00715 + 100 where U is below H (U at 40, Y at 100 degC)

    Parameters
    ----------
    nu40_mm2s : float
        Viscosity at 40 degC, above that at 100 [mm2/s]
    nu100_mm2s : float
        Viscosity at 100 degC, 2 or more [mm2/s]

    Returns
    -------
    index : float
        Viscosity index, not rounded [-]

    Examples
    --------
    The standard's own calculation, answer 92:

    >>> round(viscosity_index(73.30, 8.86))
    92

    Source
    ------
    ASTM D2270-10(2016), 5.1 and 5.2, as worked out by the chemicals library.
    """
    from chemicals.viscosity import viscosity_index as library_index

    require_measurable(nu100_mm2s=nu100_mm2s)
    if nu40_mm2s <= nu100_mm2s:
        raise ValueError(f"nu40_mm2s must be above nu100_mm2s, got {nu40_mm2s}")
    return float(library_index(nu40_mm2s / MM2S_PER_M2S, nu100_mm2s / MM2S_PER_M2S))


def index_references(nu100_mm2s: float) -> tuple[float, float]:
    """Return the viscosities at 40 degC of the two reference oils that are as thick as this one at 100 degC.

    Parameters
    ----------
    nu100_mm2s : float
        Viscosity at 100 degC, 2 to 70 [mm2/s]

    Returns
    -------
    references : tuple
        L of the oil with index 0 and H of the oil with index 100 [mm2/s]

    Examples
    --------
    >>> low, high = index_references(8.86)
    >>> round(low, 2), round(high, 2)
    (119.94, 69.48)

    Source
    ------
    ASTM D2270-10(2016), table 1, straight between its rows; the rows as kept by the chemicals library.
    """
    from chemicals.viscosity import VI_Hs, VI_Ls, VI_nus

    require_between(2, 70, nu100_mm2s=nu100_mm2s)
    return float(np.interp(nu100_mm2s, VI_nus, VI_Ls)), float(np.interp(nu100_mm2s, VI_nus, VI_Hs))


def saybolt_seconds(viscosity_mm2s: float, oil_temp_f: float = SAYBOLT_BASE_F) -> float:
    """Return Saybolt Universal seconds, the viscosity scale of older American manuals.

    Law
    ---
    SUS = [4.6324 v + (1 + 0.03264 v)/((3930.2 + 262.7 v + 23.97 v^2 + 1.646 v^3) 1e-5)] [1 + 0.000061 (t - 100)]

    Parameters
    ----------
    viscosity_mm2s : float
        Kinematic viscosity, above 1.81 [mm2/s]
    oil_temp_f : float
        Temperature at which it was measured [degF]

    Returns
    -------
    seconds : float
        Saybolt Universal seconds [SUS]

    Examples
    --------
    32 mm2/s, printed as 150 SUS in service manuals:

    >>> round(saybolt_seconds(32), 1)
    150.5

    Source
    ------
    ASTM D2161-19, 5.1 and 5.2; the first bracket as worked out by the chemicals library.
    """
    from chemicals.viscosity import viscosity_converter

    require_above(LEAST_SAYBOLT_MM2S, viscosity_mm2s=viscosity_mm2s)
    base = viscosity_converter(viscosity_mm2s / MM2S_PER_M2S, "kinematic viscosity", "saybolt universal")
    return float(base * saybolt_growth(oil_temp_f))


def saybolt_growth(oil_temp_f: float) -> float:
    """Return by what factor Saybolt seconds grow over those at 100 degF for one and the same viscosity.

    Law
    ---
    f = 1 + 0.000061 (t - 100)

    Parameters
    ----------
    oil_temp_f : float
        Temperature of the measurement, 0 to 350 [degF]

    Returns
    -------
    factor : float
        Factor on the seconds at 100 degF [-]

    Examples
    --------
    >>> round(saybolt_growth(210), 5)
    1.00671

    Source
    ------
    ASTM D2161-19, 5.2.
    """
    require_between(0, 350, oil_temp_f=oil_temp_f)
    return 1 + SAYBOLT_PER_F * (oil_temp_f - SAYBOLT_BASE_F)


def viscosity_from_saybolt(saybolt_s: float, oil_temp_f: float = SAYBOLT_BASE_F) -> float:
    """Return the kinematic viscosity behind a figure in Saybolt Universal seconds.

    Parameters
    ----------
    saybolt_s : float
        Saybolt Universal seconds, 32.5 or more at 100 degF [SUS]
    oil_temp_f : float
        Temperature at which it was measured [degF]

    Returns
    -------
    viscosity : float
        Kinematic viscosity [mm2/s]

    Examples
    --------
    >>> round(viscosity_from_saybolt(150))
    32

    Source
    ------
    ASTM D2161-19, 5.1 and 5.2, turned round by bracketing; no short form, which is 1.5 % off.
    """
    from scipy.optimize import brentq

    least = LEAST_SAYBOLT_MM2S + 1e-6
    if saybolt_s < saybolt_seconds(least, oil_temp_f):
        raise ValueError(f"saybolt_s must belong to more than {LEAST_SAYBOLT_MM2S} mm2/s, got {saybolt_s}")
    return float(brentq(lambda v: saybolt_seconds(v, oil_temp_f) - saybolt_s, least, saybolt_s, xtol=1e-10))


def iso_vg_class(nu40_mm2s: float) -> int | None:
    """Return the ISO viscosity class of an oil, or None if it lies between two classes.

    Parameters
    ----------
    nu40_mm2s : float
        Viscosity at 40 degC, above zero [mm2/s]

    Returns
    -------
    grade : int or None
        Class number [-]

    Examples
    --------
    >>> iso_vg_class(44.1), iso_vg_class(55)
    (46, None)

    Source
    ------
    ISO 3448:1992, table 1: midpoint and 10 % either side.
    """
    require_above(0, nu40_mm2s=nu40_mm2s)
    for grade, midpoint in ISO_VG_MIDPOINTS_MM2S.items():
        if abs(nu40_mm2s - midpoint) <= ISO_VG_HALF_WIDTH * midpoint * (1 + 1e-9):
            return grade
    return None

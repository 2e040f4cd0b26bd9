"""Mixed oils: what the mix of several products is worth."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from calcs.fluid import require_measurable, viscosity_from_ordinate, walther_ordinate

PLAIN_BAND = 0.05  # half width of the answer, share; ours, a setting
IMPROVER_BAND = 0.15  # the same where a polymer-thickened oil is in the mix; ours, a setting


def blend_shares(volumes_l: Sequence[float]) -> np.ndarray:
    """Return the share of each part of a mix.

    Parameters
    ----------
    volumes_l : sequence of float, shape (n,)
        Volume of each part, zero or more, not all zero [L]

    Returns
    -------
    shares : array, shape (n,)
        Volume of each over the whole; they sum to 1 [-]

    Examples
    --------
    >>> blend_shares([30, 10])
    array([0.75, 0.25])

    Source
    ------
    Definition.
    """
    volumes = np.asarray(volumes_l, dtype=float)
    if volumes.size == 0 or np.any(volumes < 0) or volumes.sum() <= 0:
        raise ValueError(f"volumes_l must be zero or more and not all zero, got {volumes_l}")
    return volumes / volumes.sum()


def blend_value(volumes_l: Sequence[float], values: Sequence[float]) -> float:
    """Return a property that mixes in proportion: ppm, acid number, additive, density.

    Law
    ---
    value = sum of share x value

    Parameters
    ----------
    volumes_l : sequence of float, shape (n,)
        Volume of each part [L]
    values : sequence of float, shape (n,)
        Its value, in any one unit [-]

    Returns
    -------
    value : float
        Value of the mix in the same unit [-]

    Examples
    --------
    >>> blend_value([30, 10], [100, 20])
    80.0

    Source
    ------
    Conservation of mass, the densities taken as alike.
    """
    return float(np.dot(blend_shares(volumes_l), paired(volumes_l, values=values)))


def blend_viscosity(volumes_l: Sequence[float], viscosities_mm2s: Sequence[float]) -> float:
    """Return the viscosity of a mix from the viscosities of its parts at one temperature.

    Law
    ---
    log log(nu + 0.7) = sum of share x log log(nu_i + 0.7)

    Parameters
    ----------
    volumes_l : sequence of float, shape (n,)
        Volume of each part [L]
    viscosities_mm2s : sequence of float, shape (n,)
        Viscosity of each at that temperature, 2 or more [mm2/s]

    Returns
    -------
    viscosity : float
        Viscosity of the mix at the same temperature [mm2/s]

    Examples
    --------
    30 L of VG 46 and 15 L of VG 68:

    >>> round(blend_viscosity([30, 15], [46, 68]), 1)
    52.2

    Source
    ------
    Walther blending on the ordinate of ASTM D341, the idea of ASTM D7152; from memory.
    """
    viscosities = paired(volumes_l, viscosities_mm2s=viscosities_mm2s)
    require_measurable(viscosities_mm2s=viscosities)
    return viscosity_from_ordinate(float(np.dot(blend_shares(volumes_l), walther_ordinate(viscosities))))


def blend_band(
    volumes_l: Sequence[float],
    viscosities_mm2s: Sequence[float],
    has_vi_improver: bool,
    plain_band: float = PLAIN_BAND,
    improver_band: float = IMPROVER_BAND,
) -> tuple[float, float, float]:
    """Return the viscosity of a mix with a band about it, wider where a part holds a viscosity index improver.

    Law
    ---
    low, high = nu (1 -+ half width); no band where only one product is in

    Parameters
    ----------
    volumes_l : sequence of float, shape (n,)
        Volume of each part [L]
    viscosities_mm2s : sequence of float, shape (n,)
        Viscosity of each at one temperature, 2 or more [mm2/s]
    has_vi_improver : bool
        Whether any part is polymer-thickened, as tractor fluids are [-]
    plain_band : float
        Half width without improver [-]
    improver_band : float
        Half width with improver [-]

    Returns
    -------
    band : tuple
        Low, expected and high viscosity of the mix [mm2/s]

    Examples
    --------
    >>> [round(v, 1) for v in blend_band([30, 15], [46, 68], has_vi_improver=False)]
    [49.6, 52.2, 54.8]

    Source
    ------
    ASTM D7152 warns of oils with improver and gives no figure; the half widths are ours, settings.
    """
    expected = blend_viscosity(volumes_l, viscosities_mm2s)
    half_width = improver_band if has_vi_improver else plain_band
    if np.count_nonzero(volumes_l) == 1:
        half_width = 0.0
    return expected * (1 - half_width), expected, expected * (1 + half_width)


def paired(volumes_l: Sequence[float], **named: Sequence[float]) -> np.ndarray:
    """Return values as an array that has one for each volume.

    Parameters
    ----------
    volumes_l : sequence of float, shape (n,)
        Volume of each part [L]
    **named : sequence of float, shape (n,)
        One list of values by argument name [-]

    Returns
    -------
    values : array, shape (n,)
        The values [-]

    Examples
    --------
    >>> paired([1, 2], values=[5, 6])
    array([5., 6.])

    Source
    ------
    House rule.
    """
    ((name, given),) = named.items()
    values = np.asarray(given, dtype=float)
    if values.shape != np.shape(volumes_l):
        raise ValueError(f"{name} must be as many as volumes_l, got {given}")
    return values

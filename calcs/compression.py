"""Oil under pressure: thicker, smaller, and pushing back when it is shut in and warms."""

from __future__ import annotations

import numpy as np

from calcs.gate import Number, plain, require_above, require_between

BARUS_PER_BAR = 1.7e-3  # mineral oil: Vacca & Franzoni, Hydraulic Fluid Power, eq. 2.21
OIL_BULK_MODULUS_BAR = 16_000.0  # mineral oil without air, 1.6 GPa; from memory
OIL_EXPANSION_PER_K = 7e-4  # mineral oil; from memory


def viscosity_under_pressure(viscosity_mm2s: Number, pressure_bar: Number, barus_per_bar: float = BARUS_PER_BAR) -> Number:
    """Return the viscosity of an oil under pressure.

    Law
    ---
    nu = nu0 exp(b p)

    Parameters
    ----------
    viscosity_mm2s : float or array
        Viscosity at no pressure and the same temperature, kinematic or dynamic alike, above zero [mm2/s]
    pressure_bar : float or array
        Pressure, 0 to 1000 [bar]
    barus_per_bar : float
        Pressure-viscosity coefficient, zero or more [1/bar]

    Returns
    -------
    viscosity : float or array
        Viscosity under that pressure [mm2/s]

    Examples
    --------
    About 40 % more at 200 bar:

    >>> round(viscosity_under_pressure(20, pressure_bar=200), 1)
    28.1

    Source
    ------
    Barus law; Vacca & Franzoni, Hydraulic Fluid Power, eq. 2.21 with its coefficient for mineral oil.
    """
    require_above(0, viscosity_mm2s=viscosity_mm2s)
    require_between(0, 1000, pressure_bar=pressure_bar)
    require_between(0, 0.01, barus_per_bar=barus_per_bar)
    return plain(viscosity_mm2s * np.exp(barus_per_bar * np.asarray(pressure_bar)))


def compression_share(pressure_rise_bar: Number, bulk_modulus_bar: Number = OIL_BULK_MODULUS_BAR) -> Number:
    """Return by what share of its volume oil shrinks under a rise of pressure.

    Law
    ---
    dV/V = dp/B

    Parameters
    ----------
    pressure_rise_bar : float or array
        Rise of pressure [bar]
    bulk_modulus_bar : float or array
        Bulk modulus, above zero; with air and hoses 10,000 to 14,000 (from memory) [bar]

    Returns
    -------
    share : float or array
        Shrinkage divided by volume [-]

    Examples
    --------
    From 687 to 13,740 kPa with 1,718 MPa, answer 0.76 %:

    >>> round(100 * compression_share(130.53, bulk_modulus_bar=17180), 2)
    0.76

    Source
    ------
    Esposito, Fluid Power with Applications, Ex. 2-17 (numbers as given in the FOSSEE textbook-companion notebooks).
    """
    require_above(0, bulk_modulus_bar=bulk_modulus_bar)
    return plain(np.asarray(pressure_rise_bar) / bulk_modulus_bar)


def shut_in_rise_bar(
    oil_warming_k: Number, bulk_modulus_bar: Number = OIL_BULK_MODULUS_BAR, expansion_per_k: Number = OIL_EXPANSION_PER_K
) -> Number:
    """Return the rise of pressure in oil that is shut in a rigid space and warms: the reason never to cap a full line.

    Law
    ---
    dp = alpha B dT

    Parameters
    ----------
    oil_warming_k : float or array
        Rise of oil temperature [K]
    bulk_modulus_bar : float or array
        Bulk modulus, above zero [bar]
    expansion_per_k : float or array
        Thermal expansion of the oil, above zero [1/K]

    Returns
    -------
    rise : float or array
        Rise of pressure; hoses that give make it less [bar]

    Examples
    --------
    >>> round(shut_in_rise_bar(1), 1)
    11.2

    Source
    ------
    Definition of both moduli; about 11 bar for each degC on a fluid-power education page.
    """
    require_above(0, bulk_modulus_bar=bulk_modulus_bar, expansion_per_k=expansion_per_k)
    return plain(np.asarray(expansion_per_k) * bulk_modulus_bar * oil_warming_k)

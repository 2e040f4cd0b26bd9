"""Loss models of a piston unit by coefficients: leakage after Wilson and Schlosser, compression, and torque loss."""

from __future__ import annotations

import numpy as np

from calcs.gate import Number, plain, require_above, require_between


def laminar_leakage(slip: Number, displacement_cc: Number, pressure_bar: Number, dynamic_mpas: Number) -> Number:
    """Return the laminar leakage of a unit from its slip coefficient.

    Law
    ---
    Q = C_s (V/2 pi) dp/mu

    Parameters
    ----------
    slip : float or array
        Laminar slip coefficient, some 1e-9 to 1e-8 [-]
    displacement_cc : float or array
        Displacement per revolution, above zero [cm3/rev]
    pressure_bar : float or array
        Difference of pressure across the unit [bar]
    dynamic_mpas : float or array
        Dynamic viscosity, above zero [mPa.s]

    Returns
    -------
    leakage : float or array
        Leakage [L/min]

    Examples
    --------
    >>> round(laminar_leakage(4.26e-9, displacement_cc=107, pressure_bar=200, dynamic_mpas=27.84), 3)
    3.127

    Source
    ------
    Wilson's model, as in McCandlish and Dorey 1984 (from memory). Coefficients of a 107 cm3 variable axial piston unit: Pourmovahed
    et al. 1992 as quoted in public research code.
    """
    require_above(0, displacement_cc=displacement_cc, dynamic_mpas=dynamic_mpas)
    return plain(slip * displacement_cc / (2 * np.pi) * pressure_bar / dynamic_mpas * 6e6)


def turbulent_leakage(slip: Number, displacement_cc: Number, pressure_bar: Number, density_kgm3: Number) -> Number:
    """Return the turbulent part of the leakage of a unit.

    Law
    ---
    Q = C_st (V/2 pi)^(2/3) sqrt(2 dp/rho)

    Parameters
    ----------
    slip : float or array
        Turbulent slip coefficient [-]
    displacement_cc : float or array
        Displacement per revolution, above zero [cm3/rev]
    pressure_bar : float or array
        Difference of pressure across the unit, zero or more [bar]
    density_kgm3 : float or array
        Density, above zero [kg/m3]

    Returns
    -------
    leakage : float or array
        Leakage [L/min]

    Examples
    --------
    >>> round(turbulent_leakage(1e-6, displacement_cc=107, pressure_bar=200, density_kgm3=870), 4)
    0.0085

    Source
    ------
    Schlosser's model (from memory).
    """
    require_above(0, displacement_cc=displacement_cc, density_kgm3=density_kgm3)
    require_between(0, 2000, pressure_bar=pressure_bar)
    return plain(slip * (displacement_cc * 1e-6 / (2 * np.pi)) ** (2 / 3) * np.sqrt(2e5 * pressure_bar / density_kgm3) * 60000)


def compression_loss(
    displacement_cc: Number, speed_rpm: Number, pressure_bar: Number, bulk_modulus_bar: Number, fraction: Number = 1.0
) -> Number:
    """Return the flow that a pump loses because the oil is squeezed.

    Law
    ---
    Q = x V n dp/B

    Parameters
    ----------
    displacement_cc : float or array
        Displacement per revolution, above zero [cm3/rev]
    speed_rpm : float or array
        Shaft speed, above zero [rev/min]
    pressure_bar : float or array
        Difference of pressure across the unit [bar]
    bulk_modulus_bar : float or array
        Bulk modulus, above zero, some 10000 to 17000 [bar]
    fraction : float or array
        Share of full stroke, -1 to 1 [-]

    Returns
    -------
    loss : float or array
        Flow lost [L/min]

    Examples
    --------
    >>> round(compression_loss(107, speed_rpm=2000, pressure_bar=200, bulk_modulus_bar=17000), 3)
    2.518

    Source
    ------
    Thoma's term as in McCandlish and Dorey 1984 (from memory), without their dead volume.
    """
    require_above(0, bulk_modulus_bar=bulk_modulus_bar)
    require_between(-1, 1, fraction=fraction)
    return plain(fraction * displacement_cc * speed_rpm / 1000 * pressure_bar / bulk_modulus_bar)


def torque_loss(
    displacement_cc: Number,
    speed_rpm: Number,
    pressure_bar: Number,
    dynamic_mpas: Number,
    density_kgm3: Number,
    coefficients: tuple[float, float, float],
    fraction: Number = 1.0,
) -> Number:
    """Return the torque lost to shear, dry friction and churning.

    Law
    ---
    T = d (C_v mu w + C_f dp) + C_h x w^2 rho d^(5/3)/2, with d = V/2 pi

    Parameters
    ----------
    displacement_cc : float or array
        Displacement per revolution, above zero [cm3/rev]
    speed_rpm : float or array
        Shaft speed, above zero [rev/min]
    pressure_bar : float or array
        Difference of pressure across the unit [bar]
    dynamic_mpas : float or array
        Dynamic viscosity, above zero [mPa.s]
    density_kgm3 : float or array
        Density, above zero [kg/m3]
    coefficients : tuple of 3 floats
        C_v viscous, C_f dry, C_h hydrodynamic [-]
    fraction : float or array
        Share of full stroke, -1 to 1 [-]

    Returns
    -------
    torque : float or array
        Torque lost [N.m]

    Examples
    --------
    >>> round(torque_loss(107, 2000, 200, dynamic_mpas=27.84, density_kgm3=870, coefficients=(23.5e3, 0.0537, 53.6)), 2)
    32.15

    Source
    ------
    Wilson's and Schlosser's models (from memory). Coefficients of a 107 cm3 variable axial piston unit: Pourmovahed et al. 1992 as
    quoted in public research code.
    """
    require_above(0, displacement_cc=displacement_cc, dynamic_mpas=dynamic_mpas, density_kgm3=density_kgm3)
    require_between(-1, 1, fraction=fraction)
    viscous, dry, churning = coefficients
    radian_m3, turn = displacement_cc * 1e-6 / (2 * np.pi), speed_rpm * np.pi / 30
    shear_and_dry = radian_m3 * (viscous * dynamic_mpas * 1e-3 * turn + dry * pressure_bar * 1e5)
    return plain(shear_and_dry + churning * np.abs(fraction) * turn**2 * density_kgm3 * radian_m3 ** (5 / 3) / 2)


def model_volumetric_efficiency(displacement_cc: Number, speed_rpm: Number, lost_lpm: Number, fraction: Number = 1.0) -> Number:
    """Return the volumetric efficiency of a pump that loses a known flow.

    Law
    ---
    eta_v = 1 - Q_lost/(x V n)

    Parameters
    ----------
    displacement_cc : float or array
        Displacement per revolution, above zero [cm3/rev]
    speed_rpm : float or array
        Shaft speed, above zero [rev/min]
    lost_lpm : float or array
        Leakage and compression together [L/min]
    fraction : float or array
        Share of full stroke, above 0 to 1 [-]

    Returns
    -------
    efficiency : float or array
        Volumetric efficiency [-]

    Examples
    --------
    >>> round(model_volumetric_efficiency(107, speed_rpm=2000, lost_lpm=3.127 + 2.518), 4)
    0.9736

    Source
    ------
    Coefficients of a 107 cm3 variable axial piston unit: Pourmovahed et al. 1992 as quoted in public research code. Figure worked
    out.
    """
    require_above(0, displacement_cc=displacement_cc, speed_rpm=speed_rpm, fraction=fraction)
    return plain(1 - lost_lpm * 1000 / (fraction * displacement_cc * speed_rpm))


def model_hydromechanical_efficiency(displacement_cc: Number, pressure_bar: Number, lost_nm: Number, fraction: Number = 1.0) -> Number:
    """Return the hydromechanical efficiency of a pump that loses a known torque.

    Law
    ---
    eta_hm = 1/(1 + T_lost/T_theoretical)

    Parameters
    ----------
    displacement_cc : float or array
        Displacement per revolution, above zero [cm3/rev]
    pressure_bar : float or array
        Difference of pressure across the unit, above zero [bar]
    lost_nm : float or array
        Torque lost [N.m]
    fraction : float or array
        Share of full stroke, above 0 to 1 [-]

    Returns
    -------
    efficiency : float or array
        Hydromechanical efficiency [-]

    Examples
    --------
    >>> round(model_hydromechanical_efficiency(107, pressure_bar=200, lost_nm=32.16), 4)
    0.9137

    Source
    ------
    Coefficients of a 107 cm3 variable axial piston unit: Pourmovahed et al. 1992 as quoted in public research code. Figure worked
    out.
    """
    require_above(0, displacement_cc=displacement_cc, pressure_bar=pressure_bar, fraction=fraction)
    return plain(1 / (1 + lost_nm * 20 * np.pi / (fraction * displacement_cc * pressure_bar)))

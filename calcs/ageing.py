"""How heat shortens the life of an oil: a rule of thumb, kept as one."""

from __future__ import annotations

import numpy as np

from calcs.fluid import ICE_POINT_K
from calcs.gate import Number, plain, require_above, require_between

GAS_CONSTANT_J_MOLK = 8.314462618  # exact since the SI of 2019
BASE_TEMP_C = 60.0
HALVING_K = 10.0


def relative_life(oil_temp_c: Number, base_temp_c: float = BASE_TEMP_C, halving_k: float = HALVING_K) -> Number:
    """Return the life of an oil at a temperature as a share of its life at the base temperature, never above 1.

    Law
    ---
    life = 2^((T0 - T)/10), at most 1

    Parameters
    ----------
    oil_temp_c : float or array
        Oil temperature in the long run, -40 to 150 [degC]
    base_temp_c : float
        Temperature at which the life counts as 1 [degC]
    halving_k : float
        Warming that halves the life, above zero [K]

    Returns
    -------
    life : float or array
        Share of the life at the base temperature, 1 at or below it [-]

    Examples
    --------
    >>> relative_life(80), relative_life(40)
    (0.25, 1.0)

    Source
    ------
    Rule of thumb (E. C. Fitch, J. Fitch): oxidation doubles for each 10 degC; disputed as too general. Cap and base of 60 degC: ours.
    """
    require_between(-40, 150, oil_temp_c=oil_temp_c)
    require_above(0, halving_k=halving_k)
    return plain(np.minimum(1.0, 2 ** ((base_temp_c - np.asarray(oil_temp_c, dtype=float)) / halving_k)))


def equivalent_age_h(run_h: Number, oil_temp_c: Number, base_temp_c: float = BASE_TEMP_C, halving_k: float = HALVING_K) -> float:
    """Return how old an oil is in hours at the base temperature, after hours at several temperatures.

    Law
    ---
    age = sum of hours/life at their temperature

    Parameters
    ----------
    run_h : float or array
        Hours at each temperature, zero or more [h]
    oil_temp_c : float or array
        Those temperatures, as many, -40 to 150 [degC]
    base_temp_c : float
        Temperature at which an hour counts as an hour [degC]
    halving_k : float
        Warming that halves the life, above zero [K]

    Returns
    -------
    age : float
        Hours at the base temperature that age the oil as much [h]

    Examples
    --------
    100 h at 50 and 50 h at 80 degC:

    >>> equivalent_age_h([100, 50], [50, 80])
    300.0

    Source
    ------
    Linear damage sum over the rule of thumb above; common practice, no source.
    """
    hours = np.asarray(run_h, dtype=float)
    if np.any(hours < 0):
        raise ValueError(f"run_h must not be below zero, got {run_h}")
    return float(np.sum(hours / relative_life(oil_temp_c, base_temp_c, halving_k)))


def activation_energy_kjmol(temp1_c: float, temp2_c: float, rate_ratio: float = 2.0) -> float:
    """Return the activation energy by which a reaction runs faster by a ratio between two temperatures.

    Law
    ---
    E = R ln(ratio)/(1/T1 - 1/T2)

    Parameters
    ----------
    temp1_c : float
        Lower temperature [degC]
    temp2_c : float
        Higher temperature [degC]
    rate_ratio : float
        Rate at the higher over rate at the lower, above zero [-]

    Returns
    -------
    energy : float
        Activation energy [kJ/mol]

    Examples
    --------
    Doubling from 60 to 70 degC:

    >>> round(activation_energy_kjmol(60, 70), 1)
    65.9

    Source
    ------
    Arrhenius law; gas constant of CODATA 2018.
    """
    require_above(0, rate_ratio=rate_ratio)
    require_above(temp1_c, temp2_c=temp2_c)
    inverse = 1 / (temp1_c + ICE_POINT_K) - 1 / (temp2_c + ICE_POINT_K)
    return float(GAS_CONSTANT_J_MOLK * np.log(rate_ratio) / inverse / 1000)

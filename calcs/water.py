"""Water in oil: how much dissolves, how near to the clouding point it is, ppm against per cent."""

from __future__ import annotations

import numpy as np

from calcs.gate import Number, plain, require_above, require_between

SENSOR_ICE_POINT_K = 273.16  # as in the worked example of the sensor makers
PPM_PER_PERCENT = 10_000.0


def solubility_constants(
    water_ppm: float, activity1_share: float, temp1_c: float, activity2_share: float, temp2_c: float
) -> tuple[float, float]:
    """Return the constants of the water solubility of one oil from one sample read at two temperatures.

    Law
    ---
    log S = A/T + B, with S = ppm/aw at each temperature

    Parameters
    ----------
    water_ppm : float
        Water in the sample by titration, above zero [ppm]
    activity1_share : float
        Water activity at the first temperature, above 0 to 1 [-]
    temp1_c : float
        First temperature [degC]
    activity2_share : float
        Water activity at the second temperature, above 0 to 1 [-]
    temp2_c : float
        Second temperature, unlike the first [degC]

    Returns
    -------
    constants : tuple
        A in kelvin and B, logarithms to base 10 [K, -]

    Examples
    --------
    >>> a, b = solubility_constants(213, 0.478, 24.1, 0.188, 57.6)
    >>> round(a, 1), round(b, 3)
    (-1189.5, 6.65)

    Source
    ------
    Worked example in the user guide of a moisture-in-oil sensor, T = degC + 273.16.
    """
    require_above(0, water_ppm=water_ppm, activity1_share=activity1_share, activity2_share=activity2_share)
    require_between(0, 1, activity1_share=activity1_share, activity2_share=activity2_share)
    if temp1_c == temp2_c:
        raise ValueError(f"temp2_c must differ from temp1_c, got {temp2_c}")
    t1, t2 = temp1_c + SENSOR_ICE_POINT_K, temp2_c + SENSOR_ICE_POINT_K
    a = float(np.log10(activity2_share / activity1_share)) / (1 / t1 - 1 / t2)
    return a, float(np.log10(water_ppm / activity1_share)) - a / t1


def saturation_ppm(oil_temp_c: Number, constant_a_k: float, constant_b: float) -> Number:
    """Return how much water an oil dissolves at a temperature; what is above it clouds the oil or settles.

    Law
    ---
    S = 10^(A/T + B)

    Parameters
    ----------
    oil_temp_c : float or array
        Oil temperature, -20 to 120 [degC]
    constant_a_k : float
        Constant A of that oil [K]
    constant_b : float
        Constant B of that oil [-]

    Returns
    -------
    saturation : float or array
        Dissolved water at saturation [ppm]

    Examples
    --------
    >>> round(saturation_ppm(40, constant_a_k=-1189.458, constant_b=6.65036))
    711

    Source
    ------
    User guide of a moisture-in-oil sensor, T = degC + 273.16.
    """
    require_between(-20, 120, oil_temp_c=oil_temp_c)
    return plain(10 ** (constant_a_k / (np.asarray(oil_temp_c) + SENSOR_ICE_POINT_K) + constant_b))


def saturation_share(water_ppm: Number, oil_temp_c: Number, constant_a_k: float, constant_b: float) -> Number:
    """Return how near an oil is to holding all the water it can; above 1 there is free water.

    Law
    ---
    share = ppm/S(T)

    Parameters
    ----------
    water_ppm : float or array
        Water in the oil, zero or more [ppm]
    oil_temp_c : float or array
        Oil temperature, -20 to 120 [degC]
    constant_a_k : float
        Constant A of that oil [K]
    constant_b : float
        Constant B of that oil [-]

    Returns
    -------
    share : float or array
        Water divided by water at saturation [-]

    Examples
    --------
    The sample of the sensor maker at 24.1 degC:

    >>> round(saturation_share(213, 24.1, constant_a_k=-1189.458, constant_b=6.65036), 3)
    0.478

    Source
    ------
    Definition of water activity in oil.
    """
    require_between(0, 1e6, water_ppm=water_ppm)
    return plain(np.asarray(water_ppm) / saturation_ppm(oil_temp_c, constant_a_k, constant_b))


def water_ppm_from_percent(water_percent: Number) -> Number:
    """Return water in parts per million from per cent, so that both ways a laboratory writes it lie on one scale.

    Law
    ---
    ppm = 10,000 %

    Parameters
    ----------
    water_percent : float or array
        Water by mass, 0 to 100 [%]

    Returns
    -------
    water : float or array
        Water [ppm]

    Examples
    --------
    >>> water_ppm_from_percent(0.065)
    650.0

    Source
    ------
    Definition.
    """
    require_between(0, 100, water_percent=water_percent)
    return plain(np.asarray(water_percent) * PPM_PER_PERCENT)

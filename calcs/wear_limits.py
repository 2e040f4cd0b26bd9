"""Which way a quantity wears, and the ratio to the new drive at which a drive counts as worn where no maker's limit is on record."""

from __future__ import annotations

from calcs.quantities import quantity_of

# Reading over new drive, worse up. From memory; shop settings, not facts: a maker's limit on record comes first.
WORN_RATIO = {
    "charge_neutral": 1 / 0.85,
    "charge_neutral_idle": 1 / 0.85,
    "charge_stroked": 1 / 0.85,
    "main_relief": 1 / 0.90,
    "pump_case_flow": 2.5,
    "motor_case_flow": 2.5,
    "total_case_return": 2.5,
    "cross_port_leakage": 2.5,
    "flushing_flow": 1 / 0.5,
    "top_speed": 1 / 0.90,
    "output_speed": 1 / 0.90,
    "stroke_time": 1.5,
    "drain_temp_rise": 1.5,
}


def wears_down(code: str) -> bool:
    """Say whether a quantity falls as the drive wears.

    Parameters
    ----------
    code : str
        Code of the quantity [-]

    Returns
    -------
    falls : bool
        True for charge, relief and speed; False for leakage [-]

    Examples
    --------
    >>> wears_down("main_relief"), wears_down("pump_case_flow")
    (True, False)

    Source
    ------
    Common practice, no source.
    """
    return quantity_of(code).worse == "down" or code == "main_relief"


def worn_ratio(code: str) -> float | None:
    """Return the ratio to the new drive at which it counts as worn, where no maker's limit is on record.

    Parameters
    ----------
    code : str
        Code of the quantity [-]

    Returns
    -------
    ratio : float or None
        Above one; None where no wear is forecast from this quantity [-]

    Examples
    --------
    >>> worn_ratio("pump_case_flow")
    2.5
    >>> worn_ratio("filter_differential") is None
    True

    Source
    ------
    From memory; shop settings, not facts.
    """
    return WORN_RATIO.get(quantity_of(code).code)

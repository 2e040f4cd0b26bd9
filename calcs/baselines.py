"""What a healthy drive should read under the conditions of the test, with tolerance, uncertainty and working."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np

from calcs.drive_spec import Conditions, DriveSpec, Oil
from calcs.healthy import READINGS, HealthyDrive, NotComparable
from calcs.quantities import quantity_of
from calcs.working import Working

__all__ = ["Conditions", "DriveSpec", "Expectation", "NotComparable", "Oil", "expected_at_temperatures", "expected_reading"]

TEST_TEMPS_C = (50.0, 60.0, 70.0, 80.0)
CREEP_ALLOWED_RPM = 1.0  # from memory; a shop setting
DEFAULT_TOLERANCE: dict[str, float] = {  # share of the expected value, from memory; a shop setting
    "charge_neutral": 0.05,
    "charge_neutral_idle": 0.05,
    "charge_stroked": 0.05,
    "main_relief": 0.05,
    "pump_case_flow": 0.5,  # leakage half as much again as new is where a shop looks closer
    "motor_case_flow": 0.5,
    "total_case_return": 0.5,
    "flushing_flow": 0.1,
    "top_speed": 0.03,
    "output_speed": 0.03,
    "stroke_time": 0.2,
    "drain_temp_rise": 0.5,
}
LIMITS = {"case_pressure": "high", "charge_inlet_pressure": "low", "filter_differential": "high"}  # the expected value is a limit
ONE_SIDED = {  # which side of the tolerance can fail
    "charge_stroked": "low",
    "pump_case_flow": "high",
    "motor_case_flow": "high",
    "total_case_return": "high",
    "neutral_creep": "high",
    "drain_temp_rise": "high",
}
NO_OVERRIDE = "Shop tolerance, not a maker's figure"


@dataclass(frozen=True)
class Expectation:
    """What a healthy drive should read; `low` or `high` is None where that side cannot fail, `uncertainty` is a standard one."""

    code: str
    value: float
    unit: str
    low: float | None
    high: float | None
    uncertainty: float
    tolerance_share: float
    by_design: float = 0.0  # part of a drain flow that does not wear
    is_limit: bool = False
    working: list[dict] = field(default_factory=list)


def expected_reading(
    code: str, spec: DriveSpec, oil: Oil | None, conditions: Conditions, tolerance_share: float | None = None
) -> Expectation:
    """Return what a healthy drive should read under the conditions of a test.

    Parameters
    ----------
    code : str
        Code of the quantity [-]
    spec : DriveSpec
        The drive model [-]
    oil : Oil or None
        The oil in the drive; None if unknown [-]
    conditions : Conditions
        Conditions of the test [-]
    tolerance_share : float or None
        Tolerance of the shop as a share of the expected value, zero or more; None for `DEFAULT_TOLERANCE` [-]

    Returns
    -------
    expectation : Expectation
        Value, limits, uncertainty and working; NotComparable if there is no expected value [-]

    Examples
    --------
    A relief set to 400 bar above a charge pressure of 22 bar:

    >>> found = expected_reading("main_relief", DriveSpec(relief_forward_bar=400), None,
    ...                          Conditions(direction="forward", charge_pressure_bar=22))
    >>> found.value, found.low, found.high
    (422.0, 400.9, 443.1)

    Source
    ------
    The laws named in its working; tolerances from memory, a shop setting.
    """
    quantity = quantity_of(code)
    if tolerance_share is not None and tolerance_share < 0:
        raise ValueError(f"tolerance_share must be zero or more, got {tolerance_share}")
    share = DEFAULT_TOLERANCE.get(code, 0.0) if tolerance_share is None else tolerance_share
    paper = Working()
    drive = HealthyDrive(spec, oil, conditions, paper)
    value = reading_as_new(code, drive)
    by_design = drive.flow_by_design(code)
    low, high = limits_around(code, value, share, by_design)
    paper.note("Tolerance as a share of the expected value", share, "-", NO_OVERRIDE)
    uncertainty = expectation_uncertainty(code, spec, oil, conditions)
    return Expectation(code, value, quantity.unit, low, high, uncertainty, share, by_design, code in LIMITS, paper.as_rows())


def reading_as_new(code: str, drive: HealthyDrive) -> Any:
    """Return the bare reading of a new drive.

    Parameters
    ----------
    code : str
        Code of the quantity [-]
    drive : HealthyDrive
        Drive, oil and conditions; conditions may hold arrays [-]

    Returns
    -------
    value : float or array
        Reading; NotComparable if no law gives it [house unit]

    Examples
    --------
    >>> reading_as_new("flushing_flow", HealthyDrive(DriveSpec(flushing_flow_lpm=8), None, Conditions()))
    8.0

    Source
    ------
    The laws of `calcs.healthy`.
    """
    if code not in READINGS:
        raise NotComparable(f"{quantity_of(code).label.lower()} has no calculated value: only a limit on record can judge it")
    try:
        value = READINGS[code](drive)
    except NotComparable:
        raise
    except ValueError as refused:  # a law refused a condition or a figure on record
        raise NotComparable(f"{refused}: no expected value") from refused
    return value if np.ndim(value) else float(value)


def limits_around(code: str, value: float, share: float, by_design: float = 0.0) -> tuple[float | None, float | None]:
    """Return the limits around an expected value; None for a side that cannot fail.

    Parameters
    ----------
    code : str
        Code of the quantity [-]
    value : float
        Expected value [house unit]
    share : float
        Tolerance as a share of it, zero or more [-]
    by_design : float
        Part of a drain flow that is no leakage; it gets the tolerance of a flow, not that of wear [house unit]

    Returns
    -------
    limits : tuple
        Lower and upper limit [house unit]

    Examples
    --------
    >>> limits_around("top_speed", 30.0, 0.1), limits_around("pump_case_flow", 4.0, 0.5)
    ((27.0, 33.0), (None, 6.0))

    Source
    ------
    Common practice, no source.
    """
    if code == "neutral_creep":
        return None, CREEP_ALLOWED_RPM
    if code in LIMITS:
        return (value, None) if LIMITS[code] == "low" else (None, value)
    side = ONE_SIDED.get(code)
    spread = share * (value - by_design) + DEFAULT_TOLERANCE["flushing_flow"] * by_design
    low = None if side == "high" else round(value - spread, 9)
    high = None if side == "low" else round(value + spread, 9)
    return low, high


def expectation_uncertainty(code: str, spec: DriveSpec, oil: Oil | None, conditions: Conditions) -> float:
    """Return how far the expected value may be off because the conditions were only measured.

    Law
    ---
    u(f)^2 = sum of (df/dx u(x))^2 over oil temperature, engine speed, loop and charge pressure

    Parameters
    ----------
    code : str
        Code of the quantity [-]
    spec : DriveSpec
        The drive model [-]
    oil : Oil or None
        The oil in the drive [-]
    conditions : Conditions
        Conditions of the test with their standard uncertainties [-]

    Returns
    -------
    uncertainty : float
        Standard uncertainty [house unit]

    Examples
    --------
    >>> forward = Conditions(direction="forward", charge_pressure_bar=22, charge_pressure_uncertainty_bar=0.3)
    >>> round(expectation_uncertainty("main_relief", DriveSpec(relief_forward_bar=400), None, forward), 6)
    0.3

    Source
    ------
    Guide to the expression of uncertainty in measurement, JCGM 100:2008, equation 10; slopes by difference (5.1.3, note 2).
    """
    if code in LIMITS or code in ("neutral_creep", "flushing_flow", "stroke_time"):
        return 0.0
    moved = moved_conditions(conditions)
    readings = np.atleast_1d(reading_as_new(code, HealthyDrive(spec, oil, moved)))
    if readings.size == 1:  # nothing in the conditions moves this reading
        return 0.0
    radius = spec.rolling_radius_share * readings[0] if code == "top_speed" else 0.0
    steps = np.nan_to_num((readings[1::2] - readings[2::2]) / 2)
    return float(np.sqrt(np.sum(steps**2) + radius**2))


def moved_conditions(conditions: Conditions) -> Conditions:
    """Return conditions as arrays: as measured, then each one up and down by its standard uncertainty.

    Parameters
    ----------
    conditions : Conditions
        Conditions of one test [-]

    Returns
    -------
    moved : Conditions
        The same with arrays of nine in place of the four measured numbers; None stays None [-]

    Examples
    --------
    >>> moved_conditions(Conditions(oil_temp_c=60, oil_temp_uncertainty_k=1)).oil_temp_c
    array([60., 61., 59., 60., 60., 60., 60., 60., 60.])

    Source
    ------
    JCGM 100:2008, 5.1.3, note 2.
    """
    steps = {
        "oil_temp_c": conditions.oil_temp_uncertainty_k,
        "engine_speed_rpm": conditions.engine_speed_share * (conditions.engine_speed_rpm or 0.0),
        "loop_pressure_bar": conditions.loop_pressure_uncertainty_bar,
        "charge_pressure_bar": conditions.charge_pressure_uncertainty_bar,
    }
    moved = {}
    for place, (name, step) in enumerate(steps.items()):
        if getattr(conditions, name) is not None:
            row = np.full(1 + 2 * len(steps), float(getattr(conditions, name)))
            row[1 + 2 * place] += step
            row[2 + 2 * place] -= step
            moved[name] = row
    return replace(conditions, **moved)


def expected_at_temperatures(
    code: str,
    spec: DriveSpec,
    oil: Oil | None,
    conditions: Conditions,
    temps_c: tuple[float, ...] = TEST_TEMPS_C,
    tolerance_share: float | None = None,
) -> list[Expectation]:
    """Return what a healthy drive should read at several oil temperatures, for a sheet that is printed before the test.

    Parameters
    ----------
    code : str
        Code of the quantity [-]
    spec : DriveSpec
        The drive model [-]
    oil : Oil or None
        The oil in the drive; None if unknown [-]
    conditions : Conditions
        Conditions of the test; their own oil temperature is not used [-]
    temps_c : tuple of floats
        Oil temperatures [degC]
    tolerance_share : float or None
        Tolerance of the shop; None for `DEFAULT_TOLERANCE` [-]

    Returns
    -------
    expectations : list
        One expectation for each temperature; NotComparable if there is no expected value [-]

    Examples
    --------
    >>> found = expected_at_temperatures("main_relief", DriveSpec(relief_forward_bar=400), None,
    ...                                  Conditions(direction="forward", charge_pressure_bar=22), temps_c=(50, 80))
    >>> [row.value for row in found]
    [422.0, 422.0]

    Source
    ------
    The laws named in the working of each.
    """
    return [expected_reading(code, spec, oil, replace(conditions, oil_temp_c=temp), tolerance_share) for temp in temps_c]

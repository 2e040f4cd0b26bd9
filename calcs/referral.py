"""A reading brought to standard conditions, so that tests of the same wear agree whatever the oil temperature, pressure and speed."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from calcs.baselines import Expectation, reading_as_new
from calcs.drive_spec import Conditions, DriveSpec, Oil
from calcs.gate import Number, plain, require_above
from calcs.healthy import HealthyDrive, NotComparable
from calcs.leakage import LOWEST_TEST_BAR
from calcs.quantities import quantity_of

STANDARD_TEMP_C = 60.0  # a shop setting; makers ask for 49 to 99 degC
STANDARD_LOOP_BAR = 150.0  # a shop setting
DRAINS = ("pump_case_flow", "motor_case_flow", "total_case_return")


@dataclass(frozen=True)
class Referred:
    """A reading as it would be at standard conditions, beside what the new drive would read there."""

    code: str
    value: float
    expected: float
    unit: str
    conditions: Conditions


def referred_leakage(
    leakage_lpm: Number, pressure_bar: Number, dynamic_mpas: Number, standard_bar: Number, standard_mpas: Number
) -> Number:
    """Return a leakage as it would be read at another pressure and viscosity.

    Law
    ---
    Q_std = Q (dp_std/dp)(mu/mu_std)

    Parameters
    ----------
    leakage_lpm : float or array
        Leakage read, without what flows by design [L/min]
    pressure_bar : float or array
        Pressure above case during the test, above zero [bar]
    dynamic_mpas : float or array
        Dynamic viscosity during the test, above zero [mPa.s]
    standard_bar : float or array
        Pressure above case to refer to, above zero [bar]
    standard_mpas : float or array
        Dynamic viscosity to refer to, above zero [mPa.s]

    Returns
    -------
    leakage : float or array
        Leakage under the other conditions [L/min]

    Examples
    --------
    Half the viscosity lets twice as much through:

    >>> referred_leakage(5.0, pressure_bar=150, dynamic_mpas=20, standard_bar=150, standard_mpas=10)
    10.0

    Source
    ------
    Laminar leakage, Merritt, Hydraulic Control Systems (from memory).
    """
    require_above(0, pressure_bar=pressure_bar, dynamic_mpas=dynamic_mpas, standard_bar=standard_bar, standard_mpas=standard_mpas)
    return plain(leakage_lpm * (standard_bar / pressure_bar) * (dynamic_mpas / standard_mpas))


def standard_conditions(spec: DriveSpec, conditions: Conditions) -> Conditions:
    """Return the conditions to which readings of a drive are referred.

    Parameters
    ----------
    spec : DriveSpec
        The drive model [-]
    conditions : Conditions
        Conditions of the test, whose direction, control position and plumbing are kept [-]

    Returns
    -------
    standard : Conditions
        Standard oil temperature and loop pressure, and the engine speed at which the model's efficiencies hold [-]

    Examples
    --------
    >>> standard_conditions(DriveSpec(efficiency_at_speed_rpm=2200), Conditions(oil_temp_c=80)).oil_temp_c
    60.0

    Source
    ------
    House rule, a shop setting.
    """
    speed = conditions.engine_speed_rpm
    if spec.efficiency_at_speed_rpm is not None:
        speed = spec.efficiency_at_speed_rpm / spec.pump_speed_ratio
    loop = None if conditions.loop_pressure_bar is None else STANDARD_LOOP_BAR
    return replace(conditions, oil_temp_c=STANDARD_TEMP_C, engine_speed_rpm=speed, loop_pressure_bar=loop, case_pressure_bar=None)


def refer_reading(code: str, value: float, spec: DriveSpec, oil: Oil | None, conditions: Conditions) -> Referred:
    """Return a reading as the same drive, equally worn, would show it at standard conditions.

    Parameters
    ----------
    code : str
        Code of the quantity [-]
    value : float
        Reading [house unit]
    spec : DriveSpec
        The drive model [-]
    oil : Oil or None
        The oil in the drive [-]
    conditions : Conditions
        Conditions of the test [-]

    Returns
    -------
    referred : Referred
        Reading and new-drive reading at standard conditions; NotComparable if there is no calculated value [-]

    Examples
    --------
    >>> spec = DriveSpec(relief_forward_bar=400, charge_relief_bar=22)
    >>> refer_reading("main_relief", 418, spec, None, Conditions(direction="forward", charge_pressure_bar=22)).value
    418.0

    Source
    ------
    Drains by the laminar law; stroked charge by the growth of leakage that it shows; the rest by the ratio to the new drive.
    """
    standard = standard_conditions(spec, conditions)
    expected = reading_as_new(code, HealthyDrive(spec, oil, standard))
    if code == "charge_stroked" and spec.charge_rise_bar_per_lpm:
        referred = referred_charge(value, spec, oil, conditions, standard)
    elif code in DRAINS:
        referred = referred_drain(code, value, spec, oil, conditions, standard)
    else:
        referred = value * expected / usable(reading_as_new(code, HealthyDrive(spec, oil, conditions)))
    return Referred(code, float(referred), expected, quantity_of(code).unit, standard)


def usable(expected: float) -> float:
    """Return an expected value that a ratio can be taken to.

    Parameters
    ----------
    expected : float
        Expected value [house unit]

    Returns
    -------
    expected : float
        The same, above zero; NotComparable otherwise [house unit]

    Examples
    --------
    >>> usable(22.0)
    22.0

    Source
    ------
    House rule.
    """
    if not expected > 0:
        raise NotComparable("the expected value is zero, so no ratio to it can be taken")
    return expected


def referred_drain(code: str, value: float, spec: DriveSpec, oil: Oil | None, conditions: Conditions, standard: Conditions) -> float:
    """Return a drain flow at standard conditions; what flows by design is left as it is.

    Parameters
    ----------
    code : str
        Code of the drain flow [-]
    value : float
        Reading [L/min]
    spec : DriveSpec
        The drive model [-]
    oil : Oil or None
        The oil in the drive [-]
    conditions : Conditions
        Conditions of the test; loop pressure 20 bar or more above case [-]
    standard : Conditions
        Conditions to refer to [-]

    Returns
    -------
    flow : float
        Drain flow at standard conditions [L/min]

    Examples
    --------
    >>> warm = Conditions(oil_temp_c=60, loop_pressure_bar=150)
    >>> referred_drain("motor_case_flow", 5.0, DriveSpec(), Oil("VG 46", 46, 6.8), warm, warm)
    5.0

    Source
    ------
    Laminar leakage, Merritt, Hydraulic Control Systems (from memory).
    """
    here, there = HealthyDrive(spec, oil, conditions), HealthyDrive(spec, oil, standard)
    here.refuse_mixed_drain()
    pressure = here.above_case()
    if pressure < LOWEST_TEST_BAR:
        raise NotComparable(f"loop pressure {pressure:g} bar is below {LOWEST_TEST_BAR:g} bar, too low to compare leakage by")
    by_design = here.flow_by_design(code)
    leak = referred_leakage(max(value - by_design, 0.0), pressure, here.dynamic(), there.above_case(), there.dynamic())
    return leak + by_design


def leak_growth_from_charge(stroked_bar: float, spec: DriveSpec, oil: Oil | None, conditions: Conditions) -> float | None:
    """Return how many times as much the loop leaks as when new, from the stroked charge pressure.

    Law
    ---
    growth = (delivery - servo - flushing - overflow)/leakage as new, with overflow = overflow at setting + (p - p_setting)/slope

    Parameters
    ----------
    stroked_bar : float
        Charge pressure read stroked and loaded [bar]
    spec : DriveSpec
        The drive model, with the slope of its charge relief [-]
    oil : Oil or None
        The oil in the drive [-]
    conditions : Conditions
        Conditions of the test [-]

    Returns
    -------
    growth : float or None
        Leakage over leakage as new; None where the charge has collapsed or the relief has no slope on record [-]

    Examples
    --------
    >>> leak_growth_from_charge(20.0, DriveSpec(), None, Conditions()) is None
    True

    Source
    ------
    Conservation of flow in the charge circuit.
    """
    if not spec.charge_rise_bar_per_lpm:
        return None
    drive = HealthyDrive(spec, oil, conditions)
    setting, flushing_lpm = drive.stroked_setting()
    above_setting = stroked_bar - (conditions.case_pressure_bar or 0.0) - setting
    overflow = drive.setting_overflow() + above_setting / spec.charge_rise_bar_per_lpm
    if overflow <= 0:
        return None
    leak_new = sum(drive.loaded_leaks(drive.above_case(), drive.dynamic()))
    leak = drive.charge_delivery() - (spec.servo_flow_lpm or 0.0) - flushing_lpm - overflow
    return float(leak / leak_new)


def referred_charge(value: float, spec: DriveSpec, oil: Oil | None, conditions: Conditions, standard: Conditions) -> float:
    """Return a stroked charge pressure at standard conditions.

    Law
    ---
    p_std = p_new - slope (growth - 1) leakage as new

    Parameters
    ----------
    value : float
        Charge pressure read stroked and loaded [bar]
    spec : DriveSpec
        The drive model, with the slope of its charge relief [-]
    oil : Oil or None
        The oil in the drive [-]
    conditions : Conditions
        Conditions of the test [-]
    standard : Conditions
        Conditions to refer to [-]

    Returns
    -------
    pressure : float
        Charge pressure at standard conditions; NotComparable where the charge had collapsed [bar]

    Examples
    --------
    >>> referred_charge(2.0, DriveSpec(), None, Conditions(), Conditions())
    Traceback (most recent call last):
    calcs.healthy.NotComparable: the charge pressure has collapsed, so it cannot be referred to other conditions

    Source
    ------
    Conservation of flow in the charge circuit.
    """
    growth = leak_growth_from_charge(value, spec, oil, conditions)
    if growth is None:
        raise NotComparable("the charge pressure has collapsed, so it cannot be referred to other conditions")
    drive = HealthyDrive(spec, oil, standard)
    leak_new = sum(drive.loaded_leaks(drive.above_case(), drive.dynamic()))
    return float(drive.charge_stroked() - spec.charge_rise_bar_per_lpm * (growth - 1) * leak_new)


def condition_ratio(code: str, value: Number, expectation: Expectation) -> Number | None:
    """Return how a reading stands to the new drive, 1 as new and worse always up: what a trend is drawn of.

    Law
    ---
    r = reading/expected where up is worse, expected/reading where down is worse; drains without what flows by design

    Parameters
    ----------
    code : str
        Code of the quantity [-]
    value : float or array
        Reading under the conditions of the expectation [house unit]
    expectation : Expectation
        What a healthy drive should read there [-]

    Returns
    -------
    ratio : float or array or None
        Ratio, above zero; None (NaN in arrays) where no ratio can be taken, as for creep [-]

    Examples
    --------
    >>> expected = Expectation("pump_case_flow", 6.0, "L/min", None, 8.2, 0.1, 0.5, by_design=2.0)
    >>> condition_ratio("pump_case_flow", 8.0, expected)
    1.5
    >>> condition_ratio("charge_stroked", 16.0, Expectation("charge_stroked", 20.0, "bar", 19.0, None, 0.1, 0.05))
    1.25

    Source
    ------
    House rule; the condition index of leakage is the ratio of two laminar coefficients.
    """
    expected, read = expectation.value - expectation.by_design, np.asarray(value, dtype=float) - expectation.by_design
    if not expected > 0:
        return None if np.ndim(value) == 0 else np.full(np.shape(value), np.nan)
    falling = quantity_of(code).worse == "down" or code == "main_relief"
    with np.errstate(divide="ignore", invalid="ignore"):
        ratio = np.where(read > 0, expected / read if falling else read / expected, np.nan)
    if np.ndim(value):
        return ratio
    return None if np.isnan(ratio) else float(ratio)

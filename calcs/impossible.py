"""Readings that cannot be true, whatever the wear: they are kept, named, and not judged."""

from __future__ import annotations

from calcs.acceptance import Related
from calcs.drive import ground_speed, motor_speed
from calcs.drive_spec import Conditions, DriveSpec, Oil
from calcs.healthy import HealthyDrive, NotComparable
from calcs.quantities import quantity_of
from calcs.uncertainty import COVERAGE, combined_uncertainty

DELIVERY_SHARE = 0.025  # relative standard uncertainty of a charge flow that was worked out; from memory, a shop setting
CASE_FLOWS = ("pump_case_flow", "motor_case_flow", "total_case_return")
NEVER_BELOW_ZERO = ("flow", "time", "ground speed")


def return_above_delivery(case_return_lpm: float, standard_lpm: float, delivery_lpm: float, delivery_standard_lpm: float) -> str | None:
    """Return why a case flow cannot be, when it is more than the charge pump gives.

    Parameters
    ----------
    case_return_lpm : float
        Flow read in a case drain [L/min]
    standard_lpm : float
        Its standard uncertainty [L/min]
    delivery_lpm : float
        Charge flow [L/min]
    delivery_standard_lpm : float
        Its standard uncertainty [L/min]

    Returns
    -------
    reason : str or None
        One sentence; None if it can be [-]

    Examples
    --------
    >>> return_above_delivery(45, 0.5, 39.6, 1.0)
    'Case flow 45.0 L/min is above the 39.6 L/min that the charge pump gives, which cannot be.'

    Source
    ------
    Conservation of flow in the closed loop; the margin is the expanded uncertainty of the difference, JCGM 100:2008.
    """
    doubt = COVERAGE * combined_uncertainty(standard_lpm, delivery_standard_lpm)
    if case_return_lpm - delivery_lpm <= doubt:
        return None
    return f"Case flow {case_return_lpm:.1f} L/min is above the {delivery_lpm:.1f} L/min that the charge pump gives, which cannot be."


def drains_above_delivery(
    own_lpm: float, standard_lpm: float, other_lpm: float, other_standard_lpm: float, delivery_lpm: float, delivery_standard_lpm: float
) -> str | None:
    """Return why two drains plumbed apart cannot be, when together they carry more than the charge pump gives.

    Law
    ---
    Q_pump drain + Q_motor drain <= Q_charge

    Parameters
    ----------
    own_lpm : float
        Flow read in one drain [L/min]
    standard_lpm : float
        Its standard uncertainty [L/min]
    other_lpm : float
        Flow read in the other drain at the same load [L/min]
    other_standard_lpm : float
        Its standard uncertainty [L/min]
    delivery_lpm : float
        Charge flow [L/min]
    delivery_standard_lpm : float
        Its standard uncertainty [L/min]

    Returns
    -------
    reason : str or None
        One sentence; None if they can be [-]

    Examples
    --------
    >>> drains_above_delivery(38, 0.3, 12, 0.1, 39.6, 1.0)
    'Pump and motor drain together, 50.0 L/min, are above the 39.6 L/min that the charge pump gives, which cannot be: are they plumbed apart?'

    Source
    ------
    Conservation of flow in the closed loop; the margin is the expanded uncertainty of the difference, JCGM 100:2008.
    """
    doubt = COVERAGE * combined_uncertainty(standard_lpm, other_standard_lpm, delivery_standard_lpm)
    together_lpm = own_lpm + other_lpm
    if together_lpm - delivery_lpm <= doubt:
        return None
    read = f"Pump and motor drain together, {together_lpm:.1f} L/min, are above the {delivery_lpm:.1f} L/min that the charge pump gives"
    return f"{read}, which cannot be: are they plumbed apart?"


def speed_above_geometry(code: str, value: float, standard: float, spec: DriveSpec, conditions: Conditions) -> str | None:
    """Return why a speed cannot be, when it is more than the displacements allow without any leakage.

    Parameters
    ----------
    code : str
        Code of the quantity, output_speed or top_speed [-]
    value : float
        Reading [house unit]
    standard : float
        Its standard uncertainty [house unit]
    spec : DriveSpec
        The drive model [-]
    conditions : Conditions
        Conditions of the test [-]

    Returns
    -------
    reason : str or None
        One sentence; None if it can be or the bound is not known [-]

    Examples
    --------
    >>> spec = DriveSpec(pump_displacement_cc=100, motor_displacement_max_cc=160, motor_displacement_min_cc=80)
    >>> speed_above_geometry("output_speed", 3000, 5, spec, Conditions(engine_speed_rpm=2200))
    'Speed 3000 rpm is above the 2750 rpm that pump and motor can reach without any leakage, which cannot be.'

    Source
    ------
    Conservation of flow in the closed loop, no leakage.
    """
    bound = lossless_speed(code, spec, conditions)
    if bound is None:
        return None
    shares = conditions.engine_speed_share, spec.rolling_radius_share if code == "top_speed" else 0.0
    doubt = COVERAGE * combined_uncertainty(standard, *(share * bound for share in shares))
    if value - bound <= doubt:
        return None
    unit = quantity_of(code).unit
    return f"Speed {value:g} {unit} is above the {bound:.4g} {unit} that pump and motor can reach without any leakage, which cannot be."


def lossless_speed(code: str, spec: DriveSpec, conditions: Conditions) -> float | None:
    """Return the highest speed that the geometry allows.

    Parameters
    ----------
    code : str
        Code of the quantity, output_speed or top_speed [-]
    spec : DriveSpec
        The drive model [-]
    conditions : Conditions
        Conditions of the test [-]

    Returns
    -------
    bound : float or None
        Speed of the motor shaft in rpm or of the machine in km/h; None if a figure is missing [house unit]

    Examples
    --------
    >>> lossless_speed("output_speed", DriveSpec(), Conditions()) is None
    True

    Source
    ------
    Conservation of flow in the closed loop, no leakage.
    """
    smallest = spec.motor_displacement_min_cc or spec.motor_displacement_max_cc
    if None in (smallest, spec.pump_displacement_cc, conditions.engine_speed_rpm):
        return None
    pump_speed = conditions.engine_speed_rpm * spec.pump_speed_ratio
    shaft = motor_speed(1.0, spec.pump_displacement_cc, pump_speed, smallest, 0.0, spec.motors_per_pump)
    if code == "output_speed":
        return shaft
    if None in (spec.final_ratio, spec.rolling_radius_m):
        return None
    return ground_speed(shaft, spec.final_ratio, spec.rolling_radius_m)


def relief_below_loop(relief_bar: float, standard_bar: float, loop_bar: float) -> str | None:
    """Return why a relief reading cannot be, when the same loop has carried more without the relief opening.

    Parameters
    ----------
    relief_bar : float
        Reading of the main relief [bar]
    standard_bar : float
        Its standard uncertainty [bar]
    loop_bar : float
        Highest loop pressure of the same direction in the same test [bar]

    Returns
    -------
    reason : str or None
        One sentence; None if it can be [-]

    Examples
    --------
    >>> relief_below_loop(310, 3, 380)
    'Relief reading 310 bar is below the 380 bar that the same loop carried, which cannot be.'

    Source
    ------
    A relief that opens at a pressure keeps the loop from passing it; common practice, no source.
    """
    if loop_bar - relief_bar <= COVERAGE * 2**0.5 * standard_bar:
        return None
    return f"Relief reading {relief_bar:.0f} bar is below the {loop_bar:.0f} bar that the same loop carried, which cannot be."


def code_rises(code4: int | None, code6: int | None, code14: int | None) -> str | None:
    """Return why a cleanliness code cannot be, when a number rises with the size of the particles.

    Parameters
    ----------
    code4 : int or None
        Scale number for 4 um and larger; None if not given [-]
    code6 : int or None
        Scale number for 6 um and larger; None if not given [-]
    code14 : int or None
        Scale number for 14 um and larger; None if not given [-]

    Returns
    -------
    reason : str or None
        One sentence; None if it can be [-]

    Examples
    --------
    >>> code_rises(19, 16, 18)
    'Cleanliness code 19/16/18 rises with the size of the particles, which cannot be.'
    >>> code_rises(None, 16, 13) is None
    True

    Source
    ------
    ISO 4406: each number counts all particles of its size and larger.
    """
    given = [code for code in (code4, code6, code14) if code is not None]
    if given == sorted(given, reverse=True):
        return None
    shown = "/".join("-" if code is None else str(code) for code in (code4, code6, code14))
    return f"Cleanliness code {shown} rises with the size of the particles, which cannot be."


def charge_delivery_of(spec: DriveSpec, oil: Oil | None, conditions: Conditions, related: Related) -> float | None:
    """Return the charge flow: as measured, else as worked out.

    Parameters
    ----------
    spec : DriveSpec
        The drive model [-]
    oil : Oil or None
        The oil in the drive [-]
    conditions : Conditions
        Conditions of the test [-]
    related : Related
        Other readings of the same test [-]

    Returns
    -------
    delivery : float or None
        Charge flow; None if neither is known [L/min]

    Examples
    --------
    >>> charge_delivery_of(DriveSpec(), None, Conditions(), Related(charge_delivery_lpm=39.6))
    39.6

    Source
    ------
    Law of `calcs.charge`.
    """
    if related.charge_delivery_lpm is not None:
        return related.charge_delivery_lpm
    try:
        return HealthyDrive(spec, oil, conditions).charge_delivery()
    except NotComparable:
        return None


def impossible_because(
    code: str, value: float, standard: float, spec: DriveSpec, oil: Oil | None, conditions: Conditions, related: Related
) -> str | None:
    """Return why a reading cannot be true.

    Parameters
    ----------
    code : str
        Code of the quantity [-]
    value : float
        Reading [house unit]
    standard : float
        Its standard uncertainty [house unit]
    spec : DriveSpec
        The drive model [-]
    oil : Oil or None
        The oil in the drive [-]
    conditions : Conditions
        Conditions of the test [-]
    related : Related
        Other readings of the same test [-]

    Returns
    -------
    reason : str or None
        One sentence; None if nothing speaks against it [-]

    Examples
    --------
    >>> impossible_because("pump_case_flow", -1.0, 0.1, DriveSpec(), None, Conditions(), Related())
    'Pump case drain flow cannot be below zero.'

    Source
    ------
    The checks of this file.
    """
    quantity = quantity_of(code)
    if value < 0 and (quantity.kind in NEVER_BELOW_ZERO or code == "charge_inlet_pressure"):
        return f"{quantity.label} cannot be below zero."
    if code in CASE_FLOWS:
        return case_flow_impossible(code, value, standard, charge_delivery_of(spec, oil, conditions, related), related)
    if code in ("output_speed", "top_speed"):
        return speed_above_geometry(code, value, standard, spec, conditions)
    if code == "main_relief" and related.highest_loop_bar is not None:
        return relief_below_loop(value, standard, related.highest_loop_bar)
    return None


def case_flow_impossible(code: str, value: float, standard: float, delivery_lpm: float | None, related: Related) -> str | None:
    """Return why a case flow cannot be true, alone or together with the drain of the other unit.

    Parameters
    ----------
    code : str
        Code of the quantity, one of `CASE_FLOWS` [-]
    value : float
        Reading [L/min]
    standard : float
        Its standard uncertainty [L/min]
    delivery_lpm : float or None
        Charge flow; None if not known, and then nothing is said [L/min]
    related : Related
        Other readings of the same test [-]

    Returns
    -------
    reason : str or None
        One sentence; None if nothing speaks against it [-]

    Examples
    --------
    >>> case_flow_impossible("pump_case_flow", 30.0, 0.3, 39.6, Related(other_case_lpm=8.0)) is None
    True

    Source
    ------
    Conservation of flow in the closed loop.
    """
    if delivery_lpm is None:
        return None
    alone = return_above_delivery(value, standard, delivery_lpm, DELIVERY_SHARE * delivery_lpm)
    if alone or related.other_case_lpm is None or code == "total_case_return":
        return alone
    return drains_above_delivery(
        value, standard, related.other_case_lpm, related.other_case_uncertainty_lpm, delivery_lpm, DELIVERY_SHARE * delivery_lpm
    )

"""Conversion at the gate: what a person reads off a gauge becomes bar, L/min, degC, km/h, cm3, and back."""

from __future__ import annotations

from typing import NamedTuple

from calcs.gate import Number, plain, require_between

POUND_FORCE_N = 0.45359237 * 9.80665  # international pound, standard gravity
INCH_M = 0.0254
GALLON_L = 231 * 16.387064 / 1000  # US liquid gallon of 231 cubic inches
PSI_BAR = POUND_FORCE_N / INCH_M**2 / 1e5
MERCURY_INCH_BAR = 25.4 * 133.322387415 / 1e5  # conventional millimetre of mercury, ISO 80000-4
FAHRENHEIT_K = 5 / 9
STANDARD_ATMOSPHERE_BAR = 1.01325
DIFFERENCE = "temperature difference"


class Unit(NamedTuple):
    """A unit a person may type: what it measures, the house unit, and house = typed x factor + offset."""

    kind: str
    house: str
    factor: float
    offset: float = 0.0


UNITS: dict[str, Unit] = {  # exact definitions: NIST SP 811 (2008), appendix B
    "bar": Unit("pressure", "bar", 1.0),
    "psi": Unit("pressure", "bar", PSI_BAR),
    "kPa": Unit("pressure", "bar", 0.01),
    "MPa": Unit("pressure", "bar", 10.0),
    "kgf/cm2": Unit("pressure", "bar", 0.980665),
    "inHg": Unit("pressure", "bar", MERCURY_INCH_BAR),
    "L/min": Unit("flow", "L/min", 1.0),
    "gpm": Unit("flow", "L/min", GALLON_L),
    "degC": Unit("temperature", "degC", 1.0),
    "degF": Unit("temperature", "degC", FAHRENHEIT_K, -32 * FAHRENHEIT_K),
    "K": Unit("temperature", "degC", 1.0, -273.15),
    "km/h": Unit("ground speed", "km/h", 1.0),
    "mph": Unit("ground speed", "km/h", 1.609344),
    "cm3": Unit("displacement", "cm3", 1.0),
    "in3": Unit("displacement", "cm3", 16.387064),
    "kW": Unit("power", "kW", 1.0),
    "hp": Unit("power", "kW", 550 * 12 * INCH_M * POUND_FORCE_N / 1000),
    "N.m": Unit("torque", "N.m", 1.0),
    "lbf.ft": Unit("torque", "N.m", 12 * INCH_M * POUND_FORCE_N),
    "lbf.in": Unit("torque", "N.m", INCH_M * POUND_FORCE_N),
    "N": Unit("force", "N", 1.0),
    "lbf": Unit("force", "N", POUND_FORCE_N),
    "L": Unit("volume", "L", 1.0),
    "qt": Unit("volume", "L", GALLON_L / 4),
    "gal": Unit("volume", "L", GALLON_L),
    "m": Unit("length", "m", 1.0),
    "mm": Unit("length", "m", 0.001),
    "in": Unit("length", "m", INCH_M),
    "rpm": Unit("speed", "rpm", 1.0),
    "s": Unit("time", "s", 1.0),
    "min": Unit("time", "s", 60.0),
    "h": Unit("hours", "h", 1.0),
    "mm2/s": Unit("viscosity", "mm2/s", 1.0),
}
DIFFERENCE_UNITS = {"K": 1.0, "degC": 1.0, "degF": FAHRENHEIT_K}
OTHER_SPELLINGS = {
    "l/min": "L/min", "lpm": "L/min", "LPM": "L/min", "GPM": "gpm", "PSI": "psi", "Bar": "bar", "BAR": "bar", "kpa": "kPa", "mpa": "MPa",
    "°C": "degC", "C": "degC", "°F": "degF", "F": "degF", "kmh": "km/h", "kph": "km/h", "MPH": "mph", "RPM": "rpm", "r/min": "rpm",
    "1/min": "rpm", "kp/cm2": "kgf/cm2", "kg/cm2": "kgf/cm2", "kgf/cm²": "kgf/cm2", "cm³": "cm3", "cc": "cm3", "cm3/rev": "cm3",
    "in³": "in3", "in3/rev": "in3", "cu in": "in3", "Nm": "N.m", "lb.ft": "lbf.ft", "lb.in": "lbf.in", "l": "L", "cSt": "mm2/s",
    "mm²/s": "mm2/s", "HP": "hp", "kw": "kW", "sec": "s", "hr": "h",
}  # fmt: skip


def unit_named(text: str) -> str:
    """Return the unit that a text means, in the spelling of the table.

    Parameters
    ----------
    text : str
        Unit as typed or as it stands in the head of a column [-]

    Returns
    -------
    unit : str
        The same unit as a key of `UNITS`; ValueError if it is none we know [-]

    Examples
    --------
    >>> unit_named(" l/min ")
    'L/min'

    Source
    ------
    Common spellings, no source.
    """
    unit = OTHER_SPELLINGS.get(text.strip(), text.strip())
    if unit not in UNITS:
        raise ValueError(f"unit must be one of {', '.join(UNITS)}, got {text!r}")
    return unit


def step_of(unit: str, kind: str) -> tuple[float, float]:
    """Return factor and offset from a unit to the house unit.

    Parameters
    ----------
    unit : str
        Unit as typed [-]
    kind : str
        What is measured; for a temperature difference degrees carry no offset; empty for the unit's own kind [-]

    Returns
    -------
    step : tuple
        Factor and offset: house = typed x factor + offset [-]

    Examples
    --------
    >>> step_of("kPa", "")
    (0.01, 0.0)

    Source
    ------
    NIST Special Publication 811, 2008 edition, appendix B.
    """
    unit = unit_named(unit)
    if kind == DIFFERENCE and unit in DIFFERENCE_UNITS:
        return DIFFERENCE_UNITS[unit], 0.0
    found = UNITS[unit]
    if kind and found.kind != kind:
        raise ValueError(f"unit must be one for {kind} ({', '.join(units_for(kind))}), got {unit!r}")
    return found.factor, found.offset


def to_house(value: Number, unit: str, kind: str = "") -> Number:
    """Return a figure in the house unit of what it measures.

    Law
    ---
    house = typed x factor + offset

    Parameters
    ----------
    value : float or array
        Figure as typed [as typed]
    unit : str
        Unit as typed, a key of `UNITS` or another spelling of it [-]
    kind : str
        What is measured, to refuse a unit of something else; `temperature difference` drops the offset of degrees [-]

    Returns
    -------
    value : float or array
        The same in the house unit [house unit]

    Examples
    --------
    >>> round(to_house(3000, "psi"), 3)
    206.843
    >>> to_house(9, "degF", kind="temperature difference")
    5.0

    Source
    ------
    NIST Special Publication 811, 2008 edition, appendix B.
    """
    factor, offset = step_of(unit, kind)
    return plain(value * factor + offset)


def from_house(value: Number, unit: str, kind: str = "") -> Number:
    """Return a figure in the unit a person wants to see.

    Law
    ---
    shown = (house - offset)/factor

    Parameters
    ----------
    value : float or array
        Figure in the house unit [house unit]
    unit : str
        Unit wanted [-]
    kind : str
        What is measured; `temperature difference` drops the offset of degrees [-]

    Returns
    -------
    value : float or array
        The same in the wanted unit [as wanted]

    Examples
    --------
    >>> round(from_house(100, "degF"), 9)
    212.0

    Source
    ------
    NIST Special Publication 811, 2008 edition, appendix B.
    """
    factor, offset = step_of(unit, kind)
    return plain((value - offset) / factor)


def units_for(kind: str) -> tuple[str, ...]:
    """Return the units in which something may be typed, the house unit first.

    Parameters
    ----------
    kind : str
        What is measured, such as pressure or flow [-]

    Returns
    -------
    units : tuple
        Unit texts; empty if nothing of that kind is known [-]

    Examples
    --------
    >>> units_for("flow")
    ('L/min', 'gpm')

    Source
    ------
    Our own table.
    """
    if kind == DIFFERENCE:
        return tuple(DIFFERENCE_UNITS)
    return tuple(text for text, unit in UNITS.items() if unit.kind == kind)


def absolute_from_vacuum(vacuum_bar: Number, barometer_bar: Number = STANDARD_ATMOSPHERE_BAR) -> Number:
    """Return the absolute pressure at a port where a gauge shows vacuum.

    Law
    ---
    p_abs = p_barometer - vacuum

    Parameters
    ----------
    vacuum_bar : float or array
        Vacuum shown, zero or more, not above the barometer [bar]
    barometer_bar : float or array
        Pressure of the air on the day, 0.5 to 1.1 [bar]

    Returns
    -------
    pressure : float or array
        Absolute pressure [bar]

    Examples
    --------
    Ten inches of mercury at sea level:

    >>> round(absolute_from_vacuum(to_house(10, "inHg")) * 100, 1)
    67.5

    Source
    ------
    Definition; the limit of 10 inHg stands in US Army TM 5-3895-346-14.
    """
    require_between(0.5, 1.1, barometer_bar=barometer_bar)
    pressure = barometer_bar - vacuum_bar
    require_between(0, 2, vacuum_bar=vacuum_bar)
    require_between(0, 1.1, pressure_bar=pressure)
    return plain(pressure)

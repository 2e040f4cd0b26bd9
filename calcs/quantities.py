"""What can be measured on a drive: name, unit, which way is worse, on which scale it wears, and what is plausible."""

from __future__ import annotations

from dataclasses import dataclass

from calcs.units import from_house, to_house, units_for


@dataclass(frozen=True)
class Quantity:
    """One thing measured on a drive; `plausible_low` and `plausible_high` are in the house unit and only raise a question."""

    code: str
    label: str
    kind: str
    unit: str
    worse: str  # up, down or either
    scale: str  # cuberoot where the figure goes with a gap cubed, log elsewhere
    directional: bool
    plausible_low: float
    plausible_high: float


def by_code(*rows: tuple) -> dict[str, Quantity]:
    """Return rows of the table as quantities by their code.

    Parameters
    ----------
    *rows : tuple
        Fields of one quantity each, in the order of `Quantity` [-]

    Returns
    -------
    quantities : dict
        Quantity by code, in the order given [-]

    Examples
    --------
    >>> by_code(("x", "X", "flow", "L/min", "up", "log", False, 0, 1))["x"].unit
    'L/min'

    Source
    ------
    House rule.
    """
    return {row[0]: Quantity(*row) for row in rows}


QUANTITIES: dict[str, Quantity] = by_code(  # plausible spans: common practice, no source
    ("charge_neutral", "Charge pressure, neutral, high idle", "pressure", "bar", "down", "log", False, 3, 45),
    ("charge_neutral_idle", "Charge pressure, neutral, low idle", "pressure", "bar", "down", "log", False, 2, 45),
    ("charge_stroked", "Charge pressure, stroked and loaded", "pressure", "bar", "down", "log", True, 0, 45),
    ("main_relief", "Main relief pressure", "pressure", "bar", "either", "log", True, 60, 600),
    ("pump_case_flow", "Pump case drain flow", "flow", "L/min", "up", "cuberoot", False, 0, 60),
    ("motor_case_flow", "Motor case drain flow", "flow", "L/min", "up", "cuberoot", False, 0, 60),
    ("total_case_return", "Case return flow, all units together", "flow", "L/min", "up", "cuberoot", False, 0, 120),
    ("case_pressure", "Case pressure", "pressure", "bar", "up", "log", False, 0, 4),
    ("charge_inlet_pressure", "Charge pump inlet pressure, absolute", "pressure", "bar", "down", "log", False, 0.05, 2),
    ("flushing_flow", "Loop flushing flow", "flow", "L/min", "down", "log", False, 0, 60),
    ("top_speed", "Top speed, no load", "ground speed", "km/h", "down", "log", True, 1, 80),
    ("output_speed", "Motor shaft speed, no load", "speed", "rpm", "down", "log", True, 5, 6000),
    ("neutral_creep", "Creep in neutral, motor shaft", "speed", "rpm", "up", "log", True, 0, 100),
    ("stroke_time", "Time from neutral to full stroke", "time", "s", "either", "log", True, 0.1, 15),
    ("filter_differential", "Charge filter pressure difference", "pressure", "bar", "up", "log", False, 0, 5),
    ("loop_pressure", "Loop pressure while working", "pressure", "bar", "either", "log", True, 5, 600),
    ("cross_port_leakage", "Leakage across a blocked motor", "flow", "L/min", "up", "cuberoot", False, 0, 60),
    ("drain_temp_rise", "Temperature rise, inlet to case drain", "temperature difference", "K", "up", "log", False, 0, 60),
)


def quantity_of(code: str) -> Quantity:
    """Return the quantity with a code.

    Parameters
    ----------
    code : str
        Code of the quantity; must be in `QUANTITIES` [-]

    Returns
    -------
    quantity : Quantity
        Its row of the table [-]

    Examples
    --------
    >>> quantity_of("top_speed").unit
    'km/h'

    Source
    ------
    Our own table.
    """
    if code not in QUANTITIES:
        raise ValueError(f"code must be one of {', '.join(QUANTITIES)}, got {code!r}")
    return QUANTITIES[code]


def is_plausible(code: str, value: float) -> bool:
    """Say whether a figure is one that such a drive can show, sick or well.

    Parameters
    ----------
    code : str
        Code of the quantity [-]
    value : float
        Figure [house unit]

    Returns
    -------
    plausible : bool
        True inside the plausible span [-]

    Examples
    --------
    >>> is_plausible("charge_neutral", 3000)
    False

    Source
    ------
    Spans of the table: common practice, no source.
    """
    quantity = quantity_of(code)
    return quantity.plausible_low <= value <= quantity.plausible_high


def unit_question(code: str, value: float, unit: str) -> str | None:
    """Return a question when a typed figure looks like one in another unit.

    Parameters
    ----------
    code : str
        Code of the quantity [-]
    value : float
        Figure as typed [as typed]
    unit : str
        Unit as typed [-]

    Returns
    -------
    question : str or None
        One sentence to put at the field; None if the figure is plausible as typed [-]

    Examples
    --------
    >>> unit_question("main_relief", 5800, "bar")
    '5800 bar is outside 60 to 600 bar: was it read in psi?'
    >>> unit_question("main_relief", 410, "bar") is None
    True

    Source
    ------
    Spans of the table: common practice, no source.
    """
    quantity = quantity_of(code)
    if is_plausible(code, to_house(value, unit, quantity.kind)):
        return None
    low, high = (from_house(limit, unit, quantity.kind) for limit in (quantity.plausible_low, quantity.plausible_high))
    others = [
        other
        for other in units_for(quantity.kind)
        if other not in (unit, "inHg") and is_plausible(code, to_house(value, other, quantity.kind))  # no gauge but a vacuum gauge has inHg
    ]
    asked = f"was it read in {' or '.join(others)}?" if others else "please check the figure."
    return f"{value:g} {unit} is outside {low:.3g} to {high:.3g} {unit}: {asked}"

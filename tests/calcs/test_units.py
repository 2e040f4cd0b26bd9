"""The gate: exact constants, round trips, and pint as the second opinion."""

import math

import numpy as np
import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from calcs.units import DIFFERENCE, UNITS, absolute_from_vacuum, from_house, to_house, unit_named, units_for
from tests.golden import golden

PINT = pint.UnitRegistry()
IN_PINT = {
    "psi": "psi",
    "kPa": "kPa",
    "MPa": "MPa",
    "kgf/cm2": "kgf/cm**2",
    "inHg": "inHg",
    "gpm": "gallon/minute",
    "degF": "degF",
    "K": "kelvin",
    "mph": "mile/hour",
    "in3": "inch**3",
    "hp": "horsepower",
    "lbf.ft": "lbf*ft",
    "lbf.in": "lbf*inch",
    "lbf": "lbf",
    "qt": "quart",
    "gal": "gallon",
    "mm": "mm",
    "in": "inch",
    "min": "minute",
}
HOUSE_IN_PINT = {
    "bar": "bar",
    "L/min": "liter/minute",
    "degC": "degC",
    "km/h": "km/hour",
    "cm3": "cm**3",
    "kW": "kW",
    "N.m": "N*m",
    "N": "N",
    "L": "liter",
    "m": "m",
    "s": "s",
}


@pytest.mark.parametrize("unit", sorted(IN_PINT))
def test_each_unit_agrees_with_pint(unit):
    asked = PINT.Quantity(123.4, IN_PINT[unit]).to(HOUSE_IN_PINT[UNITS[unit].house]).magnitude
    assert to_house(123.4, unit) == pytest.approx(asked, rel=1e-9)  # pint keeps some constants to ten figures


@given(st.sampled_from(sorted(UNITS)), st.floats(-1e6, 1e6))
def test_a_figure_comes_back_as_it_was_typed(unit, value):
    assert from_house(to_house(value, unit), unit) == pytest.approx(value, rel=1e-12, abs=1e-9)


@given(st.sampled_from(["degF", "degC", "K"]), st.floats(-500, 500))
def test_a_temperature_difference_carries_no_offset(unit, value):
    there = to_house(value, unit, DIFFERENCE)
    assert from_house(there, unit, DIFFERENCE) == pytest.approx(value, rel=1e-12, abs=1e-12)
    assert to_house(0.0, unit, DIFFERENCE) == 0.0


@pytest.mark.parametrize(
    ("number", "value"),
    [
        ("P01", lambda: absolute_from_vacuum(to_house(10, "inHg")) * 100),
        ("P02", lambda: to_house(130, "psi")),
        ("P04", lambda: to_house(40, "psi")),
        ("P05", lambda: from_house(to_house(8, "kgf/cm2"), "psi")),
        ("P06", lambda: to_house(0.25, "gpm") * 4),
        ("G12", lambda: to_house(1.0, "hp") * 600 / (to_house(1.0, "psi") * to_house(1.0, "gpm"))),
    ],
)
def test_published_conversions(number, value):
    assert golden(number).close(value()), golden(number).source


def test_exact_definitions():
    """NIST SP 811: 1 in = 25.4 mm, 1 US gal = 231 in3, 1 psi = 6894.757 Pa, 1 hp = 745.69987 W, 1 lbf.in = 0.112984829 N.m."""
    assert to_house(1, "in") == 0.0254
    assert to_house(1, "gal") == pytest.approx(3.785411784, rel=1e-15)
    assert to_house(1, "psi") * 1e5 == pytest.approx(6894.757293168, rel=1e-12)
    assert to_house(1, "hp") * 1000 == pytest.approx(745.69987158227, rel=1e-12)
    assert to_house(1, "lbf.in") == pytest.approx(0.1129848290276, rel=1e-12)
    assert to_house(212, "degF") == pytest.approx(100, rel=1e-14)
    assert to_house(1, "inHg") * 1e5 == pytest.approx(3386.389, rel=1e-6)
    assert to_house(1, "h") == 1 and to_house(1, "min") == 60


def test_arrays_go_through_like_single_numbers():
    assert to_house(np.array([0.0, 32.0]), "degF").tolist() == pytest.approx([-17.7777777778, 0.0])


def test_a_unit_of_something_else_is_refused():
    with pytest.raises(ValueError, match="unit must be one for pressure .*got 'gpm'"):
        to_house(1, "gpm", "pressure")
    with pytest.raises(ValueError, match="got 'furlong'"):
        to_house(1, "furlong")
    assert units_for("ghost") == ()


def test_each_kind_names_its_house_unit_first():
    for unit in UNITS.values():
        assert units_for(unit.kind)[0] == unit.house
    assert units_for(DIFFERENCE)[0] == "K"


def test_other_spellings_are_understood():
    assert [unit_named(text) for text in ("l/min", "PSI", "°C", "Nm", "cm³", " bar ")] == ["L/min", "psi", "degC", "N.m", "cm3", "bar"]


def test_vacuum_beyond_the_barometer_is_refused():
    assert absolute_from_vacuum(0.0) == 1.01325
    assert absolute_from_vacuum(0.5, barometer_bar=0.9) == pytest.approx(0.4)
    with pytest.raises(ValueError, match="pressure_bar"):
        absolute_from_vacuum(1.2)
    with pytest.raises(ValueError, match="barometer_bar"):
        absolute_from_vacuum(0.2, barometer_bar=10)
    assert math.isclose(absolute_from_vacuum(np.array([0.1]))[0], 0.91325)

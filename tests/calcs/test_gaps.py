"""Leakage of single gaps against numeric integrals of the film."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad

from calcs.gaps import piston_leakage, slipper_leakage, slot_flow, valve_plate_leakage
from tests.golden import golden


def test_slot_flow_of_one_metre_width():
    assert golden("L01").close(slot_flow(20, 1000, 10, 100, 20) / 60000)


def test_slot_flow_is_the_integral_of_the_velocity_profile():
    gap, mu, gradient, wall = 20e-6, 0.02, 100e5 / 0.01, 0.5
    profile = lambda y: gradient * y * (gap - y) / (2 * mu) + wall * y / gap  # noqa: E731
    flow = quad(profile, 0, gap)[0] * 0.3 * 60000
    assert slot_flow(20, 300, 10, 100, 20, wall_speed_mps=0.5) == pytest.approx(flow, rel=1e-9)


@pytest.mark.parametrize(("number", "eccentricity"), [("L02", 0), ("L03", 1)])
def test_piston_leakage_as_worked_out(number, eccentricity):
    assert golden(number).close(piston_leakage(20, 15, 35, 300, 20, eccentricity))


@given(st.floats(0, 1))
def test_an_off_centre_piston_leaks_as_the_integral_round_its_circumference_says(eccentricity):
    around = quad(lambda turn: (1 + eccentricity * np.cos(turn)) ** 3, 0, 2 * np.pi)[0] / (2 * np.pi)
    assert piston_leakage(20, 15, 35, 300, 20, eccentricity) == pytest.approx(piston_leakage(20, 15, 35, 300, 20) * around, rel=1e-9)


def test_slipper_land_is_a_row_of_rings():
    rings = quad(lambda r: 6 * 20e-3 / (np.pi * (15e-6) ** 3 * r), 8.5, 12.5)[0]
    assert slipper_leakage(15, 12.5, 8.5, 285, 20) == pytest.approx(285e5 / rings * 60000, rel=1e-9)


def test_valve_plate_lands_are_part_of_a_full_ring():
    whole = valve_plate_leakage(10, 360, (30, 34, 42, 46), 300, 20)
    inner, outer = slipper_leakage(10, 34, 30, 300, 20), slipper_leakage(10, 46, 42, 300, 20)
    assert whole == pytest.approx(inner + outer, rel=1e-12)
    assert valve_plate_leakage(10, 90, (30, 34, 42, 46), 300, 20) == pytest.approx(whole / 4)


@given(st.floats(0.5, 2), st.floats(0.5, 2))
def test_every_gap_goes_with_its_cube_and_against_viscosity(wider, thicker):
    for law in (
        lambda h, mu: slot_flow(h, 10, 10, 100, mu),
        lambda h, mu: piston_leakage(20, h, 35, 300, mu, 0.4),
        lambda h, mu: slipper_leakage(h, 12.5, 8.5, 285, mu),
        lambda h, mu: valve_plate_leakage(h, 120, (30, 34, 42, 46), 300, mu),
    ):
        assert law(20 * wider, 20 * thicker) == pytest.approx(law(20, 20) * wider**3 / thicker)


def test_what_is_out_of_range_is_refused_by_name():
    with pytest.raises(ValueError, match="eccentricity must be from 0 to 1, got 1.2"):
        piston_leakage(20, 15, 35, 300, 20, 1.2)
    with pytest.raises(ValueError, match="outer_mm must be above inner_mm"):
        slipper_leakage(15, 8, 8.5, 285, 20)
    with pytest.raises(ValueError, match="radii_mm"):
        valve_plate_leakage(10, 90, (30, 29, 42, 46), 300, 20)
    with pytest.raises(ValueError, match="dynamic_mpas must be above 0, got 0"):
        slot_flow(20, 10, 10, 100, 0)
    with pytest.raises(ValueError, match="sector_deg"):
        valve_plate_leakage(10, 400, (30, 34, 42, 46), 300, 20)
    with pytest.raises(ValueError, match="inner_mm"):
        slipper_leakage(15, 12, 0, 285, 20)
    with pytest.raises(ValueError, match="film_um"):
        slipper_leakage(-1, 12, 8, 285, 20)
    with pytest.raises(ValueError, match="gap_um"):
        slot_flow(-1, 10, 10, 100, 20)

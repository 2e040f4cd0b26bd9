"""Geometry of the piston unit against textbook examples, ball-joint coordinates and its own symmetry."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from calcs.piston_unit import (
    bent_axis_angle,
    bent_axis_displacement,
    bent_axis_fraction,
    hydraulic_power,
    motor_speed_lossless,
    shaft_power,
    swash_angle,
    swash_displacement,
    swash_fraction,
    swash_stroke,
    theoretical_flow,
    theoretical_torque,
    unit_corner_power,
)
from calcs.units import from_house, to_house
from tests.golden import golden

G01 = {"pistons": 9, "bore_mm": 15, "pitch_mm": 125}


@pytest.mark.parametrize(
    ("number", "value"),
    [
        ("G01", lambda: swash_displacement(**G01, swash_deg=10)),
        ("G02", lambda: theoretical_flow(swash_displacement(**G01, swash_deg=10), 1000) * 0.94 / 60),
        ("G05", lambda: motor_speed_lossless(to_house(10, "gpm"), to_house(5, "in3"))),
        ("G06", lambda: from_house(theoretical_torque(to_house(5, "in3"), to_house(1000, "psi")), "lbf.in")),
        ("G07", lambda: from_house(hydraulic_power(to_house(10, "gpm"), to_house(1000, "psi")), "hp")),
        ("G08", lambda: motor_speed_lossless(0.0006 * 60000, 82)),
        ("G10", lambda: hydraulic_power(0.0006 * 60000, 70)),
        ("G11", lambda: from_house(theoretical_torque(to_house(0.5, "in3"), to_house(2000, "psi")), "lbf.in")),
        ("G60", lambda: swash_stroke(125, 10)),
        ("G63", lambda: swash_fraction(8.5, 17)),
        ("G70", lambda: bent_axis_displacement(7, 20, 80, 25)),
        ("E08", lambda: from_house(shaft_power(to_house(1500, "lbf.in"), 2000), "hp")),
        ("E11", lambda: shaft_power(170, 2000)),
        ("E17", lambda: from_house(theoretical_torque(to_house(1.5, "in3"), to_house(1800, "psi")), "lbf.ft")),
    ],
)
def test_published_figures(number, value):
    assert golden(number).close(value()), golden(number).source


def test_zero_plate_angle_gives_zero_output():
    """Common practice, no source."""
    assert swash_displacement(**G01, swash_deg=0) == 0
    assert bent_axis_displacement(7, 20, 80, 0) == 0


@given(st.floats(0.1, 29.9))
def test_forward_and_reverse_are_mirror_images_and_the_angle_comes_back(angle):
    volume = swash_displacement(**G01, swash_deg=angle)
    assert swash_displacement(**G01, swash_deg=-angle) == -volume
    assert swash_angle(volume, **G01) == pytest.approx(angle, rel=1e-12)
    bent = bent_axis_displacement(7, 20, 80, angle)
    assert bent_axis_angle(bent, 7, 20, 80) == pytest.approx(angle, rel=1e-9)
    assert bent_axis_fraction(angle, 30) == pytest.approx(bent / bent_axis_displacement(7, 20, 80, 30), rel=1e-12)
    assert swash_fraction(angle, 30) == pytest.approx(volume / swash_displacement(**G01, swash_deg=30), rel=1e-12)


@given(st.floats(1.1, 3), st.integers(3, 15))
def test_displacement_goes_with_the_square_of_the_bore_and_with_the_count(factor, pistons):
    one = swash_displacement(pistons, 15, 125, 10)
    assert swash_displacement(pistons, 15 * factor, 125, 10) == pytest.approx(one * factor**2)
    assert one == pytest.approx(pistons * swash_displacement(3, 15, 125, 10) / 3)


def test_bent_axis_stroke_agrees_with_the_coordinates_of_the_ball_joints():
    """Second route: a ball on the flange circle, turned with the shaft, seen along the axis of the bent block."""
    turn, bend = np.linspace(0, 2 * np.pi, 3601), math.radians(25)
    joints = np.stack([40 * np.cos(turn), 40 * np.sin(turn), np.zeros_like(turn)])
    along_block = joints.T @ np.array([math.sin(bend), 0, math.cos(bend)])
    stroke = along_block.max() - along_block.min()
    assert bent_axis_displacement(7, 20, 80, 25) == pytest.approx(7 * math.pi / 4 * 20**2 * stroke / 1000, rel=1e-6)


def test_power_in_the_shaft_is_power_in_the_oil_when_nothing_is_lost():
    flow, torque = theoretical_flow(107, 2000), theoretical_torque(107, 200)
    assert shaft_power(torque, 2000) == pytest.approx(hydraulic_power(flow, 200), rel=1e-12)
    assert unit_corner_power(107, 2000, 200) == pytest.approx(hydraulic_power(flow, 200))


def test_arrays_go_through():
    assert theoretical_flow(np.array([50, 100]), 2000).tolist() == [100, 200]
    assert swash_displacement(9, 15, 125, np.array([-10.0, 0.0, 10.0]))[1] == 0


@pytest.mark.parametrize(
    ("call", "named"),
    [
        (lambda: swash_displacement(2, 15, 125, 10), "pistons must be from 3 to 15, got 2"),
        (lambda: swash_displacement(9, 0, 125, 10), "bore_mm must be above 0, got 0"),
        (lambda: swash_displacement(9, 15, 125, 31), "swash_deg must be from -30 to 30, got 31"),
        (lambda: bent_axis_displacement(7, 20, 80, 51), "bend_deg"),
        (lambda: bent_axis_angle(500, 7, 20, 80), "displacement_cc must be within reach .* got 500"),
        (lambda: motor_speed_lossless(10, 0), "displacement_cc must be above 0, got 0"),
        (lambda: swash_fraction(5, 0), "swash_max_deg"),
        (lambda: unit_corner_power(0, 1, 1), "displacement_cc"),
    ],
)
def test_what_is_out_of_range_is_refused_by_name(call, named):
    with pytest.raises(ValueError, match=named):
        call()

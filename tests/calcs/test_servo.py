"""Stroke times against a service manual's table, and what acceleration asks of the loop."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from calcs.servo import (
    accelerating_pressure_bar,
    acceleration_ms2,
    fill_time_s,
    rescaled_time_s,
    stroke_time_index,
    stroke_time_s,
)
from tests.golden import golden

DRIVE = {
    "mass_kg": 6000, "acceleration_ms2": 2.7073, "rolling_radius_m": 0.75, "motor_displacement_cc": 160, "final_ratio": 24,
    "hydromechanical_efficiency": 0.93, "final_efficiency": 0.95,
}  # fmt: skip


def test_stroke_time_of_the_worked_servo():
    assert golden("S05").close(stroke_time_s(25, orifice_mm=0.8, pressure_drop_bar=12, density_kgm3=870, discharge_share=0.62))
    assert golden("S05").close(stroke_time_s(25, 0.8, 12))


@pytest.mark.parametrize(("row", "orifice_mm"), [("S01", 1.0), ("S02", 1.3)])
def test_other_orifices_of_the_service_manual(row, orifice_mm):
    assert golden(row).close(rescaled_time_s(1.5, known_orifice_mm=0.8, orifice_mm=orifice_mm))


@given(st.floats(0.3, 2), st.floats(0.3, 2))
def test_rescaling_agrees_with_the_orifice_law(known_mm, other_mm):
    known_s = stroke_time_s(25, known_mm, 12)
    assert rescaled_time_s(known_s, known_mm, other_mm) == pytest.approx(stroke_time_s(25, other_mm, 12))


def test_the_flow_that_fills_sets_the_time():
    assert fill_time_s(50, flow_lpm=6) == pytest.approx(0.5)
    assert fill_time_s(np.array([0.0, 100.0]), 6) == pytest.approx([0, 1])


def test_the_index_is_one_for_the_healthy_servo_at_any_pressure():
    healthy = {"reference_time_s": stroke_time_s(25, 0.8, 12), "reference_drop_bar": 12}
    assert stroke_time_index(stroke_time_s(25, 0.8, 9), 9, **healthy) == pytest.approx(1)
    assert stroke_time_index(stroke_time_s(25, 0.4, 9), 9, **healthy) == pytest.approx(4)


def test_the_reference_drive_cannot_reach_top_speed_in_three_seconds():
    """Worked by hand: 2.71 m/s2 asks 226 bar with the motor at full and 451 bar at least displacement, over a relief of 420 bar."""
    assert acceleration_ms2(29.239, 3) == pytest.approx(2.71, abs=0.005)
    assert accelerating_pressure_bar(**DRIVE) == pytest.approx(226, abs=0.5)
    assert accelerating_pressure_bar(**{**DRIVE, "motor_displacement_cc": 80}) == pytest.approx(451, abs=0.5)


def test_resistance_counts_as_mass_times_acceleration_does():
    pulled = accelerating_pressure_bar(**{**DRIVE, "acceleration_ms2": 0}, resistance_n=6000 * 2.7073)
    assert pulled == pytest.approx(accelerating_pressure_bar(**DRIVE))
    assert accelerating_pressure_bar(**{**DRIVE, "acceleration_ms2": 0}) == 0
    assert accelerating_pressure_bar(**{**DRIVE, "acceleration_ms2": -2.7073}) == pytest.approx(-accelerating_pressure_bar(**DRIVE))


def test_impossible_strokes_are_refused():
    with pytest.raises(ValueError, match="pressure_drop_bar must be above 0"):
        stroke_time_s(25, 0.8, 0)
    for numbers, name in {(-1, 6): "servo_volume_cc", (1, 0): "flow_lpm"}.items():
        with pytest.raises(ValueError, match=name):
            fill_time_s(*numbers)
    for numbers, name in {(-1, 0.8, 1): "known_time_s", (1, 0, 1): "known_orifice_mm", (1, 0.8, 0): "orifice_mm"}.items():
        with pytest.raises(ValueError, match=name):
            rescaled_time_s(*numbers)
    good = {"time_s": 1, "drop_bar": 12, "reference_time_s": 1, "reference_drop_bar": 12}
    for name in good:
        with pytest.raises(ValueError, match=name):
            stroke_time_index(**{**good, name: 0})
    with pytest.raises(ValueError, match="time_s"):
        acceleration_ms2(10, 0)
    for name in set(DRIVE) - {"acceleration_ms2"}:
        with pytest.raises(ValueError, match=name):
            accelerating_pressure_bar(**{**DRIVE, name: 0})
    for name in ("hydromechanical_efficiency", "final_efficiency"):
        with pytest.raises(ValueError, match=name):
            accelerating_pressure_bar(**{**DRIVE, name: 1.1})
        assert accelerating_pressure_bar(**{**DRIVE, name: 1}) > 0


def test_half_the_discharge_takes_twice_the_time_and_small_numbers_are_let_in():
    assert stroke_time_s(25, 0.8, 12, discharge_share=0.31) == pytest.approx(2 * stroke_time_s(25, 0.8, 12))
    assert acceleration_ms2(3.6, 0.5) == pytest.approx(2)
    assert accelerating_pressure_bar(**{**DRIVE, "final_ratio": 0.5}) == pytest.approx(48 * accelerating_pressure_bar(**DRIVE))

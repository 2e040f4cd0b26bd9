"""The loop: reference drive of invented figures, textbook drives, and what must hold of any drive."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from calcs.drive import (
    creep_speed,
    dead_band,
    ground_speed,
    motor_displacement,
    motor_speed,
    motor_speed_by_efficiency,
    null_flow,
    pump_stroke,
    rolling_radius,
    speed_ratio,
    stall_stroke,
)
from calcs.leakage import baseline_coefficient, motor_baseline_coefficient, predicted_leakage
from calcs.units import from_house, to_house
from tests.golden import golden

R1_LEAKS_AT_420 = 11.0 + 10.45


def r1_speed(command: float) -> float:
    return motor_speed_by_efficiency(command, 100, 2200, 160, 80, 0.95, 0.95)


@pytest.mark.parametrize(("number", "command"), [("D20", 0), ("D21", 0.5), ("D22", 1), ("D24", 2)])
def test_motor_speed_of_the_reference_drive(number, command):
    assert golden(number).close(r1_speed(command))


def test_motor_speed_at_one_and_a_half_is_on_the_hyperbola():
    assert r1_speed(1.5) == pytest.approx(1654.58, abs=0.01)


def test_ground_speed_of_the_reference_drive():
    assert golden("D25").close(ground_speed(r1_speed(2), 24, 0.75))


def test_the_two_ways_to_the_motor_speed_meet_at_full_load():
    assert motor_speed(1, 100, 2200, 160, R1_LEAKS_AT_420) == pytest.approx(r1_speed(1), rel=1e-12)


@pytest.mark.parametrize(
    ("number", "value"),
    [
        ("E19", lambda: motor_speed(1, to_house(0.75, "in3"), 1200, to_house(0.57, "in3"), to_house(0.5, "gpm"))),
        ("L18", lambda: creep_speed(null_flow(0.2, 17, 100, 2200), R1_LEAKS_AT_420 * 20 / 420, 160)),
    ],
)
def test_published_figures(number, value):
    assert golden(number).close(value()), golden(number).source


@pytest.mark.parametrize(("number", "in3"), [("D01", None), ("D03", 5)])
def test_the_textbook_motor_runs_at_the_textbook_speed(number, in3):
    pump = 82 if in3 is None else to_house(in3, "in3")
    motor = golden(number).expected if in3 is None else to_house(golden(number).expected, "in3")
    assert motor_speed_by_efficiency(1, pump, 500, motor, motor, 0.82, 0.92) == pytest.approx(400, rel=1.5e-3)


def test_zero_stroke_is_exactly_zero():
    """Zero plate angle gives zero output: common practice, no source."""
    for speed in (motor_speed(0, 100, 2200, 160, 5), r1_speed(0), motor_speed(0.0, 100, 2200, 160, 0)):
        assert speed == 0 and np.copysign(1, speed) == 1


@given(st.floats(0, 2), st.floats(0, 30))
def test_forward_and_reverse_are_mirror_images(command, leakage):
    assert r1_speed(-command) == -r1_speed(command)
    stroke = pump_stroke(command)
    assert motor_speed(-stroke, 100, 2200, 160, leakage) == -motor_speed(stroke, 100, 2200, 160, leakage)
    assert ground_speed(-100, 24, 0.75) == -ground_speed(100, 24, 0.75)


@given(st.floats(0, 2), st.floats(0, 2))
def test_more_command_never_gives_less_speed(one, other):
    low, high = sorted((one, other))
    assert r1_speed(low) <= r1_speed(high) + 1e-9


@given(st.floats(0, 50), st.floats(0, 50))
def test_more_leakage_never_gives_more_speed_and_never_turns_the_motor_back(one, other):
    low, high = sorted((one, other))
    fast, slow = (motor_speed(0.2, 100, 2200, 160, leak) for leak in (low, high))
    assert fast >= slow >= 0


def test_pump_first_then_motor():
    """Common practice, no source: up to the middle of the travel the motor stays at its largest, beyond it the pump stays full."""
    assert [motor_displacement(c, 160, 80) for c in (0, 0.5, 1, 1.5, 2)] == [160, 160, 160, 120, 80]
    assert [pump_stroke(c) for c in (0.25, 1, 1.7)] == [0.25, 1, 1]


def test_a_farm_tractor_of_this_kind_tops_out_near_twenty_miles_an_hour():
    """Common practice, no source: a farm tractor of this kind reaches some 20 mph (32 km/h)."""
    mph = from_house(ground_speed(r1_speed(2), 24, 0.75), "mph")
    assert 16 < mph < 22


def test_two_motors_share_the_flow():
    assert motor_speed(1, 100, 2200, 80, 10, motors=2) == pytest.approx(motor_speed(1, 100, 2200, 160, 10))


def test_slip_takes_its_share_and_ten_turns_give_the_radius():
    assert ground_speed(1000, 24, 0.75, 0.1) == pytest.approx(0.9 * ground_speed(1000, 24, 0.75))
    assert rolling_radius(2 * np.pi * 0.75 * 10) == pytest.approx(0.75)
    assert pytest.approx(ground_speed(1000, 24, 0.75), rel=1e-6) == 0.376991 * 0.75 * 1000 / 24


def test_stall_stroke_is_where_the_motor_just_stands():
    stroke = stall_stroke(R1_LEAKS_AT_420, 100, 2200)
    assert stroke == pytest.approx(0.0975)
    assert motor_speed(stroke, 100, 2200, 160, R1_LEAKS_AT_420) == pytest.approx(0, abs=1e-9)
    assert motor_speed(stroke * 1.1, 100, 2200, 160, R1_LEAKS_AT_420) > 0


def test_dead_band_is_where_creep_begins_and_a_worn_unit_creeps_less():
    leak = R1_LEAKS_AT_420 * 20 / 420
    edge = dead_band(leak, 17, 100, 2200)
    assert edge == pytest.approx(0.0813, abs=1e-4)
    assert creep_speed(null_flow(edge, 17, 100, 2200), leak, 160) == pytest.approx(0, abs=1e-9)
    assert creep_speed(null_flow(-0.2, 17, 100, 2200), leak, 160) == pytest.approx(-9.3151, abs=2e-3)
    assert creep_speed(2.5, 2.0, 160) < creep_speed(2.5, 1.0, 160)


def test_baseline_leakages_of_the_reference_drive():
    pump, motor = baseline_coefficient(0.95, 100, 2200, 420, 17.5), motor_baseline_coefficient(0.95, 209, 420, 17.5)
    assert predicted_leakage(pump, 420, 17.5) == pytest.approx(11.0)
    assert predicted_leakage(motor, 420, 17.5) == pytest.approx(10.45)


def test_arrays_go_through():
    speeds = motor_speed_by_efficiency(np.array([-2.0, 0.0, 2.0]), 100, 2200, 160, 80, 0.95, 0.95)
    assert speeds[0] == -speeds[2] and speeds[1] == 0
    assert speed_ratio(np.array([1100.0]), 2200)[0] == 0.5


@pytest.mark.parametrize(
    ("call", "named"),
    [
        (lambda: pump_stroke(2.1), "command must be from -2 to 2, got 2.1"),
        (lambda: motor_displacement(1, 80, 160), "motor_min_cc must not be above motor_max_cc"),
        (lambda: motor_displacement(1, 160, 0), "motor_min_cc"),
        (lambda: motor_displacement(3, 160, 80), "command"),
        (lambda: motor_speed(1.1, 100, 2200, 160, 1), "stroke"),
        (lambda: motor_speed(1, 100, 2200, 160, -1), "leakage_lpm"),
        (lambda: motor_speed(1, 100, 2200, 0, 1), "motor_displacement_cc"),
        (lambda: motor_speed_by_efficiency(1, 100, 2200, 160, 80, 1.1, 0.9), "pump_efficiency"),
        (lambda: speed_ratio(1, 0), "pump_speed_rpm"),
        (lambda: ground_speed(1, 0, 1), "final_ratio"),
        (lambda: ground_speed(1, 1, 1, 1.0), "slip_share"),
        (lambda: rolling_radius(0), "advance_m"),
        (lambda: creep_speed(1, -1, 100), "leakage_lpm"),
        (lambda: null_flow(1, 0, 100, 2200), "swash_max_deg"),
        (lambda: dead_band(-1, 17, 100, 2200), "leakage_lpm"),
        (lambda: stall_stroke(1, 100, 0), "pump_speed_rpm"),
    ],
)
def test_what_is_out_of_range_is_refused_by_name(call, named):
    with pytest.raises(ValueError, match=named):
        call()

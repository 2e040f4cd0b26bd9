"""Pull of the machine: reference drive, textbook torque, and the closure of the curve at its corner."""

import numpy as np
import pytest

from calcs.drive import ground_speed, motor_speed_by_efficiency
from calcs.pull import (
    braking_engine_torque,
    braking_motor_torque,
    corner_speed,
    machine_corner_power,
    motor_torque,
    power_limited_pressure,
    power_limited_pull,
    pull_at_speed,
    relief_limited_pull,
    traction_limited_pull,
    tractive_effort,
)
from calcs.units import from_house, to_house
from tests.golden import golden

ETA_TOTAL = 0.95**2 * 0.93**2 * 0.95
R1_PULL = relief_limited_pull(160, 420, 0.93, 24, 0.75, 0.95)


@pytest.mark.parametrize(
    ("number", "value"),
    [
        ("D02", lambda: motor_torque(77.3, 70, 0.90)),
        ("D06", lambda: from_house(tractive_effort(to_house(1000, "lbf.in"), 10, to_house(15, "in")), "lbf")),
        ("D07", lambda: tractive_effort(115, 10, 0.4)),
        ("D08", lambda: from_house(motor_torque(to_house(2.03, "in3"), to_house(3000, "psi"), 0.58) * 18.25 * 0.9, "lbf.in")),
        ("D26", lambda: R1_PULL),
        ("D28", lambda: machine_corner_power(R1_PULL, golden("D25").expected)),
        ("D29", lambda: power_limited_pressure(75, 100, 2200, 0.93)),
    ],
)
def test_published_figures(number, value):
    assert golden(number).close(value()), golden(number).source


def test_the_curve_closes_at_its_corner():
    corner = corner_speed(75, ETA_TOTAL, R1_PULL)
    assert corner == pytest.approx(6.6215, abs=1e-3)
    assert power_limited_pull(75, ETA_TOTAL, corner) == pytest.approx(R1_PULL)
    assert pull_at_speed(corner * 0.9, R1_PULL, 75, ETA_TOTAL) == R1_PULL
    assert pull_at_speed(corner * 1.1, R1_PULL, 75, ETA_TOTAL) == pytest.approx(R1_PULL / 1.1)


def test_pull_at_the_power_limited_pressure_is_what_the_engine_can_keep_up():
    pressure = power_limited_pressure(75, 100, 2200, 0.93)
    speed = ground_speed(motor_speed_by_efficiency(1, 100, 2200, 160, 80, 0.95, 0.95), 24, 0.75)
    assert relief_limited_pull(160, pressure, 0.93, 24, 0.75, 0.95) == pytest.approx(power_limited_pull(75, ETA_TOTAL, speed), rel=1e-9)


def test_standing_still_the_relief_or_the_ground_sets_the_limit():
    assert pull_at_speed(0, R1_PULL, 75, ETA_TOTAL) == R1_PULL
    assert pull_at_speed(0, R1_PULL, 75, ETA_TOTAL, traction_pull_n=traction_limited_pull(30000, 0.5)) == 15000


def test_pull_over_speed_never_rises():
    curve = pull_at_speed(np.linspace(0, 30, 61), R1_PULL, 75, ETA_TOTAL, 25000)
    assert np.all(np.diff(curve) <= 1e-9) and curve[0] == 25000


def test_holding_back_takes_friction_on_the_safe_side():
    """While braking friction helps: more torque at the motor, less into the engine, than without it."""
    assert braking_motor_torque(160, 100, 0.93) * 0.93 == pytest.approx(motor_torque(160, 100, 1.0))
    assert braking_engine_torque(-0.5, 100, 100, 0.93) == braking_engine_torque(0.5, 100, 100, 0.93) == pytest.approx(74.01, abs=0.01)


def test_two_motors_pull_twice():
    assert relief_limited_pull(80, 420, 0.93, 24, 0.75, 0.95, motors=2) == pytest.approx(R1_PULL)


@pytest.mark.parametrize(
    ("call", "named"),
    [
        (lambda: motor_torque(0, 1, 0.9), "motor_displacement_cc"),
        (lambda: motor_torque(1, 1, 1.1), "hydromechanical_efficiency"),
        (lambda: tractive_effort(1, 1, 0), "rolling_radius_m"),
        (lambda: tractive_effort(1, 1, 1, 1.2), "final_efficiency"),
        (lambda: power_limited_pull(75, 0.7, 0), "ground_speed_kmh"),
        (lambda: power_limited_pull(75, 1.7, 5), "total_efficiency"),
        (lambda: traction_limited_pull(-1, 0.5), "driven_load_n"),
        (lambda: traction_limited_pull(1, 1.6), "traction_coefficient"),
        (lambda: corner_speed(75, 0.7, 0), "relief_pull_n"),
        (lambda: power_limited_pressure(75, 100, 2200, 0.9, 0), "stroke"),
        (lambda: braking_motor_torque(1, 1, 0), "hydromechanical_efficiency"),
        (lambda: braking_engine_torque(1.1, 1, 1, 0.9), "stroke"),
    ],
)
def test_what_is_out_of_range_is_refused_by_name(call, named):
    with pytest.raises(ValueError, match=named):
        call()

"""Efficiencies against the worked examples of two textbooks."""

import numpy as np
import pytest

from calcs.efficiency import (
    derived_displacement,
    missing_efficiency,
    motor_hydromechanical_efficiency,
    motor_overall_efficiency,
    motor_volumetric_efficiency,
    pump_hydromechanical_efficiency,
    pump_overall_efficiency,
    pump_volumetric_efficiency,
    transmission_efficiency,
)
from calcs.units import to_house
from tests.golden import golden

IN5, GPM20, PSI1000, LBIN900 = to_house(5, "in3"), to_house(20, "gpm"), to_house(1000, "psi"), to_house(900, "lbf.in")


@pytest.mark.parametrize(
    ("number", "value"),
    [
        ("E01", lambda: 100 * pump_overall_efficiency(GPM20, PSI1000, LBIN900, 1000)),
        ("E02", lambda: 100 * pump_volumetric_efficiency(GPM20, IN5, 1000)),
        ("E03", lambda: 100 * pump_overall_efficiency(90, 70, 120, 1000)),
        ("E05", lambda: 100 * motor_volumetric_efficiency(to_house(95, "gpm"), to_house(10, "in3"), 2000)),
        ("E07", lambda: 100 * motor_overall_efficiency(to_house(95, "gpm"), to_house(1000, "psi"), to_house(1500, "lbf.in"), 2000)),
        ("E10", lambda: 100 * motor_hydromechanical_efficiency(170, 164, 70)),
        ("E12", lambda: 100 * pump_volumetric_efficiency(to_house(52, "gpm"), to_house(3.75, "in3"), 3300)),
        ("E13", lambda: 100 * missing_efficiency(0.87, 0.94)),
        ("E15", lambda: 100 * motor_volumetric_efficiency(to_house(6.5, "gpm"), to_house(0.6, "in3"), 2400)),
        ("E16", lambda: 6.5 * (1 - motor_volumetric_efficiency(to_house(6.5, "gpm"), to_house(0.6, "in3"), 2400))),
        ("D09", lambda: 100 * transmission_efficiency(105, 1, 80, 1)),
        ("D10", lambda: 100 * transmission_efficiency(105, 1, 90, 1)),
    ],
)
def test_published_figures(number, value):
    assert golden(number).close(value()), golden(number).source


def test_overall_is_volumetric_times_hydromechanical():
    pump = pump_volumetric_efficiency(90, 100, 1000) * pump_hydromechanical_efficiency(120, 100, 70)
    assert pump_overall_efficiency(90, 70, 120, 1000) == pytest.approx(pump, rel=1e-12)
    motor = motor_volumetric_efficiency(360, 164, 2000) * motor_hydromechanical_efficiency(170, 164, 70)
    assert motor_overall_efficiency(360, 70, 170, 2000) == pytest.approx(motor, rel=1e-12)
    assert missing_efficiency(motor, motor_volumetric_efficiency(360, 164, 2000)) == pytest.approx(
        motor_hydromechanical_efficiency(170, 164, 70)
    )


def test_derived_displacement_is_the_slope_and_a_constant_loss_does_not_move_it():
    speeds = np.array([500.0, 1000, 1500, 2000])
    assert derived_displacement(speeds, speeds * 0.1 - 1.5) == pytest.approx(100)
    assert derived_displacement(np.array([1000.0, 1000]), np.array([99.0, 100])) is None


@pytest.mark.parametrize(
    ("call", "named"),
    [
        (lambda: pump_volumetric_efficiency(1, 0, 1000), "displacement_cc must be above 0, got 0"),
        (lambda: pump_volumetric_efficiency(1, 10, 0), "speed_rpm must be above 0, got 0"),
        (lambda: pump_hydromechanical_efficiency(0, 10, 10), "torque_nm"),
        (lambda: pump_overall_efficiency(1, 1, 0, 1), "torque_nm"),
        (lambda: motor_volumetric_efficiency(0, 10, 10), "flow_lpm"),
        (lambda: motor_hydromechanical_efficiency(1, 10, 0), "pressure_bar"),
        (lambda: motor_overall_efficiency(0, 1, 1, 1), "flow_lpm"),
        (lambda: transmission_efficiency(0, 1, 1, 1), "torque_in_nm"),
        (lambda: missing_efficiency(0.9, 0), "known"),
        (lambda: missing_efficiency(1.2, 0.9), "overall"),
    ],
)
def test_what_is_out_of_range_is_refused_by_name(call, named):
    with pytest.raises(ValueError, match=named):
        call()

"""A leakage number free of the conditions: published ratios, round trips, laws of scale."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from calcs.leakage import (
    baseline_coefficient,
    clearance_growth,
    coefficient_from_slope,
    condition_index,
    film_temperature,
    flow_droop_slope,
    hours_to_index,
    index_after,
    leakage_coefficient,
    leakage_share,
    motor_baseline_coefficient,
    predicted_leakage,
)
from calcs.units import to_house
from tests.golden import golden


@pytest.mark.parametrize(
    ("number", "value"),
    [
        ("L09", lambda: leakage_coefficient(3, 200, 18)),
        ("L10", lambda: condition_index(leakage_coefficient(9, 250, 12), leakage_coefficient(3, 200, 18))),
        ("L12", lambda: index_after(2000, 0.05)),
        ("L13", lambda: hours_to_index(2, 0.05)),
        ("L14", lambda: flow_droop_slope(to_house(1.5, "gpm"), 0, to_house(300, "psi"), to_house(1100, "psi"))),
    ],
)
def test_published_figures(number, value):
    assert golden(number).close(value()), golden(number).source


@given(st.floats(0.01, 100), st.floats(20, 500), st.floats(2, 200))
def test_a_reading_is_predicted_back_from_its_own_coefficient(flow, pressure, viscosity):
    coefficient = leakage_coefficient(flow, pressure, viscosity)
    assert predicted_leakage(coefficient, pressure, viscosity) == pytest.approx(flow, rel=1e-12)
    assert predicted_leakage(coefficient, 2 * pressure, viscosity / 3) == pytest.approx(6 * flow, rel=1e-12)


@given(st.floats(1, 20), st.floats(0.001, 0.5))
def test_hours_to_an_index_and_the_index_after_those_hours_agree(index, growth):
    assert index_after(hours_to_index(index, growth), growth) == pytest.approx(index, rel=1e-9)
    assert clearance_growth(index) ** 3 == pytest.approx(index)


@given(st.floats(0.5, 1), st.floats(20, 400), st.floats(3, 100))
def test_the_baseline_gives_back_the_efficiency_it_came_from(efficiency, pressure, viscosity):
    coefficient = baseline_coefficient(efficiency, 100, 2200, pressure, viscosity)
    assert predicted_leakage(coefficient, pressure, viscosity) == pytest.approx((1 - efficiency) * 220, abs=1e-9)
    motor = motor_baseline_coefficient(efficiency, 209, pressure, viscosity)
    assert predicted_leakage(motor, pressure, viscosity) == pytest.approx((1 - efficiency) * 209, abs=1e-9)


def test_a_flow_droop_gives_the_same_coefficient_as_the_leakages_themselves():
    slope = flow_droop_slope(100 - 2, 100 - 5, 80, 200)  # a leak of 2 and of 5 L/min
    assert coefficient_from_slope(slope, 18) == pytest.approx(leakage_coefficient(5, 200, 18))


def test_the_share_of_theoretical_flow():
    assert leakage_share(10, 100, 2000) == pytest.approx(0.05)


def test_film_temperature_takes_what_there_is():
    assert film_temperature(None, None) is None
    assert film_temperature(50, None, drain_rise_k=12) == 56
    assert film_temperature(np.array([50.0]), np.array([60.0]))[0] == 55


@pytest.mark.parametrize(
    ("call", "named"),
    [
        (lambda: leakage_coefficient(3, 19.9, 18), "pressure_bar must be from 20 to inf, got 19.9"),
        (lambda: leakage_coefficient(-1, 100, 18), "leakage_lpm"),
        (lambda: leakage_coefficient(1, 100, 0), "dynamic_mpas"),
        (lambda: predicted_leakage(1e-14, 100, 0), "dynamic_mpas"),
        (lambda: baseline_coefficient(0, 1, 1, 100, 1), "volumetric_efficiency"),
        (lambda: baseline_coefficient(1.01, 1, 1, 100, 1), "volumetric_efficiency"),
        (lambda: motor_baseline_coefficient(0.9, 0, 100, 1), "flow_lpm"),
        (lambda: condition_index(1e-14, 0), "reference_m3"),
        (lambda: clearance_growth(-1), "index"),
        (lambda: index_after(-1, 0.1), "hours_h"),
        (lambda: hours_to_index(0.9, 0.1), "index"),
        (lambda: hours_to_index(2, 0), "growth_per_1000h"),
        (lambda: flow_droop_slope(1, 0, 100, 100), "pressure2_bar"),
        (lambda: coefficient_from_slope(-0.1, 10), "slope_lpm_per_bar"),
        (lambda: leakage_share(1, 0, 1), "displacement_cc"),
    ],
)
def test_what_is_out_of_range_is_refused_by_name(call, named):
    with pytest.raises(ValueError, match=named):
        call()

"""Heat carried away, against hand-worked figures, a unit library and limit cases."""

import numpy as np
import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from calcs.cooling import cooler_heat_kw, log_mean_difference_k, stream_rise_k, tank_heat_kw


def test_a_stream_warmed_by_the_loss_of_the_reference_drive():
    """Worked by hand: 16.46 kW in 30 L/min is 19.9 K."""
    assert stream_rise_k(16.46, flow_lpm=30) == pytest.approx(19.9, abs=0.05)


def test_a_stream_by_a_unit_library():
    ureg = pint.UnitRegistry()
    heat_flow = 870 * ureg("kg/m**3") * 1900 * ureg("J/(kg*K)") * 30 * ureg("L/min")
    expected_k = (10 * ureg("kW") / heat_flow).to("K").magnitude
    assert stream_rise_k(10, flow_lpm=30, density_kgm3=870, specific_heat_jkgk=1900) == pytest.approx(expected_k)


def test_log_mean_difference_by_hand():
    """(50 - 20)/ln(50/20) = 32.74."""
    assert log_mean_difference_k(90, 40, 20, 40) == pytest.approx(30 / np.log(2.5))


@given(st.floats(1, 80), st.floats(1, 80))
def test_log_mean_lies_between_the_ends(hot_end_k, cold_end_k):
    found = log_mean_difference_k(30 + hot_end_k, 20 + cold_end_k, 20, 30)
    assert min(hot_end_k, cold_end_k) * (1 - 1e-6) <= found <= (hot_end_k + cold_end_k) / 2 * (1 + 1e-6)


def test_equal_ends_have_that_difference():
    assert log_mean_difference_k(80, 65, 30, 45) == pytest.approx(35)
    assert log_mean_difference_k(80, 65, 30, 45 + 1e-6) == pytest.approx(35, rel=1e-6)


def test_the_cooler_and_its_oil_stream_agree():
    heat_kw = cooler_heat_kw(0.5, log_mean_difference_k(80, 65, 30, 45))
    assert heat_kw == pytest.approx(17.5)
    flow_lpm = 17.5 * 60_000_000 / (870 * 1900 * 15)
    assert stream_rise_k(heat_kw, flow_lpm) == pytest.approx(15)


def test_a_tank_wall_in_us_units():
    """Sullivan, Ex. 14.6: 0.001 hp for each square foot and degF; 20 ft2 at 60 degF over the air give off 1.2 hp."""
    assert tank_heat_kw(20 * 0.3048**2, oil_over_air_k=60 / 1.8) == pytest.approx(1.2 * 0.745699872)
    assert tank_heat_kw(1, 0) == 0
    assert tank_heat_kw(2, 10, transfer_w_m2k=10) == pytest.approx(0.2)


def test_impossible_coolers_are_refused():
    with pytest.raises(ValueError, match="air_out_c must be below oil_in_c, got 80 against 80"):
        log_mean_difference_k(80, 65, 30, 80)
    with pytest.raises(ValueError, match="air_in_c must be below oil_out_c, got 65 against 65"):
        log_mean_difference_k(80, 65, 65, 70)
    for numbers, name in {(1, 0): "flow_lpm", (1, 30, 0): "density_kgm3", (1, 30, 870, 0): "specific_heat_jkgk"}.items():
        with pytest.raises(ValueError, match=name):
            stream_rise_k(*numbers)
    for numbers, name in {(-1, 1): "conductance_kwk", (1, -1): "mean_difference_k"}.items():
        with pytest.raises(ValueError, match=name):
            cooler_heat_kw(*numbers)
    assert cooler_heat_kw(0, 0) == 0
    for numbers, name in {(-1, 1): "wall_m2", (1, 1, 0): "transfer_w_m2k"}.items():
        with pytest.raises(ValueError, match=name):
            tank_heat_kw(*numbers)
    assert tank_heat_kw(0, 10) == 0


def test_small_numbers_are_let_in():
    assert stream_rise_k(1, flow_lpm=0.5, density_kgm3=0.5, specific_heat_jkgk=0.5) == pytest.approx(60e6 / 0.125)
    assert tank_heat_kw(1, 10, transfer_w_m2k=0.5) == pytest.approx(0.005)

"""The charge circuit: balance of the reference drive, makers' limits, and what cannot be."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from calcs.charge import (
    case_flow,
    charge_delivery,
    charge_efficiency_at,
    charge_margin,
    charge_need,
    charge_overflow,
    charge_pressure,
    drop_share,
    growth_at_collapse,
    relief_at_gauge,
    return_excess,
)
from tests.golden import golden

DELIVERY = charge_delivery(20, 2200, 0.9)
NEED = charge_need(11.0, 10.45, 8, 2)


def test_balance_of_the_reference_drive():
    assert golden("L15").close(100 * charge_margin(DELIVERY, NEED))
    assert golden("L16").close(growth_at_collapse(DELIVERY, 21.45, 10))


def test_at_collapse_nothing_is_left_over():
    growth = growth_at_collapse(DELIVERY, 21.45, 10)
    assert charge_margin(DELIVERY, charge_need(11.0 * growth, 10.45 * growth, 8, 2)) == pytest.approx(0, abs=1e-12)
    assert charge_overflow(DELIVERY, charge_need(11.0 * growth, 10.45 * growth, 8, 2) + 1) == 0


def test_all_charge_flow_comes_back_through_the_cases_or_the_relief():
    assert charge_overflow(DELIVERY, NEED) + NEED == pytest.approx(DELIVERY)
    assert return_excess(NEED + charge_overflow(DELIVERY, NEED), DELIVERY) == pytest.approx(0, abs=1e-12)


def test_an_allowed_drop_as_in_a_service_manual():
    """15 % drop allowed of a reading of 800 kPa leaves 680 kPa."""
    assert golden("P08").close(800 * (1 - 0.15))
    assert drop_share(8.0, golden("P08").expected / 100) == pytest.approx(0.15)


@given(st.floats(0, 60), st.floats(0, 60))
def test_more_overflow_never_gives_less_charge_pressure(one, other):
    low, high = sorted((one, other))
    assert charge_pressure(22, low, 30, 0.1) <= charge_pressure(22, high, 30, 0.1)


def test_the_setting_stands_above_case_pressure():
    assert charge_pressure(22, 30, 30, 0.1, 1.5) == 23.5
    assert relief_at_gauge(420, 22) == 442


def test_a_charge_pump_slips_more_with_thin_oil_and_low_speed_by_the_same_law():
    assert charge_efficiency_at(0.9, 2200, 2200, 20, 20) == pytest.approx(0.9)
    assert (
        charge_efficiency_at(0.9, 1100, 2200, 20, 20) == pytest.approx(charge_efficiency_at(0.9, 2200, 2200, 10, 20)) == pytest.approx(0.8)
    )
    assert charge_efficiency_at(0.9, 100, 2200, 2, 20) == 0.05
    lost = [speed * (1 - charge_efficiency_at(0.9, speed, 2200, 20, 20)) for speed in (1000, 2000)]
    assert lost[0] == pytest.approx(lost[1])  # the slip in L/min is the same at any speed


def test_a_drain_carries_leakage_and_what_flows_by_design():
    assert case_flow(np.array([5.0, 6.0]), 8.0).tolist() == [13, 14]


@pytest.mark.parametrize(
    ("call", "named"),
    [
        (lambda: charge_delivery(0, 2200, 0.9), "charge_displacement_cc"),
        (lambda: charge_delivery(20, -1, 0.9), "charge_speed_rpm"),
        (lambda: charge_delivery(20, 2200, 1.1), "volumetric_efficiency"),
        (lambda: charge_efficiency_at(0.9, 0, 2200, 20, 20), "charge_speed_rpm"),
        (lambda: charge_efficiency_at(0.9, 1, 2200, 0, 20), "dynamic_mpas"),
        (lambda: charge_margin(0, 1), "delivery_lpm"),
        (lambda: growth_at_collapse(40, 0, 10), "leakage_lpm"),
        (lambda: charge_pressure(22, -1, 30, 0.1), "overflow_lpm"),
        (lambda: charge_pressure(22, 1, 30, -0.1), "rise_bar_per_lpm"),
        (lambda: drop_share(0, 1), "neutral_bar"),
        (lambda: relief_at_gauge(0, 22), "setting_bar"),
    ],
)
def test_what_is_out_of_range_is_refused_by_name(call, named):
    with pytest.raises(ValueError, match=named):
        call()

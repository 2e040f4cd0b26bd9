"""Uncertainty of readings: published figures, the `uncertainties` library as second opinion, worked cases."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from uncertainties import ufloat

from calcs.uncertainty import (
    GAUGE_CLASSES,
    Instrument,
    change_that_counts,
    class_that_decides,
    class_uncertainty,
    clearance_uncertainty,
    coefficient_uncertainty,
    combined_uncertainty,
    expanded_uncertainty,
    fitting_span,
    reading_uncertainty,
    resolution_uncertainty,
    speed_uncertainty,
)
from tests.golden import golden

SHOP_GAUGE = Instrument("G-07", class_percent=1.6, span=60, resolution=1.0)


@pytest.mark.parametrize(
    ("number", "value"),
    [
        ("U01", lambda: 100 * coefficient_uncertainty(0.005, 0.005, 0.5, 0.035)),
        ("U02", lambda: 100 * coefficient_uncertainty(0.015, 0.015, 1.0, 0.035)),
        ("U03", lambda: 100 * coefficient_uncertainty(0.025, 0.025, 2.0, -0.035)),
        ("U05", lambda: clearance_uncertainty(golden("U02").expected)),
        ("U06", lambda: 100 * speed_uncertainty(0.02, 0.002)),
    ],
)
def test_published_figures(number, value):
    assert golden(number).close(value()), golden(number).source


def test_class_1_6_of_60_bar_read_to_half_a_bar_is_good_to_one_and_a_quarter():
    assert expanded_uncertainty(reading_uncertainty(SHOP_GAUGE, 20.6, "pressure")) == pytest.approx(1.25, abs=0.005)


@given(st.floats(0.1, 50), st.floats(20, 400), st.floats(5, 60), st.floats(0.001, 0.05), st.floats(0.001, 0.05), st.floats(0.001, 0.05))
def test_a_leakage_coefficient_agrees_with_the_uncertainties_library(flow, pressure, viscosity, uq, up, uv):
    k = ufloat(flow, uq * flow) * ufloat(viscosity, uv * viscosity) / ufloat(pressure, up * pressure)
    assert coefficient_uncertainty(uq, up, 1.0, uv) == pytest.approx(k.std_dev / k.nominal_value, rel=1e-9)


def test_clearance_and_speed_agree_with_the_uncertainties_library():
    index = ufloat(1.6, 0.16) ** (1 / 3)
    assert clearance_uncertainty(0.1) == pytest.approx(index.std_dev / index.nominal_value, rel=1e-9)
    v = ufloat(0.75, 0.015) * ufloat(2480, 5) / ufloat(24, 0.1)
    assert speed_uncertainty(0.02, 5 / 2480, 0.1 / 24) == pytest.approx(v.std_dev / v.nominal_value, rel=1e-9)


def test_a_full_scale_class_matters_most_at_the_low_end():
    """Class 1.6 of 400 bar is 6.4 % at 100 bar."""
    limit = class_uncertainty(1.6, 400) * math.sqrt(3)
    assert limit / 100 == pytest.approx(0.064)


def test_a_meter_that_is_good_to_a_share_of_its_reading():
    meter = Instrument("F-02", reading_percent=1.0, resolution=0.1)
    assert reading_uncertainty(meter, 20, "flow") == pytest.approx(math.hypot(0.2 / math.sqrt(3), 0.05 / math.sqrt(3)))
    assert reading_uncertainty(meter, 0, "flow") == pytest.approx(0.05 / math.sqrt(3))


def test_an_instrument_not_stated_takes_the_share_of_its_kind():
    assert reading_uncertainty(None, 200, "pressure") == pytest.approx(2.0)
    assert reading_uncertainty(Instrument("?"), 10, "flow") == pytest.approx(0.3)
    assert reading_uncertainty(None, -10, "unheard of") == pytest.approx(0.3)


def test_changes_that_count_between_two_tests():
    """Class B 11.6 %, class C 22 %: twice the square root of two of U02 and U03."""
    assert change_that_counts(golden("U02").expected / 100) == pytest.approx(0.116, abs=5e-4)
    assert change_that_counts(golden("U03").expected / 100) == pytest.approx(0.222, abs=5e-4)


@given(st.floats(0.01, 20), st.sampled_from([10, 40, 60, 400]))
def test_the_class_advised_decides_and_the_next_coarser_does_not(gap, span):
    advised = class_that_decides(gap, span)
    for percent in GAUGE_CLASSES:
        decides = 2 * percent / 100 * span / math.sqrt(3) < gap
        assert decides == (advised is not None and percent <= advised)


def test_spans_are_picked_so_that_three_quarters_carry_the_reading():
    assert fitting_span(30) == 40 and fitting_span(30.1) == 60 and fitting_span(420) == 600
    assert fitting_span(2000) is None


@pytest.mark.parametrize(
    ("call", "named"),
    [
        (lambda: class_uncertainty(1, 0), "span"),
        (lambda: class_uncertainty(-1, 1), "class_percent"),
        (lambda: resolution_uncertainty(-1), "resolution"),
        (lambda: expanded_uncertainty(-1), "standard"),
        (lambda: expanded_uncertainty(1, 0), "coverage"),
    ],
)
def test_what_is_out_of_range_is_refused_by_name(call, named):
    with pytest.raises(ValueError, match=named):
        call()
    assert combined_uncertainty(3, 4) == 5

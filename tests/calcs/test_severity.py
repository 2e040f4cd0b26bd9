"""Severity products, the fluid's past and findings that call a task at once."""

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from calcs.severity import FACTORS, Finding, finding_that_calls, hours_by_fluid_past, severity_product, shorten


def test_the_product_is_printed():
    assert shorten(500, {"dust": 0.75, "couplers": 0.8}).words == "500 h x 0.75 (dust) x 0.8 (couplers) = 300 h"


def test_an_interval_is_never_shortened_below_four_tenths():
    shortened = shorten(500, {"unknown fluid": 0.5, "hot oil": 0.7, "water": 0.7})
    assert shortened.hours == 200
    assert shortened.words.endswith("held at 0.4 = 200 h")


def test_no_factor_leaves_the_interval():
    assert shorten(500, {}).words == "500 h"


@pytest.mark.parametrize("factor", [0, -0.5, 1.2])
def test_a_factor_that_is_none_is_refused(factor):
    with pytest.raises(ValueError, match="factors"):
        severity_product([factor])


@given(st.lists(st.sampled_from(list(FACTORS.values())), max_size=7))
def test_one_factor_more_never_lengthens(factors):
    assert severity_product([*factors, 0.8]) <= severity_product(factors)


def test_another_fluid_at_any_time_ends_the_long_interval():
    assert hours_by_fluid_past([1000, 2000, 500], [800, 800, float("nan")], True).tolist() == [800, 800, 500]
    assert hours_by_fluid_past([1000, 2000], [800, 800], False).tolist() == [1000, 2000]


def test_an_indicator_on_cold_oil_is_let_be_and_one_on_warm_oil_calls_the_task():
    cold = Finding("indicator", date(2026, 3, 2), 410, oil_warm=False)
    warm = Finding("indicator", date(2026, 3, 9), 425)
    assert finding_that_calls([cold])[0] is None
    assert finding_that_calls([warm, cold])[0] is warm


def test_a_finding_is_answered_by_the_work_after_it():
    assert finding_that_calls([Finding("debris", date(2026, 3, 2), 410)], done_on=date(2026, 3, 2)) == (None, ())


def test_a_finding_of_no_kind_is_refused():
    with pytest.raises(ValueError, match="findings"):
        finding_that_calls([Finding("hunch", date(2026, 3, 2), 410)])

"""Filtration ratio and targets against published tables."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from calcs.cleanliness import codes_over
from calcs.filtration import TARGET_CODES, beta_from_share, beta_ratio, capture_share, least_code, target_code
from tests.golden import golden


def test_textbook_filtration_ratio():
    assert golden("C17").close(beta_ratio(36815, 6347))


@pytest.mark.parametrize(("row", "beta"), [("C19", 75), ("C20", 200), ("C21", 1000), ("C22", 2)])
def test_ratio_and_efficiency_as_published(row, beta):
    assert golden(row).close(100 * capture_share(beta))


@given(st.floats(1, 1e5))
def test_ratio_there_and_back(beta):
    assert beta_from_share(capture_share(beta)) == pytest.approx(beta, rel=1e-6)


def test_a_filter_that_holds_nothing_has_ratio_one():
    assert capture_share(1) == 0
    assert beta_from_share(0) == 1
    assert capture_share(np.array([1.0, 10.0])) == pytest.approx([0, 0.9])


# Filter makers' handbooks: below 140, 140 to 210, above 210 bar; the cleaner of two where they differ.
HANDBOOK = [
    ("variable piston pump", "18/16/13", "17/15/12", "16/14/11"),
    ("piston motor", "19/17/14", "18/16/13", "17/15/12"),
    ("hydrostatic drive", "16/15/12", "16/14/11", "15/13/10"),
]


@pytest.mark.parametrize(("component", "low", "middle", "high"), HANDBOOK)
def test_targets_by_pressure(component, low, middle, high):
    found = [str(target_code(component, pressure_bar)) for pressure_bar in (1, 139.9, 140, 210, 210.1, 420)]
    assert found == [low, low, middle, middle, high, high]


def test_a_severe_life_calls_for_one_number_cleaner():
    assert str(target_code("piston motor", 300, is_severe=True)) == "16/14/11"


def test_the_least_a_drive_maker_asks_is_four_to_six_numbers_dirtier_than_the_target():
    assert str(least_code()) == "22/18/13"
    assert max(a - b for a, b in zip(least_code().numbers, target_code("variable piston pump", 300).numbers, strict=True)) == 6
    assert all(codes_over(least_code(), target_code(name, 420)) > 0 for name in TARGET_CODES)


def test_impossible_filters_and_targets_are_refused():
    for counts, name in (((0, 1), "upstream_count"), ((1, 0), "downstream_count")):
        with pytest.raises(ValueError, match=name):
            beta_ratio(*counts)
    with pytest.raises(ValueError, match="beta must be 1 or more, got 0.9"):
        capture_share(0.9)
    for share in (-0.1, 1):
        with pytest.raises(ValueError, match="captured_share must be from 0 to below 1"):
            beta_from_share(share)
    with pytest.raises(ValueError, match="component must be one of variable piston pump"):
        target_code("radial pump", 100)
    with pytest.raises(ValueError, match="pressure_bar must be above 0"):
        target_code("piston motor", 0)

"""The rule of thumb on heat and oil life, and what it means as a reaction."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from calcs.ageing import activation_energy_kjmol, equivalent_age_h, relative_life
from tests.golden import golden


def test_twenty_degrees_quarter_the_life():
    assert golden("O07").close(relative_life(80, base_temp_c=60))
    assert golden("O07").close(relative_life(80))


def test_doubling_per_ten_degrees_as_an_activation_energy():
    assert golden("O06").close(activation_energy_kjmol(60, 70))


def test_cool_oil_is_promised_no_more_than_its_life():
    assert relative_life(60) == 1
    assert relative_life(np.array([-40, 20, 59.9])) == pytest.approx([1, 1, 1])


@given(st.floats(60, 140))
def test_ten_degrees_halve_the_life(oil_temp_c):
    assert relative_life(oil_temp_c + 10) == pytest.approx(relative_life(oil_temp_c) / 2)


def test_hours_at_several_temperatures_add_up():
    assert equivalent_age_h([10, 10, 10], [60, 70, 80]) == pytest.approx(10 + 20 + 40)
    assert equivalent_age_h(100, 60) == 100
    assert equivalent_age_h([0, 0], [100, 120]) == 0
    assert equivalent_age_h([10], [60], base_temp_c=50, halving_k=5) == pytest.approx(40)


def test_a_reaction_that_does_not_speed_up_needs_no_energy():
    assert activation_energy_kjmol(60, 70, rate_ratio=1) == 0
    assert activation_energy_kjmol(60, 70, rate_ratio=4) == pytest.approx(2 * activation_energy_kjmol(60, 70))


def test_a_life_may_halve_within_half_a_kelvin():
    assert relative_life(61, halving_k=0.5) == pytest.approx(0.25)


def test_impossible_ageing_is_refused():
    for oil_temp_c in (-41, 151):
        with pytest.raises(ValueError, match="oil_temp_c"):
            relative_life(oil_temp_c)
    assert relative_life(150) == pytest.approx(2**-9)
    with pytest.raises(ValueError, match="halving_k"):
        relative_life(80, halving_k=0)
    with pytest.raises(ValueError, match="run_h must not be below zero"):
        equivalent_age_h([10, -1], [60, 70])
    with pytest.raises(ValueError, match="temp2_c must be above 60, got 60"):
        activation_energy_kjmol(60, 60)
    with pytest.raises(ValueError, match="rate_ratio"):
        activation_energy_kjmol(60, 70, rate_ratio=0)

"""Oil under pressure against published figures and limit cases."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from calcs.compression import compression_share, shut_in_rise_bar, viscosity_under_pressure
from tests.golden import golden


def test_two_hundred_bar_thicken_oil_by_two_fifths():
    assert golden("F28").close(viscosity_under_pressure(20, pressure_bar=200) / 20)


@given(st.floats(0, 400), st.floats(0, 400))
def test_pressure_steps_multiply(first_bar, second_bar):
    in_steps = viscosity_under_pressure(viscosity_under_pressure(20, first_bar), second_bar)
    assert viscosity_under_pressure(20, first_bar + second_bar) == pytest.approx(in_steps)


def test_no_pressure_changes_nothing():
    assert viscosity_under_pressure(20, 0) == 20
    assert viscosity_under_pressure(np.array([20.0, 30.0]), 0) == pytest.approx([20, 30])


def test_textbook_compression():
    assert golden("F31").close(100 * compression_share((13740 - 687) / 100, bulk_modulus_bar=17180))


def test_shut_in_oil_presses_about_eleven_bar_a_degree():
    assert golden("F32").close(shut_in_rise_bar(1))
    assert golden("F32").close(shut_in_rise_bar(1, bulk_modulus_bar=16000, expansion_per_k=7e-4))


def test_shut_in_oil_needs_just_the_pressure_that_undoes_its_growth():
    rise_bar = shut_in_rise_bar(10, bulk_modulus_bar=14000, expansion_per_k=7e-4)
    assert compression_share(rise_bar, bulk_modulus_bar=14000) == pytest.approx(10 * 7e-4)


def test_usual_bulk_modulus_is_that_of_mineral_oil_without_air():
    """1.6 GPa, from memory."""
    assert compression_share(160) == pytest.approx(0.01)


def test_impossible_oil_is_refused():
    refused = {(0, 100): "viscosity_mm2s", (20, -1): "pressure_bar", (20, 1001): "pressure_bar", (20, 1, -1e-3): "barus_per_bar"}
    for given_, name in refused.items():
        with pytest.raises(ValueError, match=name):
            viscosity_under_pressure(*given_)
    with pytest.raises(ValueError, match="barus_per_bar"):
        viscosity_under_pressure(20, 1, barus_per_bar=0.011)
    assert viscosity_under_pressure(20, 1000, barus_per_bar=0.01) == pytest.approx(20 * np.exp(10))
    with pytest.raises(ValueError, match="bulk_modulus_bar must be above 0"):
        compression_share(100, bulk_modulus_bar=0)
    with pytest.raises(ValueError, match="bulk_modulus_bar"):
        shut_in_rise_bar(1, bulk_modulus_bar=0)
    with pytest.raises(ValueError, match="expansion_per_k"):
        shut_in_rise_bar(1, expansion_per_k=0)


def test_a_dynamic_viscosity_below_one_is_let_in():
    assert viscosity_under_pressure(0.5, 0) == 0.5


def test_usual_oil_is_that_of_the_sources():
    """Coefficient 1.7e-3 per bar (Vacca & Franzoni, eq. 2.21); 7e-4/K and 1.6 GPa from memory, 11.2 bar/K."""
    assert viscosity_under_pressure(1, 1000) == pytest.approx(np.exp(1.7), rel=1e-9)
    assert shut_in_rise_bar(1) == pytest.approx(11.2, rel=1e-9)

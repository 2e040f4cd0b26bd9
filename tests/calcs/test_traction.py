"""Slip and traction against charts, hand-worked equations and limit cases."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from calcs.traction import (
    SOIL_MOBILITY,
    gross_traction,
    mobility_number,
    motion_resistance,
    net_traction,
    slip_from_turns,
    tractive_efficiency,
)
from tests.golden import golden

mobilities = st.floats(10, 100)
slips = st.floats(0, 1)
TYRE = {"cone_index_kpa": 1200, "tyre_width_m": 0.5, "tyre_diameter_m": 1.8, "wheel_load_kn": 25, "deflection_share": 0.2}


@pytest.mark.parametrize(("row", "unloaded_turns"), [("M05", 9), ("M06", 8.5), ("M08", 7.5), ("M09", 7)])
def test_slip_chart_of_the_operator_manual(row, unloaded_turns):
    assert golden(row).close(100 * slip_from_turns(10, unloaded_turns))


def test_net_traction_on_firm_soil():
    assert golden("M10").close(net_traction(55, slip_share=0.10))


def test_tractive_efficiency_on_firm_soil():
    """Worked by hand from the same equations: 0.784."""
    assert tractive_efficiency(55, slip_share=0.10) == pytest.approx(0.784, abs=0.0005)


def test_mobility_number_by_hand():
    assert mobility_number(**TYRE) == pytest.approx(1200 * 0.5 * 1.8 / 25 * 2 / (1 + 1.5 / 1.8))


@given(mobilities, slips)
def test_a_firmer_soil_always_pulls_better(mobility, slip):
    assert net_traction(mobility + 1, slip) > net_traction(mobility, slip)
    assert motion_resistance(mobility + 1, slip) < motion_resistance(mobility, slip)


@given(mobilities, slips)
def test_more_slip_never_pushes_less(mobility, slip):
    assert gross_traction(mobility, slip) <= gross_traction(mobility, min(1, slip + 0.01)) + 1e-12


def test_without_slip_a_wheel_hardly_pushes_and_must_be_pushed():
    assert gross_traction(55, 0) == pytest.approx(0.04)
    assert net_traction(55, 0) < 0
    assert tractive_efficiency(55, 1) == 0


def test_best_slip_is_where_farmers_keep_it():
    """Target of 8 to 15 per cent: extension advice on ballast; common practice."""
    slip = np.linspace(0.01, 0.4, 400)
    for name in ("firm", "tilled"):
        assert 0.07 < slip[np.argmax(tractive_efficiency(SOIL_MOBILITY[name], slip))] < 0.16


def test_soils_from_hard_to_soft():
    """ASABE D497: 80, 55, 40, 20; from memory."""
    assert list(SOIL_MOBILITY.items()) == [("hard", 80), ("firm", 55), ("tilled", 40), ("soft", 20)]


def test_a_pushed_wheel_slips_backwards():
    assert slip_from_turns(10, 10.5) == pytest.approx(-0.05)
    assert slip_from_turns(np.array([10.0, 10.0]), np.array([10.0, 9.0])) == pytest.approx([0, 0.1])


def test_impossible_wheels_are_refused():
    for numbers, name in {(0, 9): "loaded_turns", (10, 0): "unloaded_turns"}.items():
        with pytest.raises(ValueError, match=f"^{name}"):
            slip_from_turns(*numbers)
    for name in set(TYRE) - {"deflection_share"}:
        with pytest.raises(ValueError, match=name):
            mobility_number(**{**TYRE, name: 0})
    for share in (-0.1, 1.1):
        with pytest.raises(ValueError, match="deflection_share"):
            mobility_number(**{**TYRE, "deflection_share": share})
    assert mobility_number(**{**TYRE, "deflection_share": 0}) < mobility_number(**{**TYRE, "deflection_share": 1})
    for law in (gross_traction, motion_resistance, net_traction):
        for numbers, name in {(0, 0.1): "mobility", (55, -0.1): "slip_share", (55, 1.1): "slip_share"}.items():
            with pytest.raises(ValueError, match=name):
                law(*numbers)


def test_part_of_a_turn_and_a_bog_are_let_in():
    assert slip_from_turns(0.5, 0.4) == pytest.approx(0.2)
    assert net_traction(0.5, 0.1) < 0
    assert motion_resistance(0.5, 0) == pytest.approx(2.04)
    assert gross_traction(0.5, 0) == pytest.approx(0.04)


def test_the_equations_written_out():
    """ASABE D497, from memory, at numbers that leave nothing to round."""
    assert motion_resistance(25, 1) == pytest.approx(0.04 + 0.04 + 0.1, rel=1e-12)
    assert gross_traction(10, 0.2) == pytest.approx(0.88 * (1 - np.exp(-1)) * (1 - np.exp(-1.5)) + 0.04, rel=1e-12)

"""Films that come to rest: a published pad, a worked slipper, forces and flows that must agree."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from calcs.gaps import slipper_leakage
from calcs.orifice import orifice_flow_lpm
from calcs.slipper import pad_area_mm2
from calcs.slipper_film import capillary_film_um, fed_film_um, film_um, recess_radius_mm
from tests.golden import golden

LAND = {"outer_mm": 12.5, "inner_mm": 8.5}
PAD = {"outer_mm": 50, "load_n": 60_000, "gap_um": 30, "dynamic_mpas": 80, "flow_lpm": 0.24}


def test_pocket_radius_of_the_published_pad():
    assert golden("B01").close(recess_radius_mm(**PAD) / 1000)


def test_pumping_power_of_the_published_pad():
    """Second answer of the same problem: 50.89 W."""
    radius_mm = recess_radius_mm(**PAD)
    pocket_pa = 60_000 / (pad_area_mm2(50, radius_mm) * 1e-6)
    assert pocket_pa * 0.4e-5 == pytest.approx(50.89, rel=1e-3)
    assert film_um(0.24, pocket_pa / 1e5, 80, 50, radius_mm) == pytest.approx(30)


def test_worked_slipper_at_three_hundred_bar():
    """By hand with 860 kg/m3, 20 mPa.s and Cd 0.62: 15.45 um and 0.4287 L/min for each slipper."""
    assert fed_film_um(300, 1.05193, 0.5, 20, **LAND, density_kgm3=860) == pytest.approx(15.45, abs=0.005)
    assert orifice_flow_lpm(0.5, 300 - 300 / 1.05193, density_kgm3=860) == pytest.approx(0.4287, abs=0.0001)


@given(st.floats(50, 450), st.floats(1.01, 1.5), st.floats(0.2, 1.5), st.floats(5, 60))
def test_what_flows_in_flows_out(pressure_bar, ratio, orifice_mm, dynamic_mpas):
    film = fed_film_um(pressure_bar, ratio, orifice_mm, dynamic_mpas, **LAND)
    pocket_bar = pressure_bar / ratio
    fed_lpm = orifice_flow_lpm(orifice_mm, pressure_bar - pocket_bar)
    assert slipper_leakage(film, **LAND, pocket_bar=pocket_bar, dynamic_mpas=dynamic_mpas) == pytest.approx(fed_lpm)


@given(st.floats(1.01, 1.5), st.floats(100, 400), st.floats(5, 60))
def test_a_capillary_feeds_what_its_film_lets_out_at_any_pressure_and_viscosity(ratio, pressure_bar, dynamic_mpas):
    film = capillary_film_um(ratio, capillary_mm=0.5, length_mm=10, **LAND)
    pocket_bar = pressure_bar / ratio
    fed_m3s = np.pi * 0.5e-3**4 * (pressure_bar - pocket_bar) * 1e5 / (128 * dynamic_mpas * 1e-3 * 0.01)
    assert slipper_leakage(film, **LAND, pocket_bar=pocket_bar, dynamic_mpas=dynamic_mpas) == pytest.approx(fed_m3s * 60_000)


def test_over_clamped_slippers_have_no_film_of_pressure():
    for ratio in (1, 0.95):
        assert fed_film_um(300, ratio, 0.5, 20, **LAND) is None
        assert capillary_film_um(ratio, 0.5, 10, **LAND) is None
    assert fed_film_um(300, 1.0001, 0.5, 20, **LAND) > 0
    assert capillary_film_um(1.0001, 0.5, 10, **LAND) > 0


def test_film_lubrication_rises_with_load():
    """Common practice, no source: under more load the pocket carries more pressure and the leakage through its land grows."""
    flows = [orifice_flow_lpm(0.5, pressure_bar * (1 - 1 / 1.05)) for pressure_bar in (100, 200, 300)]
    assert flows == sorted(flows)


def test_film_and_leakage_turn_back():
    flow_lpm = slipper_leakage(15, **LAND, pocket_bar=285, dynamic_mpas=20)
    assert film_um(flow_lpm, 285, 20, **LAND) == pytest.approx(15)
    assert film_um(np.array([0.0, flow_lpm]), 285, 20, **LAND) == pytest.approx([0, 15])


def test_impossible_films_are_refused():
    for numbers, name in {(-1, 285, 20): "flow_lpm", (1, 0, 20): "pocket_bar", (1, 285, 0): "dynamic_mpas"}.items():
        with pytest.raises(ValueError, match=name):
            film_um(*numbers, **LAND)
    with pytest.raises(ValueError, match="outer_mm"):
        film_um(1, 285, 20, outer_mm=8, inner_mm=8)
    for numbers, name in {(0, 1.1, 0.5, 20): "pressure_bar", (300, 0, 0.5, 20): "ratio", (300, 1.1, 0, 20): "orifice_mm"}.items():
        with pytest.raises(ValueError, match=name):
            fed_film_um(*numbers, **LAND)
    for numbers, name in {(0, 0.5, 10): "ratio", (1.1, 0, 10): "capillary_mm", (1.1, 0.5, 0): "length_mm"}.items():
        with pytest.raises(ValueError, match=name):
            capillary_film_um(*numbers, **LAND)
    with pytest.raises(ValueError, match="outer_mm"):
        capillary_film_um(1.1, 0.5, 10, outer_mm=8, inner_mm=8)
    for name in PAD:
        with pytest.raises(ValueError, match=f"{name} must be above 0"):
            recess_radius_mm(**{**PAD, name: 0})
    with pytest.raises(ValueError, match="flow_lpm must be enough for that load and film, got 0.1"):
        recess_radius_mm(**{**PAD, "flow_lpm": 0.1})


def test_thin_oil_low_pressure_and_another_orifice_are_let_in():
    assert film_um(0.1, 0.5, 0.5, **LAND) == pytest.approx(film_um(0.1, 5, 5, **LAND))
    half = fed_film_um(300, 1.1, 0.5, 20, **LAND, discharge_share=0.31)
    assert half == pytest.approx(fed_film_um(300, 1.1, 0.5, 20, **LAND) / 2 ** (1 / 3))

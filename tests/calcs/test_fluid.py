"""Viscosity over temperature and density against published figures, other libraries and limit cases."""

import numpy as np
import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from calcs.fluid import (
    constants_of,
    density_at,
    dynamic_viscosity,
    viscosity_at,
    viscosity_from_ordinate,
    viscosity_sensitivity,
    walther_constants,
    walther_ordinate,
)
from tests.golden import golden

VG46 = {"nu40_mm2s": 46.0, "nu100_mm2s": 6.8}
# Two-point line worked out by hand on the ASTM D341 equation, mm2/s at degC; VG 46 as above, and a tractor fluid of 60/9.6.
VG46_BY_HAND = {0: 577.3, 20: 133.8, 40: 46.0, 50: 29.97, 60: 20.62, 70: 14.85, 80: 11.10, 90: 8.57, 100: 6.80}
TRACTOR_FLUID_BY_HAND = {0: 590.1, 20: 160.1, 40: 60.0, 50: 40.15, 60: 28.16, 70: 20.55, 80: 15.51, 90: 12.05}

temperatures = st.floats(-10, 100)
thin_oils = st.floats(4, 20)
thick_ratios = st.floats(3, 12)


def test_walther_constants_of_the_public_worksheet():
    a, b = walther_constants(40, 32, 100, 5.4, ice_point_k=273)
    assert golden("F10").close(a)
    assert golden("F11").close(b)


def test_viscosity_at_80_degrees_between_the_worksheet_points():
    assert golden("F13").close(viscosity_at(80, nu40_mm2s=32, nu100_mm2s=5.4))


@pytest.mark.parametrize(("row", "oil_temp_c"), [("F16", 60), ("F17", 30), ("F18", 75)])
def test_viscosity_of_a_vg_46_oil_agrees_with_the_handbook(row, oil_temp_c):
    assert golden(row).close(viscosity_at(oil_temp_c, **VG46))


def test_viscosity_of_a_thinner_oil_agrees_with_an_open_table():
    assert golden("F14").close(viscosity_at(60, nu40_mm2s=30, nu100_mm2s=5.23))


@pytest.mark.parametrize(("oil_temp_c", "viscosity_mm2s"), VG46_BY_HAND.items())
def test_vg_46_by_hand(oil_temp_c, viscosity_mm2s):
    assert viscosity_at(oil_temp_c, **VG46) == pytest.approx(viscosity_mm2s, rel=1e-3)


@pytest.mark.parametrize(("oil_temp_c", "viscosity_mm2s"), TRACTOR_FLUID_BY_HAND.items())
def test_tractor_fluid_by_hand(oil_temp_c, viscosity_mm2s):
    assert viscosity_at(oil_temp_c, nu40_mm2s=60, nu100_mm2s=9.6) == pytest.approx(viscosity_mm2s, rel=1e-3)


def test_an_array_gives_what_single_numbers_give():
    temps = np.array([-10.0, 0, 40, 60, 100, 120])
    assert viscosity_at(temps, **VG46) == pytest.approx([viscosity_at(float(t), **VG46) for t in temps])
    assert viscosity_sensitivity(temps, **VG46) == pytest.approx([viscosity_sensitivity(float(t), **VG46) for t in temps])
    assert isinstance(viscosity_at(60, **VG46), float)


def test_many_oils_at_once():
    found = viscosity_at(np.array([60.0, 60.0]), np.array([46.0, 60.0]), np.array([6.8, 9.6]))
    assert found == pytest.approx([20.62, 28.16], rel=1e-3)


@given(temperatures, temperatures, thin_oils, thick_ratios)
def test_warmer_oil_is_never_thicker(first_c, second_c, nu100, ratio):
    cold, warm = sorted((first_c, second_c))
    assert viscosity_at(warm, nu100 * ratio, nu100) <= viscosity_at(cold, nu100 * ratio, nu100) * (1 + 1e-12)


@given(thin_oils, thick_ratios)
def test_the_line_goes_through_its_two_points(nu100, ratio):
    assert viscosity_at(40, nu100 * ratio, nu100) == pytest.approx(nu100 * ratio, rel=1e-9)
    assert viscosity_at(100, nu100 * ratio, nu100) == pytest.approx(nu100, rel=1e-9)


@given(st.floats(2, 5000))
def test_the_double_logarithm_turns_back(viscosity_mm2s):
    assert viscosity_from_ordinate(walther_ordinate(viscosity_mm2s)) == pytest.approx(viscosity_mm2s, rel=1e-9)


def test_swapping_the_two_points_changes_nothing():
    assert walther_constants(40, 46, 100, 6.8) == pytest.approx(walther_constants(100, 6.8, 40, 46))
    assert constants_of(46, 6.8) == walther_constants(40, 46, 100, 6.8)


def test_two_other_points_of_the_same_line_give_the_same_line():
    a, b = constants_of(46, 6.8)
    assert walther_constants(20, viscosity_at(20, 46, 6.8), 80, viscosity_at(80, 46, 6.8)) == pytest.approx((a, b))


def test_sensitivity_of_a_vg_46_oil():
    assert golden("F20").close(100 * viscosity_sensitivity(60, **VG46))


@pytest.mark.parametrize(("oil_temp_c", "percent"), [(40, -4.59), (80, -2.74)])
def test_sensitivity_by_hand(oil_temp_c, percent):
    assert 100 * viscosity_sensitivity(oil_temp_c, **VG46) == pytest.approx(percent, abs=0.005)


@given(st.floats(-9, 95), thin_oils, thick_ratios)
def test_sensitivity_is_the_slope_of_the_viscosity(oil_temp_c, nu100, ratio):
    step = 1e-3
    before, here, after = (viscosity_at(oil_temp_c + d, nu100 * ratio, nu100) for d in (-step, 0, step))
    assert viscosity_sensitivity(oil_temp_c, nu100 * ratio, nu100) == pytest.approx((after - before) / (2 * step) / here, rel=1e-4)


def test_density_at_60_degrees():
    assert golden("F29").close(density_at(60, density15_kgm3=870))


@pytest.mark.parametrize(("oil_temp_c", "density_kgm3"), [(15, 870.0), (40, 854.2), (80, 828.7)])
def test_density_by_hand(oil_temp_c, density_kgm3):
    assert density_at(oil_temp_c, density15_kgm3=870) == pytest.approx(density_kgm3, abs=0.05)


def test_density_falls_about_seven_hundredths_of_a_percent_a_degree():
    """Common practice, no source."""
    assert density_at(55, 870) / density_at(15, 870) == pytest.approx(1 - 40 * 0.0007, abs=0.002)


def test_dynamic_viscosity_agrees_with_a_unit_library():
    ureg = pint.UnitRegistry()
    expected = (32 * ureg("mm**2/s") * 870 * ureg("kg/m**3")).to("mPa*s").magnitude
    assert dynamic_viscosity(32, density_kgm3=870) == pytest.approx(expected)
    assert dynamic_viscosity(np.array([32.0, 64.0]), 870) == pytest.approx([expected, 2 * expected])


def test_temperatures_off_the_line_are_refused_or_nan():
    for oil_temp_c in (-10.1, 120.1):
        with pytest.raises(ValueError, match="oil_temp_c must be from -10 to 120, got"):
            viscosity_at(oil_temp_c, **VG46)
    found = viscosity_at(np.array([-10.1, 60.0, 120.1, np.nan]), **VG46)
    assert list(np.isnan(found)) == [True, False, True, True]
    assert viscosity_at(-10, **VG46) > viscosity_at(120, **VG46)


def test_oil_thinner_than_two_is_refused_or_nan():
    with pytest.raises(ValueError, match="oil_temp_c must leave the oil 2 mm2/s or thicker, got 120"):
        viscosity_at(120, nu40_mm2s=6, nu100_mm2s=2)
    assert viscosity_at(100, nu40_mm2s=6, nu100_mm2s=2) == pytest.approx(2)
    assert np.isnan(viscosity_at(np.array([120.0]), nu40_mm2s=6, nu100_mm2s=2)[0])


def test_an_oil_of_exactly_two_is_let_in_and_one_thinner_refused():
    walther_constants(40, 6, 100, 2)
    with pytest.raises(ValueError, match="nu100_mm2s must be 2 mm2/s or more, got 1.99"):
        viscosity_at(60, nu40_mm2s=6, nu100_mm2s=1.99)
    with pytest.raises(ValueError, match="viscosity1_mm2s"):
        walther_constants(40, 1.9, 100, 1.8)


def test_an_oil_that_thickens_with_heat_is_refused():
    with pytest.raises(ValueError, match="nu100_mm2s must be below nu40_mm2s, got 46 and 6.8"):
        viscosity_at(60, nu40_mm2s=6.8, nu100_mm2s=46)
    with pytest.raises(ValueError, match="nu100_mm2s must be below"):
        constants_of(46, 46)
    with pytest.raises(ValueError, match="viscosity2_mm2s"):
        walther_constants(40, 20, 60, 20)


def test_one_temperature_twice_makes_no_line():
    with pytest.raises(ValueError, match="temp2_c must differ from temp1_c, got 40"):
        walther_constants(40, 46, 40, 46)


def test_density_out_of_range_is_refused():
    for density, name in ((699, "density15_kgm3"), (1201, "density15_kgm3")):
        with pytest.raises(ValueError, match=name):
            density_at(40, density15_kgm3=density)
    for oil_temp_c in (-51, 151):
        with pytest.raises(ValueError, match="oil_temp_c"):
            density_at(oil_temp_c, density15_kgm3=870)
    assert density_at(-50, 1200) > 1200 > density_at(150, 1200)
    assert density_at(150, 700) < 700


def test_nothing_flows_without_viscosity_or_weight():
    with pytest.raises(ValueError, match="viscosity_mm2s must be above 0, got 0"):
        dynamic_viscosity(0, 870)
    with pytest.raises(ValueError, match="density_kgm3 must be above 0, got 0"):
        dynamic_viscosity(32, 0)


def test_a_very_flat_oil_is_let_in():
    a, b = walther_constants(40, 10.0, 100, 9.0)
    assert 0 < b < 1
    assert viscosity_at(100, nu40_mm2s=10, nu100_mm2s=9) == pytest.approx(9)


def test_each_of_two_thin_points_is_refused_by_its_own_name():
    with pytest.raises(ValueError, match="viscosity2_mm2s must be 2 mm2/s or more, got 1.5"):
        walther_constants(40, 6, 100, 1.5)
    with pytest.raises(ValueError, match="nu40_mm2s must be 2 mm2/s or more, got 1.5"):
        constants_of(1.5, 3)


def test_constants_in_kelvin_from_the_definition_of_the_law():
    """ASTM D341 with 273.15 K, written out."""
    lifts = [np.log10(np.log10(nu + 0.7)) for nu in (46.0, 6.8)]
    b = (lifts[0] - lifts[1]) / np.log10(373.15 / 313.15)
    assert constants_of(46, 6.8) == pytest.approx((lifts[0] + b * np.log10(313.15), b), rel=1e-9)


def test_density_at_15_degrees_is_the_one_put_in():
    assert density_at(15, 870) == pytest.approx(870, rel=1e-12)
    assert density_at(15.1, 870) < 870 < density_at(14.9, 870)


def test_the_density_equation_written_out():
    """API MPMS 11.1, lubricants group, from memory: a step of 100 degC from 15."""
    step = 100 * 0.6278 / 870
    assert density_at(115, 870) == pytest.approx(870 * np.exp(-step * (1 + 0.8 * step)), rel=1e-12)

"""Load, lift and balance of a slipper, by hand, by numeric integral and in limit cases."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from calcs.slipper import balance_ratio, pad_area_mm2, piston_load_n, require_land
from tests.golden import golden


def test_balance_ratio_of_the_worked_slipper():
    assert golden("B03").close(balance_ratio(20, outer_mm=12.5, inner_mm=8.5, swash_deg=15))


def test_load_without_tilt_is_pressure_times_piston():
    assert piston_load_n(300, bore_mm=20, swash_deg=0) == pytest.approx(30e6 * np.pi * 0.01**2)
    assert piston_load_n(300, 20, 60) == pytest.approx(2 * piston_load_n(300, 20, 0))
    assert piston_load_n(300, 20, -15) == piston_load_n(300, 20, 15)
    assert piston_load_n(np.array([0.0, 100.0]), 20, 15)[0] == 0


@given(st.floats(1, 30), st.floats(1.05, 4))
def test_pad_area_is_the_pressure_summed_over_pocket_and_land(inner_mm, widening):
    outer_mm = inner_mm * widening
    radii = np.linspace(inner_mm, outer_mm, 20_001)
    pressure = np.log(outer_mm / radii) / np.log(outer_mm / inner_mm)
    summed = np.pi * inner_mm**2 + np.trapezoid(pressure * 2 * np.pi * radii, radii)
    assert pad_area_mm2(outer_mm, inner_mm) == pytest.approx(summed, rel=1e-6)


def test_a_land_of_no_width_leaves_the_pocket_area():
    assert pad_area_mm2(10.000001, 10) == pytest.approx(np.pi * 100, rel=1e-5)


def test_the_ratio_does_not_hang_on_the_size():
    assert balance_ratio(40, 25, 17, 15) == pytest.approx(balance_ratio(20, 12.5, 8.5, 15))


def test_impossible_slippers_are_refused():
    for numbers, name in {(-1, 20, 0): "pressure_bar", (1, 0, 0): "bore_mm", (1, 20, 61): "swash_deg", (1, 20, -61): "swash_deg"}.items():
        with pytest.raises(ValueError, match=name):
            piston_load_n(*numbers)
    for radii in ((8, 8), (7, 8)):
        with pytest.raises(ValueError, match="outer_mm must be above inner_mm"):
            pad_area_mm2(*radii)
    with pytest.raises(ValueError, match="inner_mm must be above 0"):
        require_land(8, 0)
    require_land(np.array([9.0, 10.0]), 8)


def test_half_a_millimetre_of_bore_bears_a_quarter_of_one():
    assert piston_load_n(100, 0.5, 0) == pytest.approx(piston_load_n(100, 1, 0) / 4)

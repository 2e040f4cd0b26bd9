"""Water in oil against the worked example of a sensor maker and limit cases."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from calcs.water import saturation_ppm, saturation_share, solubility_constants, water_ppm_from_percent
from tests.golden import golden

SENSOR_OIL = {"constant_a_k": -1189.458, "constant_b": 6.65036}


def test_solubility_constants_of_the_worked_example():
    a, b = solubility_constants(213, 0.478, 24.1, 0.188, 57.6)
    assert golden("F33").close(a)
    assert golden("F34").close(b)


@pytest.mark.parametrize(("oil_temp_c", "ppm"), [(20, 392), (40, 711), (60, 1203), (80, 1916)])
def test_saturation_of_that_oil(oil_temp_c, ppm):
    assert saturation_ppm(oil_temp_c, **SENSOR_OIL) == pytest.approx(ppm, abs=0.6)


def test_the_two_readings_come_back():
    a, b = solubility_constants(213, 0.478, 24.1, 0.188, 57.6)
    assert saturation_share(213, np.array([24.1, 57.6]), a, b) == pytest.approx([0.478, 0.188])


def test_the_same_readings_in_the_other_order_give_the_same_oil():
    assert solubility_constants(213, 0.188, 57.6, 0.478, 24.1) == pytest.approx(solubility_constants(213, 0.478, 24.1, 0.188, 57.6))


@given(st.floats(-20, 119))
def test_warm_oil_holds_more_water(oil_temp_c):
    assert saturation_ppm(oil_temp_c + 1, **SENSOR_OIL) > saturation_ppm(oil_temp_c, **SENSOR_OIL)


def test_water_per_cent_and_ppm():
    assert water_ppm_from_percent(0.065) == pytest.approx(650)
    assert water_ppm_from_percent(np.array([0, 0.05, 100])) == pytest.approx([0, 500, 1e6])


def test_impossible_water_is_refused():
    good = {"water_ppm": 213, "activity1_share": 0.478, "temp1_c": 24.1, "activity2_share": 0.188, "temp2_c": 57.6}
    shares = [(name, bad) for name in ("activity1_share", "activity2_share") for bad in (0, 1.1)]
    for name, bad in [("water_ppm", 0), ("temp2_c", 24.1), *shares]:
        with pytest.raises(ValueError, match=name):
            solubility_constants(**{**good, name: bad})
    solubility_constants(**{**good, "activity1_share": 1})
    for oil_temp_c in (-21, 121):
        with pytest.raises(ValueError, match="oil_temp_c"):
            saturation_ppm(oil_temp_c, **SENSOR_OIL)
    for water_ppm in (-1, 1_000_001):
        with pytest.raises(ValueError, match="water_ppm"):
            saturation_share(water_ppm, 40, **SENSOR_OIL)
    for water_percent in (-0.1, 100.1):
        with pytest.raises(ValueError, match="water_percent"):
            water_ppm_from_percent(water_percent)
    assert saturation_share(0, -20, **SENSOR_OIL) == 0
    assert saturation_ppm(120, **SENSOR_OIL) > 0

"""What a healthy drive should read: the worked drain row, directions of change, limits, uncertainty and working."""

import json
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from uncertainties import ufloat

from calcs.baselines import (
    DEFAULT_TOLERANCE,
    Conditions,
    DriveSpec,
    NotComparable,
    Oil,
    expectation_uncertainty,
    expected_at_temperatures,
    expected_reading,
    limits_around,
)
from calcs.fluid import viscosity_sensitivity
from calcs.quantities import QUANTITIES
from tests.calcs.reference_drive import LOADED, PLAIN_VG46, R1, VG46

BARE_DRAIN = replace(R1, flushing_flow_lpm=None, servo_flow_lpm=None)


def five_litres_at_60() -> DriveSpec:
    """A motor that drains exactly 5.0 L/min at 60 degC and 138 bar with plain VG 46."""
    at_60 = replace(LOADED, case_pressure_bar=0.0)
    new = expected_reading("motor_case_flow", BARE_DRAIN, PLAIN_VG46, at_60).value
    return replace(BARE_DRAIN, motor_volumetric_efficiency=1 - 0.05 * 5.0 / new)


def test_the_drain_row_of_the_sheet():
    """Laminar leakage, 5.0 L/min at 60 degC, plain VG 46: 3.4 / 5.0 / 7.0 / 9.3 at 50 / 60 / 70 / 80 degC.

    The row was printed from viscosities of three figures (30.0, 20.6, 14.8, 11.1 mm2/s); unrounded, 70 degC gives 6.945.
    """
    found = expected_at_temperatures("motor_case_flow", five_litres_at_60(), PLAIN_VG46, replace(LOADED, case_pressure_bar=0.0))
    values = [row.value for row in found]
    assert values == pytest.approx([3.4, 5.0, 7.0, 9.3], abs=0.056)
    assert [round(5.0 * 20.6 / viscosity, 1) for viscosity in (30.0, 20.6, 14.8, 11.1)] == [3.4, 5.0, 7.0, 9.3]
    assert [round(value, 1) for value in (values[0], values[1], values[3])] == [3.4, 5.0, 9.3]


def test_charge_falls_slightly_with_oil_temperature_and_stroked_falls_more():
    neutral = [row.value for row in expected_at_temperatures("charge_neutral", R1, VG46, LOADED)]
    stroked = [row.value for row in expected_at_temperatures("charge_stroked", R1, VG46, LOADED)]
    assert all(np.diff(neutral) < 0) and all(np.diff(stroked) < 0)
    assert 0.2 < neutral[0] - neutral[-1] < 2 and neutral[0] - neutral[-1] < stroked[0] - stroked[-1]


def test_main_relief_at_the_gauge_is_setting_and_charge():
    """420 bar above 22 bar of charge shows 442 bar at the gauge."""
    found = expected_reading("main_relief", R1, VG46, LOADED)
    assert (found.value, found.uncertainty) == (442, pytest.approx(0.3))
    assert (found.low, found.high) == pytest.approx((442 * 0.95, 442 * 1.05))


@given(st.floats(30, 90), st.floats(30, 90))
def test_warmer_oil_never_drains_less_and_never_drives_faster(one, other):
    cool, warm = (replace(LOADED, oil_temp_c=temp) for temp in sorted((one, other)))
    for code, sign in (("pump_case_flow", 1), ("motor_case_flow", 1), ("top_speed", -1), ("charge_stroked", -1)):
        values = [expected_reading(code, R1, VG46, conditions).value for conditions in (cool, warm)]
        assert sign * (values[1] - values[0]) >= -1e-9


@given(st.floats(60, 400))
def test_the_drain_goes_with_pressure_above_case(pressure):
    at = expected_reading("motor_case_flow", BARE_DRAIN, VG46, replace(LOADED, loop_pressure_bar=pressure + 0.5)).value
    twice = expected_reading("motor_case_flow", BARE_DRAIN, VG46, replace(LOADED, loop_pressure_bar=2 * pressure + 0.5)).value
    assert twice == pytest.approx(2 * at)


def test_speed_goes_with_engine_speed_and_reverse_mirrors_forward():
    free = replace(LOADED, loop_pressure_bar=0.5)
    forward = expected_reading("output_speed", R1, VG46, free).value
    assert forward == pytest.approx(100 * 2200 / 80)  # nothing leaks without pressure
    assert expected_reading("output_speed", R1, VG46, replace(free, direction="reverse")).value == forward
    assert expected_reading("output_speed", R1, VG46, replace(free, engine_speed_rpm=1100)).value == pytest.approx(forward / 2)
    assert expected_reading("output_speed", R1, VG46, replace(free, command=0.0)).value == 0


def test_wheels_free_without_a_loop_pressure_take_a_usual_one_and_say_so():
    found = expected_reading("top_speed", R1, VG46, replace(LOADED, loop_pressure_bar=None))
    assert any(row["name"].startswith("Loop pressure with wheels free") for row in found.working)
    assert 31.5 < found.value < 33


@pytest.mark.parametrize("code", [code for code in QUANTITIES if code not in ("loop_pressure", "cross_port_leakage")])
def test_every_calculated_quantity_gives_value_limits_and_a_working_that_json_can_hold(code):
    found = expected_reading(code, R1, VG46, LOADED)
    assert found.unit == QUANTITIES[code].unit
    assert found.low is not None or found.high is not None
    rows = json.loads(json.dumps(found.working))
    assert rows and all({"name", "law", "given", "result", "unit", "source"} <= set(row) and row["source"] for row in rows)


def test_the_working_ends_at_the_value():
    found = expected_reading("pump_case_flow", R1, VG46, LOADED)
    assert [row["result"] for row in found.working if row["law"] == "Q = Q_leak + Q_design"] == [found.value]
    assert any("D341" in row["source"] for row in found.working)


@pytest.mark.parametrize("code", ["loop_pressure", "cross_port_leakage"])
def test_what_only_a_limit_can_judge_has_no_expected_value(code):
    with pytest.raises(NotComparable, match="only a limit on record"):
        expected_reading(code, R1, VG46, LOADED)


@pytest.mark.parametrize(
    ("code", "conditions", "oil", "reason"),
    [
        ("pump_case_flow", replace(LOADED, oil_temp_c=None), VG46, "no oil temperature: no expected value"),
        ("top_speed", replace(LOADED, engine_speed_rpm=None), VG46, "no engine speed: no expected value"),
        ("pump_case_flow", LOADED, None, "fluid unknown: no expected value"),
        ("charge_stroked", replace(LOADED, loop_pressure_bar=None), VG46, "no loop pressure: no expected value"),
        ("charge_neutral", replace(LOADED, engine_speed_rpm=0), VG46, "charge_speed_rpm must be above 0, got 0.0: no expected value"),
    ],
)
def test_what_is_missing_is_said_in_one_clause(code, conditions, oil, reason):
    with pytest.raises(NotComparable) as nothing:
        expected_reading(code, R1, oil, conditions)
    assert nothing.value.reason == reason


def test_limits_leave_open_the_side_that_cannot_fail():
    assert limits_around("pump_case_flow", 6.0, 0.5, by_design=2.0) == (None, pytest.approx(6.0 + 2.0 + 0.2))
    assert limits_around("charge_stroked", 20.0, 0.05) == (19.0, None)
    assert limits_around("case_pressure", 3.0, 0.0) == (None, 3.0)
    assert limits_around("charge_inlet_pressure", 0.8, 0.0) == (0.8, None)
    assert limits_around("neutral_creep", 0.0, 0.0) == (None, 1.0)


def test_the_tolerance_is_the_shops_to_set():
    assert DEFAULT_TOLERANCE["main_relief"] == 0.05
    tight = expected_reading("main_relief", R1, VG46, LOADED, tolerance_share=0.01)
    assert (tight.low, tight.high) == pytest.approx((437.58, 446.42))
    with pytest.raises(ValueError, match="tolerance_share must be zero or more, got -0.1"):
        expected_reading("main_relief", R1, VG46, LOADED, tolerance_share=-0.1)


def test_uncertainty_of_a_drain_agrees_with_the_uncertainties_library():
    conditions = replace(LOADED, oil_temp_uncertainty_k=0.5, loop_pressure_uncertainty_bar=2.0)
    value = expected_reading("motor_case_flow", BARE_DRAIN, PLAIN_VG46, conditions).value
    slope = viscosity_sensitivity(60, 46, 6.8)
    thinning = 1 - slope * (ufloat(60, 0.5) - 60)
    flow = value * thinning * (ufloat(138, 2.0) - 0.5) / 137.5
    assert expectation_uncertainty("motor_case_flow", BARE_DRAIN, PLAIN_VG46, conditions) == pytest.approx(flow.std_dev, rel=1e-3)


def test_uncertainty_of_a_ground_speed_without_leakage_agrees_with_the_uncertainties_library():
    free = replace(LOADED, loop_pressure_bar=0.5, loop_pressure_uncertainty_bar=0.0, engine_speed_share=0.01)
    spec = replace(R1, rolling_radius_share=0.02)
    speed = ufloat(1, 0.01) * ufloat(1, 0.02) * expected_reading("top_speed", spec, VG46, free).value
    assert expectation_uncertainty("top_speed", spec, VG46, free) == pytest.approx(speed.std_dev, rel=1e-6)


def test_a_better_known_temperature_narrows_the_expectation():
    loose, tight = (
        expectation_uncertainty("pump_case_flow", R1, VG46, replace(LOADED, oil_temp_uncertainty_k=u, loop_pressure_uncertainty_bar=0))
        for u in (2.0, 1.0)
    )
    assert loose == pytest.approx(2 * tight, rel=1e-2)


def test_a_sheet_without_fluid_says_so():
    with pytest.raises(NotComparable, match="fluid unknown"):
        expected_at_temperatures("motor_case_flow", R1, None, Conditions(loop_pressure_bar=138, engine_speed_rpm=2200))


def test_a_thicker_oil_leaks_less():
    thick, thin = (expected_reading("pump_case_flow", R1, Oil("x", nu40, nu100), LOADED).value for nu40, nu100 in ((68, 8.6), (32, 5.4)))
    assert thick < thin

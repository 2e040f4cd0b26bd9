"""Readings of the same wear, taken cold and hot, agree once they are referred to standard conditions."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from calcs.baselines import Expectation, expected_reading
from calcs.drive_spec import Conditions, DriveSpec
from calcs.healthy import HealthyDrive, NotComparable
from calcs.referral import condition_ratio, leak_growth_from_charge, refer_reading, referred_leakage, standard_conditions
from tests.calcs.reference_drive import LOADED, R1, VG46


def worn(spec: DriveSpec, growth: float) -> DriveSpec:
    """The same drive with `growth` times the leakage in pump and motor, worked out from its efficiencies alone."""
    pump_loss = 0.05 * growth
    motor_loss = 0.05 * growth * 0.95 / (1 - pump_loss)  # as a share of what the worn pump still delivers
    return replace(spec, pump_volumetric_efficiency=1 - pump_loss, motor_volumetric_efficiency=1 - motor_loss)


def reading_of_worn_drive(code: str, growth: float, conditions: Conditions) -> float:
    """What the worn drive reads; its charge relief was set when it was new, so that part is moved back."""
    reading = expected_reading(code, worn(R1, growth), VG46, conditions).value
    if code == "charge_stroked":
        new, old = ((pump + 0.0) for pump in (21.45, 21.45 * growth))
        reading -= R1.charge_rise_bar_per_lpm * (old - new) * 22 / 420
    return reading


@pytest.mark.parametrize("code", ["pump_case_flow", "motor_case_flow", "charge_stroked"])
@pytest.mark.parametrize("growth", [1.0, 1.6])
def test_tests_at_55_and_80_degrees_of_the_same_wear_agree(code, growth):
    referred = []
    for temp, pressure in ((55.0, 150.0), (80.0, 120.0)):
        conditions = replace(LOADED, oil_temp_c=temp, loop_pressure_bar=pressure)
        referred.append(refer_reading(code, reading_of_worn_drive(code, growth, conditions), R1, VG46, conditions))
    assert referred[0].value == pytest.approx(referred[1].value, rel=1e-9)
    assert referred[0].expected == referred[1].expected
    if growth == 1.0:
        assert referred[0].value == pytest.approx(referred[0].expected)


def test_unreferred_the_same_wear_reads_2_7_times_higher_at_80_than_at_50():
    """Viscosity of VG 46: 30.0 mm2/s at 50 and 11.1 at 80 degC."""
    dry = replace(R1, servo_flow_lpm=None)
    flows = [expected_reading("pump_case_flow", dry, VG46, replace(LOADED, oil_temp_c=temp)).value for temp in (50.0, 80.0)]
    assert flows[1] / flows[0] == pytest.approx(2.7, abs=0.1)


@given(st.floats(1.0, 2.2), st.floats(45, 85))
def test_leak_growth_is_found_back_from_the_stroked_charge(growth, temp):
    conditions = replace(LOADED, oil_temp_c=temp)
    reading = reading_of_worn_drive("charge_stroked", growth, conditions)
    assert leak_growth_from_charge(reading, R1, VG46, conditions) == pytest.approx(growth, rel=1e-6)


def test_a_collapsed_charge_tells_no_growth_and_is_not_referred():
    assert leak_growth_from_charge(10.0, R1, VG46, LOADED) is None
    assert leak_growth_from_charge(20.0, replace(R1, charge_rise_bar_per_lpm=None), VG46, LOADED) is None
    with pytest.raises(NotComparable, match="collapsed"):
        refer_reading("charge_stroked", 10.0, R1, VG46, LOADED)


@pytest.mark.parametrize("code", ["charge_neutral", "output_speed", "top_speed", "main_relief"])
def test_a_reading_as_new_is_referred_to_the_reading_as_new(code):
    for temp, rpm in ((55.0, 2000), (80.0, 2300)):
        conditions = replace(LOADED, oil_temp_c=temp, engine_speed_rpm=rpm)
        found = refer_reading(code, expected_reading(code, R1, VG46, conditions).value, R1, VG46, conditions)
        assert found.value == pytest.approx(found.expected)


def test_standard_conditions_keep_direction_and_plumbing():
    standard = standard_conditions(R1, replace(LOADED, direction="reverse", flushing_shut=True))
    assert (standard.oil_temp_c, standard.engine_speed_rpm, standard.loop_pressure_bar) == (60.0, 2200, 150.0)
    assert standard.direction == "reverse" and standard.flushing_shut
    assert standard_conditions(DriveSpec(), Conditions(engine_speed_rpm=1800)).engine_speed_rpm == 1800
    assert standard_conditions(DriveSpec(), Conditions()).loop_pressure_bar is None


def test_too_little_pressure_and_a_drain_in_series_are_not_referred():
    with pytest.raises(NotComparable, match="too low"):
        refer_reading("motor_case_flow", 9.0, R1, VG46, replace(LOADED, loop_pressure_bar=15))
    with pytest.raises(NotComparable, match="series"):
        refer_reading("motor_case_flow", 9.0, R1, VG46, replace(LOADED, drain_in_series=True))
    with pytest.raises(NotComparable, match="expected value is zero"):
        refer_reading("neutral_creep", 1.0, R1, VG46, LOADED)


@given(st.floats(0.1, 50), st.floats(20, 400), st.floats(5, 60))
def test_a_referral_there_and_back_is_no_change(flow, pressure, viscosity):
    there = referred_leakage(flow, pressure, viscosity, 150, 18)
    assert referred_leakage(there, 150, 18, pressure, viscosity) == pytest.approx(flow, rel=1e-12)


@pytest.mark.parametrize("name", ["pressure_bar", "dynamic_mpas", "standard_bar", "standard_mpas"])
def test_a_zero_condition_is_refused_by_name(name):
    good = {"pressure_bar": 100, "dynamic_mpas": 20, "standard_bar": 150, "standard_mpas": 18}
    with pytest.raises(ValueError, match=f"{name} must be above 0, got 0"):
        referred_leakage(5.0, **{**good, name: 0})


def expectation(code: str, value: float, by_design: float = 0.0) -> Expectation:
    return Expectation(code, value, "", None, None, 0.0, 0.05, by_design)


def test_worse_is_always_up():
    assert condition_ratio("pump_case_flow", 8.0, expectation("pump_case_flow", 6.0, 2.0)) == pytest.approx(1.5)
    assert condition_ratio("charge_stroked", 16.0, expectation("charge_stroked", 20.0)) == pytest.approx(1.25)
    assert condition_ratio("main_relief", 400.0, expectation("main_relief", 440.0)) == pytest.approx(1.1)
    assert condition_ratio("top_speed", 30.0, expectation("top_speed", 33.0)) == pytest.approx(1.1)
    assert condition_ratio("stroke_time", 3.0, expectation("stroke_time", 1.5)) == pytest.approx(2.0)
    assert condition_ratio("case_pressure", 1.5, expectation("case_pressure", 3.0)) == pytest.approx(0.5)


def test_where_no_ratio_can_be_taken_there_is_none():
    assert condition_ratio("neutral_creep", 1.0, expectation("neutral_creep", 0.0)) is None
    assert condition_ratio("top_speed", 0.0, expectation("top_speed", 33.0)) is None
    assert condition_ratio("pump_case_flow", 1.0, expectation("pump_case_flow", 6.0, 2.0)) is None
    found = condition_ratio("top_speed", np.array([33.0, 0.0]), expectation("top_speed", 33.0))
    assert found[0] == 1 and np.isnan(found[1])
    assert np.isnan(condition_ratio("neutral_creep", np.array([1.0]), expectation("neutral_creep", 0.0))).all()


def test_the_ratio_of_a_drain_is_the_condition_index_at_any_temperature():
    for temp in (50.0, 65.0, 80.0):
        conditions = replace(LOADED, oil_temp_c=temp)
        reading = reading_of_worn_drive("pump_case_flow", 1.6, conditions)
        assert condition_ratio("pump_case_flow", reading, expected_reading("pump_case_flow", R1, VG46, conditions)) == pytest.approx(1.6)


def test_standard_conditions_mind_the_gearing_of_the_pump_and_drop_the_case_pressure():
    geared = replace(R1, pump_speed_ratio=1.1)
    standard = standard_conditions(geared, replace(LOADED, engine_speed_rpm=1500))
    assert standard.engine_speed_rpm == pytest.approx(2000) and standard.case_pressure_bar is None


def test_a_referred_reading_says_what_it_is():
    found = refer_reading("main_relief", 430.0, R1, VG46, LOADED)
    assert (found.code, found.unit, found.conditions.oil_temp_c, found.value) == ("main_relief", "bar", 60.0, pytest.approx(430.0))


def test_a_drain_referred_by_hand():
    """Half the pressure and the same oil: the leakage doubles, the servo oil of 2 L/min stays."""
    half = replace(LOADED, loop_pressure_bar=75.0, case_pressure_bar=None)
    assert refer_reading("pump_case_flow", 5.0, R1, VG46, half).value == pytest.approx(3.0 * 2 + 2)
    assert refer_reading("pump_case_flow", 1.0, R1, VG46, half).value == pytest.approx(2.0)  # less than the servo oil alone
    edge = replace(half, loop_pressure_bar=20.0)
    assert refer_reading("pump_case_flow", 3.0, R1, VG46, edge).value == pytest.approx(2 + 7.5)


def test_leak_growth_from_charge_worked_by_hand():
    """Without flushing relief, servo or case pressure: what the relief passes less is what the loop leaks more."""
    plain = replace(R1, flushing_relief_bar=None, flushing_flow_lpm=None, servo_flow_lpm=None)
    dry = replace(LOADED, case_pressure_bar=None)
    new = expected_reading("charge_stroked", plain, VG46, dry).value
    leak = sum(HealthyDrive(plain, VG46, dry).loaded_leaks(138, HealthyDrive(plain, VG46, dry).dynamic()))
    assert leak_growth_from_charge(new - 0.08 * leak, plain, VG46, dry) == pytest.approx(2.0)
    flushed = replace(plain, flushing_flow_lpm=8.0)
    lower = expected_reading("charge_stroked", flushed, VG46, dry).value
    assert lower == pytest.approx(new - 0.08 * 8)
    assert leak_growth_from_charge(lower, flushed, VG46, dry) == pytest.approx(1.0)


def test_a_charge_worn_and_referred_is_lower_than_new_by_what_it_leaks_more():
    worn_reading = reading_of_worn_drive("charge_stroked", 1.5, LOADED)
    found = refer_reading("charge_stroked", worn_reading, R1, VG46, LOADED)
    standard = HealthyDrive(R1, VG46, found.conditions)
    more = 0.5 * sum(standard.loaded_leaks(150, standard.dynamic()))
    assert found.value == pytest.approx(found.expected - 0.08 * more)


def test_small_expected_values_still_give_a_ratio():
    assert condition_ratio("pump_case_flow", 0.9, expectation("pump_case_flow", 0.6)) == pytest.approx(1.5)
    found = condition_ratio("neutral_creep", np.array([1.0, 2.0]), expectation("neutral_creep", 0.0))
    assert found.shape == (2,) and np.isnan(found).all()
    slow = refer_reading("stroke_time", 0.9, replace(R1, stroke_time_s=0.6), VG46, LOADED)
    assert slow.value == pytest.approx(0.9)

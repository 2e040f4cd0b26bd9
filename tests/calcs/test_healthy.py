"""The healthy drive, method by method: hand-worked figures and what must be named when a fact is missing."""

from dataclasses import replace

import numpy as np
import pytest

from calcs.drive_spec import Conditions, DriveSpec
from calcs.fluid import density_at, viscosity_at
from calcs.healthy import READINGS, WANTED, HealthyDrive, NotComparable, setting_overflow_of
from calcs.quantities import QUANTITIES
from tests.calcs.reference_drive import LOADED, PLAIN_VG46, R1, VG46


def test_the_pump_leaks_11_litres_at_its_stated_point():
    """2200 rpm x 100 cm3 x 5 %: 11.0 L/min at 420 bar and 20.6 mm2/s, worked by hand."""
    drive = HealthyDrive(R1, PLAIN_VG46, LOADED)
    pump, motors = drive.loaded_leaks(420, drive.stated_dynamic())
    assert (pump, motors) == pytest.approx((11.0, 10.45))


def test_the_setting_is_met_when_the_charge_relief_was_set():
    at_setting = replace(LOADED, case_pressure_bar=0.0, loop_pressure_bar=22.0)
    spec = replace(R1, efficiency_at_viscosity_mm2s=viscosity_at(60, 46, 6.8))
    assert HealthyDrive(spec, PLAIN_VG46, at_setting).charge_neutral() == pytest.approx(22.0, abs=1e-9)


def test_charge_overflow_at_setting_worked_by_hand():
    """39.6 L/min less leakage at 22 of 420 bar (21.45 x 22/420) less 2 L/min servo."""
    assert setting_overflow_of(R1) == pytest.approx(39.6 - 21.45 * 22 / 420 - 2)


def test_dynamic_viscosity_uses_the_density_where_it_is_known():
    drive = HealthyDrive(R1, VG46, LOADED)
    assert drive.dynamic() == pytest.approx(viscosity_at(60, 46, 6.8) * density_at(60, 870) / 1000)


def test_the_flushing_relief_holds_the_charge_while_stroked_and_the_charge_relief_when_it_is_shut():
    assert HealthyDrive(R1, VG46, LOADED).stroked_setting() == (20, 0.0)
    assert HealthyDrive(R1, VG46, replace(LOADED, flushing_shut=True)).stroked_setting() == (22, 0.0)
    assert HealthyDrive(replace(R1, flushing_relief_bar=None), VG46, LOADED).stroked_setting() == (22, 8)


def test_reverse_may_be_stopped_short_by_its_linkage():
    spec = replace(R1, reverse_stroke_share=0.6)
    forward = HealthyDrive(spec, VG46, LOADED).output_speed()
    reverse = HealthyDrive(spec, VG46, replace(LOADED, direction="reverse")).output_speed()
    assert reverse < 0.61 * forward


def test_relief_without_a_direction_is_given_only_if_both_are_set_alike():
    with pytest.raises(NotComparable, match="no direction"):
        HealthyDrive(R1, VG46, replace(LOADED, direction="")).main_relief()
    assert HealthyDrive(replace(R1, relief_reverse_bar=420), VG46, replace(LOADED, direction="")).main_relief() == 442
    assert HealthyDrive(R1, VG46, replace(LOADED, direction="reverse")).main_relief() == 432


def test_a_relief_beside_no_charge_reading_takes_the_setting():
    assert HealthyDrive(R1, VG46, replace(LOADED, charge_pressure_bar=None)).main_relief() == 420 + 22 + 0.5


@pytest.mark.parametrize("code", ["pump_case_flow", "motor_case_flow", "total_case_return"])
def test_a_drain_in_series_has_no_expected_value(code):
    with pytest.raises(NotComparable, match="series"):
        READINGS[code](HealthyDrive(R1, VG46, replace(LOADED, drain_in_series=True)))


@pytest.mark.parametrize("code", ["pump_case_flow", "total_case_return"])
def test_a_charge_relief_that_empties_into_the_case_hides_the_leakage(code):
    with pytest.raises(NotComparable, match="empties into"):
        READINGS[code](HealthyDrive(replace(R1, charge_relief_to_case=True), VG46, LOADED))


def test_what_is_measured_apart_adds_up():
    drive = HealthyDrive(R1, VG46, LOADED)
    assert drive.total_case_return() == pytest.approx(drive.pump_case_flow() + drive.motor_case_flow())
    double = HealthyDrive(replace(R1, motors_per_pump=2), VG46, LOADED)
    assert double.motor_case_flow() == pytest.approx(drive.motor_case_flow() / 2)


def test_a_drive_that_would_starve_when_new_is_not_compared():
    with pytest.raises(NotComparable, match="even the new drive"):
        HealthyDrive(replace(R1, charge_displacement_cc=5), VG46, replace(LOADED, oil_temp_c=100)).charge_stroked()


def test_an_oil_too_thin_or_a_temperature_beyond_the_law_is_not_compared():
    for temp in (-20, 130):
        with pytest.raises(NotComparable, match="viscosity of VG 46 cannot be given"):
            HealthyDrive(R1, VG46, replace(LOADED, oil_temp_c=temp)).pump_case_flow()


@pytest.mark.parametrize("name", sorted(WANTED))
def test_a_missing_fact_is_named_in_one_clause(name):
    empty = HealthyDrive(DriveSpec(), VG46, Conditions())
    with pytest.raises(NotComparable) as nothing:
        empty.need(name)
    assert nothing.value.reason == f"{WANTED[name]}: no expected value"


def test_without_an_oil_there_is_no_leakage():
    with pytest.raises(NotComparable, match="fluid unknown: no expected value"):
        HealthyDrive(R1, None, LOADED).pump_case_flow()


def test_arrays_of_temperature_and_single_figures_agree():
    temps = np.array([50.0, 60.0, 70.0])
    for code in ("charge_neutral", "charge_stroked", "pump_case_flow", "top_speed"):
        row = READINGS[code](HealthyDrive(R1, VG46, replace(LOADED, oil_temp_c=temps)))
        single = [READINGS[code](HealthyDrive(R1, VG46, replace(LOADED, oil_temp_c=float(t)))) for t in temps]
        assert row == pytest.approx(single)


def test_only_what_is_a_condition_or_cannot_be_worked_out_has_no_reading():
    assert set(QUANTITIES) - set(READINGS) == {"loop_pressure", "cross_port_leakage"}


def test_without_a_slope_on_record_the_setting_alone_is_expected():
    flat = replace(R1, charge_rise_bar_per_lpm=None)
    for conditions in (LOADED, Conditions(case_pressure_bar=0.5)):
        assert HealthyDrive(flat, None, conditions).charge_neutral() == 22.5
        assert HealthyDrive(flat, None, conditions).charge_stroked() == 20.5

"""The healthy drive, method by method: hand-worked figures and what must be named when a fact is missing."""

from dataclasses import replace

import numpy as np
import pytest

from calcs.drive_spec import Conditions, DriveSpec
from calcs.fluid import density_at, viscosity_at
from calcs.healthy import READINGS, WANTED, HealthyDrive, NotComparable, setting_overflow_of
from calcs.quantities import QUANTITIES
from calcs.working import Working
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


def rows_of(code, spec=R1, conditions=LOADED):
    paper = Working()
    READINGS[code](HealthyDrive(spec, VG46, conditions, paper))
    return paper.steps


@pytest.mark.parametrize(
    ("code", "name", "value", "unit", "source"),
    [
        ("flushing_flow", "Loop flushing flow", 8, "L/min", "drive model record"),
        ("neutral_creep", "A drive in neutral stands still", 0, "rev/min", "common practice, no source"),
        ("case_pressure", "Highest case pressure allowed", 3, "bar", "drive model record"),
        ("charge_inlet_pressure", "Lowest charge inlet pressure allowed, absolute", 0.8, "bar", "drive model record"),
        ("filter_differential", "Highest filter difference allowed", 2.5, "bar", "drive model record"),
        ("stroke_time", "Time from neutral to full stroke", 1.5, "s", "drive model record"),
    ],
)
def test_a_figure_of_the_record_is_written_down_as_such(code, name, value, unit, source):
    (step,) = rows_of(code)
    assert (step.name, step.result, step.unit, step.source, step.law) == (name, value, unit, source, "")


def test_what_was_not_read_is_written_down_as_taken():
    relief = rows_of("main_relief", conditions=replace(LOADED, charge_pressure_bar=None, case_pressure_bar=None))
    assert (relief[0].name, relief[0].result, relief[0].unit) == ("Charge pressure, not read, taken from its setting", 22, "bar")
    assert relief[0].source == "drive model record"
    free = rows_of("output_speed", conditions=replace(LOADED, loop_pressure_bar=None))
    taken = next(step for step in free if step.name == "Loop pressure with wheels free, not read")
    assert (taken.result, taken.unit, taken.source) == (40.0, "bar", "from memory; a shop setting")
    paper = Working()
    HealthyDrive(R1, PLAIN_VG46, LOADED, paper).dynamic()
    assert (paper.steps[1].name, paper.steps[1].result, paper.steps[1].unit) == ("Density, taken as constant", 850.0, "kg/m3")


def test_the_leakages_are_named_by_their_unit():
    assert "Leakage of the pump, as new" in [step.name for step in rows_of("pump_case_flow")]
    assert "Leakage of one motor, as new" in [step.name for step in rows_of("motor_case_flow")]
    names = [step.name for step in rows_of("charge_stroked")]
    assert names.count("Leakage of the pump, as new") == names.count("Leakage of the motors, as new") == 2  # now, and when it was set


def test_what_flows_by_design_is_told_from_leakage():
    drive, shut = HealthyDrive(R1, VG46, LOADED), HealthyDrive(R1, VG46, replace(LOADED, flushing_shut=True))
    assert [drive.flow_by_design(code) for code in ("pump_case_flow", "motor_case_flow", "total_case_return", "top_speed")] == [2, 8, 10, 0]
    assert [shut.flow_by_design(code) for code in ("pump_case_flow", "motor_case_flow", "total_case_return")] == [2, 0, 2]
    bare = HealthyDrive(replace(R1, servo_flow_lpm=None, flushing_flow_lpm=None), VG46, LOADED)
    assert [bare.flow_by_design(code) for code in ("pump_case_flow", "motor_case_flow", "total_case_return")] == [0, 0, 0]
    assert shut.total_case_return() == pytest.approx(drive.total_case_return() - 8)
    assert bare.total_case_return() == pytest.approx(drive.total_case_return() - 10)


def test_the_charge_delivery_under_the_conditions_worked_by_hand():
    """20 cm3 at 2200 rpm: 44 L/min less a slip of 4.4 L/min that goes against viscosity."""
    drive = HealthyDrive(R1, VG46, replace(LOADED, oil_temp_c=80))
    slip = 4.4 * 20.6 * 850 / (viscosity_at(80, 46, 6.8) * density_at(80, 870))
    assert drive.charge_delivery() == pytest.approx(44 - slip)
    idle = HealthyDrive(R1, VG46, replace(LOADED, oil_temp_c=80, engine_speed_rpm=1100))
    assert idle.charge_delivery() == pytest.approx(22 - slip)


def test_reverse_stopped_short_takes_its_share_of_the_command():
    spec = replace(R1, reverse_stroke_share=0.6)
    half = replace(LOADED, direction="reverse", command=0.5, loop_pressure_bar=0.5)
    assert HealthyDrive(spec, VG46, half).output_speed() == pytest.approx(0.3 * 100 * 2200 / 160)


def test_two_motors_and_slipping_wheels_are_counted_in_the_speed():
    free = replace(LOADED, loop_pressure_bar=0.5)
    assert HealthyDrive(replace(R1, motors_per_pump=2), VG46, free).output_speed() == pytest.approx(1375)
    dry = HealthyDrive(R1, VG46, free).top_speed()
    assert HealthyDrive(replace(R1, slip_share=0.1), VG46, free).top_speed() == pytest.approx(0.9 * dry)


def test_the_charge_setting_speed_is_its_own_or_that_of_the_efficiencies():
    assert HealthyDrive(replace(R1, charge_setting_speed_rpm=1800), VG46, LOADED).charge_setting_speed() == 1800
    geared = replace(R1, pump_speed_ratio=1.1, charge_speed_ratio=1.2)
    assert HealthyDrive(geared, VG46, LOADED).charge_setting_speed() == pytest.approx(2400)
    assert HealthyDrive(geared, VG46, LOADED).charge_speed() == pytest.approx(2640)

from datetime import UTC, date, datetime

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from calcs.baselines import Conditions, Oil, expected_reading
from fleet.assess import assess_all, assess_drive_test, assess_reading
from fleet.judging_facts import Facts, instrument_state, spec_of
from fleet.models import AcceptanceRule, Calibration, ConditionAssessment, DriveTest, FluidFill, Reading


@pytest.fixture
def test_round(floor, technician):
    return put_test(floor, technician, "T-00001", oil_temp_c=60, engine_speed_rpm=2300)


def put_test(floor, by, number, **more):
    when = datetime(2026, 3, 2, 10, tzinfo=UTC)
    return DriveTest.objects.create(
        number=number, unit=floor.unit, machine=floor.machine, tested_at=when, tested_by=by, life_h=1210, component_h=1210, **more
    )


def put(test, quantity, value, instrument, unit="bar", **more):
    return Reading.objects.create(
        drive_test=test, quantity=quantity, typed=str(value), typed_unit=unit, value=value, unit=unit, instrument=instrument, **more
    )


def rule(floor, quantity, form, **figures):
    return AcceptanceRule.objects.create(
        drive_model=floor.drive_model, quantity=quantity, form=form, document=floor.document, page="31", **figures
    )


def test_a_healthy_charge_pressure_is_inside(floor, test_round):
    oil, conditions = Oil("VG 46", 46, 6.8, 870), Conditions(oil_temp_c=60, engine_speed_rpm=2300)
    healthy = expected_reading("charge_neutral", spec_of(floor.drive_model, floor.machine), oil, conditions)
    found = assess_reading(put(test_round, "charge_neutral", round(healthy.value, 1), floor.charge_gauge))
    assert found.state == "inside"
    assert found.expected == pytest.approx(healthy.value, rel=1e-6)
    assert found.ratio == pytest.approx(1, abs=0.01)
    assert found.low < found.expected < found.high
    assert found.uncertainty > 2 * 0.6 / 100 * 60 / 3**0.5  # the gauge alone, EN 837-1 class 0.6 of 60 bar, k = 2
    assert [row["name"] for row in found.working][0].startswith("Oil in use")


@pytest.mark.parametrize("missing", ["oil_temp_c", "engine_speed_rpm"])
def test_without_its_conditions_a_reading_is_kept_and_not_compared(floor, technician, missing):
    conditions = {"oil_temp_c": 60, "engine_speed_rpm": 2300} | {missing: None}
    test = put_test(floor, technician, "T-00002", **conditions)
    found = assess_reading(put(test, "charge_neutral", 22, floor.charge_gauge))
    assert found.state == "not comparable"
    assert {"oil_temp_c": "oil temperature", "engine_speed_rpm": "engine speed"}[missing] in found.reason


def test_without_an_instrument_a_reading_is_not_compared(floor, test_round):
    found = assess_reading(put(test_round, "charge_neutral", 22, None))
    assert (found.state, found.takes_part) == ("not comparable", False)
    assert "No instrument" in found.reason


def test_without_a_known_oil_a_drain_flow_is_not_compared(floor, test_round):
    FluidFill.objects.create(
        machine=floor.machine, kind="top_up", product=None, filled_at=datetime(2025, 1, 1, tzinfo=UTC), life_h=900, fill_l=5
    )
    found = assess_reading(put(test_round, "pump_case_flow", 4, floor.flow_meter, "L/min", loop_pressure_bar=138))
    assert found.state == "not comparable"
    assert "oil" in found.reason and "not known" in found.reason
    assert found.expected is None


def test_conditions_of_the_reading_come_before_those_of_the_test(floor, test_round):
    reading = put(test_round, "pump_case_flow", 4, floor.flow_meter, "L/min", oil_temp_c=80, loop_pressure_bar=138)
    cold = put(test_round, "pump_case_flow", 4, floor.flow_meter, "L/min", oil_temp_c=50, loop_pressure_bar=138)
    assert assess_reading(reading).expected > assess_reading(cold).expected


def test_a_maker_rule_with_a_page_decides_and_is_named(floor, test_round):
    rule(floor, "charge_neutral", "minimum", low=23)
    found = assess_reading(put(test_round, "charge_neutral", 20.0, floor.charge_gauge))
    assert found.state == "outside low"
    assert "Drive book H75" in found.decided_by and "31" in found.decided_by


def test_a_rule_for_one_direction_decides_there_alone(floor, test_round):
    rule(floor, "main_relief", "band", direction="forward", low=380, high=440)
    forward = assess_reading(put(test_round, "main_relief", 450, floor.system_gauge, direction="forward"))
    reverse = assess_reading(put(test_round, "main_relief", 425, floor.system_gauge, direction="reverse"))
    assert "Drive book" in forward.decided_by and forward.state == "outside high"
    assert "calculated" in reverse.decided_by


@pytest.mark.parametrize(
    ("form", "figures"),
    [
        ("band", {"low": 1, "high": 2}),
        ("nominal", {"nominal": 22, "tolerance": 1}),
        ("maximum", {"high": 3}),
        ("minimum", {"low": 3}),
        ("share_of_neutral", {"share": 0.8}),
        ("greatest_drop", {"high": 1.5}),
        ("three_classes", {"low": 3, "high": 6}),
        ("mean_over_positions", {"high": 4}),
        ("loaded_ratio", {"share": 0.25}),
        ("no_motion", {}),
    ],
)
def test_every_form_of_rule_reaches_the_calculation(floor, test_round, form, figures):
    rule(floor, "charge_stroked", form, **figures)
    reading = put(test_round, "charge_stroked", 20, floor.charge_gauge, direction="forward", loop_pressure_bar=138)
    assert assess_reading(reading).state


def test_the_share_rule_takes_the_neutral_reading_of_the_same_test(floor, test_round):
    rule(floor, "charge_stroked", "share_of_neutral", share=0.8)
    put(test_round, "charge_neutral", 24, floor.charge_gauge)
    found = assess_reading(put(test_round, "charge_stroked", 17, floor.charge_gauge, direction="forward", loop_pressure_bar=138))
    assert found.low == pytest.approx(0.8 * 24)
    assert found.state == "outside low"


def test_case_return_above_charge_delivery_is_impossible(floor, test_round):
    found = assess_reading(put(test_round, "total_case_return", 55, floor.flow_meter, "L/min", loop_pressure_bar=138))
    assert found.state == "impossible"  # 18 cm3 at 2300 rpm cannot give more than 41.4 L/min


def test_repeats_are_judged_by_their_mean_and_the_working_says_so(floor, test_round):
    rule(floor, "charge_neutral", "minimum", low=21.0)
    alone = assess_reading(put(test_round, "charge_neutral", 20.4, floor.charge_gauge))
    mean = assess_reading(put(test_round, "charge_neutral", 20.4, floor.charge_gauge, repeats=[20.4, 22.4, 22.7]))
    assert (alone.state, mean.state) == ("outside low", "inside")
    assert "21.8" in mean.reason
    assert any(row["name"] == "Mean of 3 values, 20.4 to 22.7" for row in mean.working)


def test_two_drains_that_together_pass_the_charge_flow_are_impossible(floor, technician, test_round):
    """18 cm3 at 2300 rpm gives at most 41.4 L/min of charge oil; 24 and 22 each could be, together they cannot."""
    pump = put(test_round, "pump_case_flow", 24, floor.flow_meter, "L/min", loop_pressure_bar=138)
    motor = put(test_round, "motor_case_flow", 22, floor.flow_meter, "L/min", loop_pressure_bar=140)
    assert {found.state for found in assess_drive_test(test_round)} == {"impossible"}
    assert "together, 46.0 L/min" in assess_reading(pump).reason
    motor.loop_pressure_bar = 300
    motor.save()
    assert {assess_reading(row).state for row in (pump, motor)} == {"outside high"}, "at another load they do not add up"
    series = put_test(floor, technician, "T-00009", oil_temp_c=60, engine_speed_rpm=2300, drains="series")
    for quantity, value in (("pump_case_flow", 24), ("motor_case_flow", 22)):
        put(series, quantity, value, floor.flow_meter, "L/min", loop_pressure_bar=138)
    assert {found.state for found in assess_drive_test(series)} == {"not comparable"}, "in series the motor's oil passes both meters"


def test_a_drain_in_series_is_not_compared(floor, technician):
    test = put_test(floor, technician, "T-00003", oil_temp_c=60, engine_speed_rpm=2300, drains="series")
    found = assess_reading(put(test, "pump_case_flow", 30, floor.flow_meter, "L/min", loop_pressure_bar=138))
    assert found.state == "not comparable"
    assert "series" in found.reason


def test_an_overdue_gauge_is_suspect(floor, test_round):
    Calibration.objects.all().update(due_on=date(2026, 2, 1))
    found = assess_reading(put(test_round, "charge_neutral", 22, floor.charge_gauge))
    assert found.state == "suspect instrument"
    assert "G-11" in found.reason


def test_a_gauge_found_wrong_later_puts_its_readings_in_doubt(floor, test_round):
    reading = put(test_round, "charge_neutral", 23, floor.charge_gauge)
    assert assess_reading(reading).state != "suspect instrument"
    Calibration.objects.create(
        instrument=floor.charge_gauge, done_on=date(2026, 9, 1), due_on=date(2027, 9, 1), result="failed", found_bias=1.5
    )
    assert assess_reading(reading).state == "suspect instrument"
    assert reading.assessments.count() == 2


def test_a_good_calibration_between_clears_the_earlier_readings(floor):
    rows = [
        Calibration(done_on=date(2026, 1, 1), due_on=date(2027, 1, 1)),
        Calibration(done_on=date(2026, 6, 1), due_on=date(2027, 6, 1)),
        Calibration(done_on=date(2026, 9, 1), due_on=date(2027, 9, 1), result="failed"),
    ]
    assert [instrument_state(rows, day).value for day in (date(2025, 1, 1), date(2026, 3, 1), date(2026, 7, 1), date(2026, 10, 1))] == [
        "calibration overdue",
        "good",
        "failed calibration",
        "failed calibration",
    ]


def test_judging_again_without_news_keeps_the_old_assessment(floor, test_round):
    reading = put(test_round, "charge_neutral", 22, floor.charge_gauge)
    first = assess_reading(reading)
    assert assess_all(Reading.objects.all()) == 0
    assert assess_reading(reading) == first


def test_news_make_a_new_assessment_and_leave_the_old_one(floor, test_round):
    reading = put(test_round, "charge_neutral", 22, floor.charge_gauge)
    first = assess_reading(reading)
    floor.drive_model.charge_relief_bar = 28
    floor.drive_model.save()
    second = assess_reading(reading)
    assert second.expected > first.expected
    first.refresh_from_db()
    assert not first.is_in_force
    assert ConditionAssessment.objects.in_force().count() == 1


def test_a_reading_marked_not_valid_says_why(floor, test_round):
    found = assess_reading(put(test_round, "charge_neutral", 22, floor.charge_gauge, is_valid=False, invalid_reason="hose kinked"))
    assert found.state == "not comparable"
    assert "hose kinked" in found.reason


def test_a_gauge_in_psi_is_known_in_bar(floor, test_round):
    floor.charge_gauge.unit, floor.charge_gauge.span_high, floor.charge_gauge.resolution = "psi", 870.2264, 2.900755
    floor.charge_gauge.save()
    reading = Reading.objects.with_conditions().get(pk=put(test_round, "charge_neutral", 22, floor.charge_gauge).pk)
    gauge = Facts([reading]).gauge(reading)
    assert (gauge.span, gauge.resolution) == (pytest.approx(60, abs=1e-3), pytest.approx(0.2, abs=1e-3))


def test_a_test_is_judged_as_one(floor, test_round):
    put(test_round, "charge_neutral", 22, floor.charge_gauge)
    put(test_round, "main_relief", 420, floor.system_gauge, direction="forward")
    assert len(assess_drive_test(test_round)) == 2


def test_many_readings_ask_no_more_of_the_database_than_few(floor, technician, test_round):
    put(test_round, "charge_neutral", 22, floor.charge_gauge)
    with CaptureQueriesContext(connection) as few:
        assess_all(Reading.objects.all())
    for number in range(2, 12):
        test = put_test(floor, technician, f"T-{number:05d}", oil_temp_c=60, engine_speed_rpm=2300)
        for value in (21, 22, 23):
            put(test, "charge_neutral", value, floor.charge_gauge)
    with CaptureQueriesContext(connection) as many:
        assert assess_all(Reading.objects.all()) == 30
    assert len(many) <= len(few) + 1


def test_working_holds_only_what_json_holds(floor, test_round):
    reading = put(test_round, "charge_stroked", 20, floor.charge_gauge, direction="forward", loop_pressure_bar=138)
    found = assess_reading(reading)
    found.refresh_from_db()
    assert all(row["source"] for row in found.working)
    assert any(row["law"] for row in found.working)

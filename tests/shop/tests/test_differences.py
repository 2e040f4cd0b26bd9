"""Differences between two tests and between two directions, each with its own uncertainty."""

from datetime import UTC, datetime

import pytest

from fleet.assess import assess_drive_test
from fleet.models import Calibration, DriveTest, Instrument, Reading
from shop.tests.differences import before_and_after, forward_and_reverse


@pytest.fixture
def tested(floor, technician):
    def made(number, *rows, **conditions):
        test = DriveTest.objects.create(
            number=number, unit=floor.unit, machine=floor.machine, tested_at=datetime(2026, 3, 2, 10, tzinfo=UTC), tested_by=technician, life_h=1210,
            component_h=1210, **{"oil_temp_c": 60, "engine_speed_rpm": 2300} | conditions,
        )  # fmt: skip
        for quantity, direction, value, instrument, loop in rows:
            Reading.objects.create(
                drive_test=test, quantity=quantity, direction=direction, typed=str(value), typed_unit="bar", value=value, unit="bar",
                instrument=instrument, loop_pressure_bar=loop,
            )  # fmt: skip
        assess_drive_test(test)
        return test

    return made


def test_a_gauge_two_bar_high_leaves_forward_and_reverse_as_far_apart(floor, tested):
    gauge = floor.system_gauge
    plain = tested("T-1", ("main_relief", "forward", 421, gauge, None), ("main_relief", "reverse", 415, gauge, None))
    high = tested("T-2", ("main_relief", "forward", 423, gauge, None), ("main_relief", "reverse", 417, gauge, None))
    one, other = forward_and_reverse(plain)[0], forward_and_reverse(high)[0]
    assert one.difference.value == other.difference.value == -6
    assert one.difference.expanded == pytest.approx(other.difference.expanded, rel=0.01)


def test_the_error_of_one_gauge_falls_out_and_that_of_two_does_not(floor, tested):
    twin = Instrument.objects.create(tag="G-99", kind="pressure", span_high=600, unit="bar", accuracy_class_pct=1.0, resolution=2)
    Calibration.objects.create(instrument=twin, done_on="2026-01-10", due_on="2027-01-10")
    before = tested("T-1", ("main_relief", "forward", 400, floor.system_gauge, None))
    same = tested("T-2", ("main_relief", "forward", 421, floor.system_gauge, None))
    another = tested("T-3", ("main_relief", "forward", 421, twin, None))
    one, two = before_and_after(before, same)[0], before_and_after(before, another)[0]
    assert one.difference.expanded < two.difference.expanded
    assert two.difference.expanded > 2 * 2**0.5 * 6.0 / 3**0.5, "two gauges of 1 % of 600 bar each, rectangular, k = 2"
    assert two.remark == "another instrument"


def test_drains_read_at_two_temperatures_are_compared_at_one(floor, tested):
    """The same wear read at 55 and at 80 degC is no change: the oil is thinner, not the unit worse."""
    from calcs.baselines import Conditions, Oil, expected_reading
    from fleet.judging_facts import spec_of

    spec, oil = spec_of(floor.drive_model, floor.machine), Oil("VG 46", 46, 6.8, 870)
    values = [expected_reading("pump_case_flow", spec, oil, Conditions(temp, 2300, 200, 22, 0.5)).value * 1.3 for temp in (55, 80)]
    cool = tested("T-1", ("pump_case_flow", "", values[0], floor.flow_meter, 200), oil_temp_c=55)
    hot = tested("T-2", ("pump_case_flow", "", values[1], floor.flow_meter, 200), oil_temp_c=80)
    found = before_and_after(cool, hot)[0]
    assert values[1] > 1.5 * values[0]
    assert found.is_referred and not found.difference.is_real


def test_only_what_was_read_in_both_is_compared(floor, tested):
    before = tested("T-1", ("charge_neutral", "", 22, floor.charge_gauge, None), ("main_relief", "forward", 420, floor.system_gauge, None))
    after = tested("T-2", ("charge_neutral", "", 22.8, floor.charge_gauge, None))
    assert [row.what for row in before_and_after(before, after)] == ["Charge pressure, neutral, high idle"]
    assert before_and_after(before, None) == [] and forward_and_reverse(None) == []

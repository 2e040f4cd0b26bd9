from datetime import UTC, date, datetime
from decimal import Decimal

import pytest

from calcs.meter import MeterSegment, life_hours
from fleet.judged_hours import believed_hours, judge_hours, life_h_at, usual_h_per_day
from fleet.models import HourMeter, HourReading, Installation, Machine
from fleet.unit_hours import component_h


def at(year, month, day, hour=9):
    return datetime(year, month, day, hour, tzinfo=UTC)


def read(meter, when, meter_h, **more):
    meter_h = Decimal(str(meter_h))
    return HourReading.objects.create(meter=meter, read_at=when, meter_h=meter_h, life_h=meter.life_h(meter_h), typed=str(meter_h), **more)


@pytest.fixture
def other_machine(floor):
    return Machine.objects.create(
        number="M-00002", kind="loader", maker="Hollowick", model="L90", serial="HL90-7", customer=floor.customer,
        engine_rated_speed_rpm=2200,
    )  # fmt: skip


def replace_at(meter, day, end_h):
    meter.ended_on, meter.end_meter_h, meter.end_reason = day, Decimal(str(end_h)), "glass broken"
    meter.save()
    return HourMeter.objects.create(machine=meter.machine, fitted_on=day, start_meter_h=0, start_life_h=meter.life_h(meter.end_meter_h))


def test_life_hours_run_on_over_a_replaced_meter(floor):
    second = replace_at(floor.meter, date(2026, 5, 1), 3120.4)
    read(second, at(2026, 9, 1), 412.7)
    assert life_h_at(floor.machine) == Decimal("3533.1")
    assert float(life_h_at(floor.machine)) == life_hours([MeterSegment(0, 3120.4), MeterSegment(0)], 412.7)


def test_a_moved_unit_keeps_its_hours(floor, other_machine):
    floor.installation.to_date, floor.installation.to_life_h = date(2025, 3, 1), Decimal("1864.5")
    floor.installation.from_life_h = Decimal("1210.0")
    floor.installation.save()
    Installation.objects.create(
        unit=floor.unit,
        machine=other_machine,
        from_date=date(2025, 3, 1),
        from_life_h=Decimal("302.0"),
        to_date=date(2026, 6, 1),
        to_life_h=Decimal("911.2"),
    )
    assert component_h(floor.unit) == Decimal("1263.7")
    assert component_h(floor.unit, on=date(2025, 3, 1)) == Decimal("654.5")
    assert component_h(floor.unit, other_machine, Decimal("402.0")) == Decimal("754.5")
    assert component_h(floor.unit, floor.machine, Decimal("1310.0")) == Decimal("100.0")


def test_hours_before_our_record_count(floor):
    floor.unit.hours_at_birth_h = Decimal("800.0")
    assert component_h(floor.unit, floor.machine, Decimal("10.0")) == Decimal("810.0")


def test_a_fitted_unit_has_the_hours_of_its_machine_now(floor):
    assert component_h(floor.unit) == Decimal("1210.0")


def test_twenty_five_hours_in_a_day_are_impossible(floor):
    read(floor.meter, at(2026, 3, 2, 10), "1211.0")
    found = judge_hours(floor.machine, Decimal("1261.1"), at(2026, 3, 3))
    assert found.state == "impossible"
    assert "more than the day holds" in found.question


def test_a_lower_reading_asks_whether_the_meter_was_replaced(floor):
    found = judge_hours(floor.machine, Decimal("12.0"), at(2026, 4, 1))
    assert found.state == "impossible"
    assert "replaced" in found.question


def test_swapped_digits_are_suggested(floor):
    read(floor.meter, at(2026, 6, 1), 1470)
    found = judge_hours(floor.machine, Decimal("1843"), at(2026, 6, 8))
    assert found.state == "impossible"
    assert Decimal("1483.0") in found.suggestions


def test_an_earlier_reading_fits_between_its_neighbours(floor):
    read(floor.meter, at(2026, 6, 1), 1400)
    assert judge_hours(floor.machine, Decimal("1300"), at(2026, 5, 20)).is_plausible
    assert judge_hours(floor.machine, Decimal("1401"), at(2026, 5, 20)).state == "impossible"


def test_doubted_and_corrected_readings_do_not_count(floor):
    read(floor.meter, at(2026, 4, 1), 9000, is_confirmed=False, question="too much")
    wrong = read(floor.meter, at(2026, 4, 2), 1290)
    read(floor.meter, at(2026, 4, 2), 1229, supersedes=wrong, correction_reason="misread")
    assert believed_hours(floor.machine).meter_h == 1229


def test_the_reading_being_corrected_is_no_neighbour(floor):
    wrong = read(floor.meter, at(2026, 6, 1), 1400)
    assert judge_hours(floor.machine, Decimal("1340"), at(2026, 6, 1), leaving_out=wrong).is_plausible


def test_on_the_day_of_a_replacement_a_reading_finds_its_meter(floor):
    second = replace_at(floor.meter, date(2026, 5, 1), 1300)
    assert judge_hours(floor.machine, Decimal("0.4"), at(2026, 5, 1)).meter == second
    assert judge_hours(floor.machine, Decimal("1299.5"), at(2026, 5, 1)).meter == floor.meter


def test_usual_hours_follow_the_season_of_the_kind(floor):
    harvest = usual_h_per_day(floor.machine, date(2026, 7, 1), date(2026, 7, 31))
    winter = usual_h_per_day(floor.machine, date(2026, 12, 1), date(2026, 12, 31))
    assert harvest > winter >= 0


def test_a_machine_without_a_meter_takes_its_first_reading(other_machine):
    found = judge_hours(other_machine, Decimal("700"), at(2026, 5, 1))
    assert found.meter is None and found.is_plausible

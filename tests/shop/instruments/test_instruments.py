"""Instruments: what is due, what a scale suits, and what a failed calibration does to the readings since the last good one."""

from datetime import UTC, date, datetime

import pytest

from fleet.assess import assess_drive_test
from fleet.models import Calibration, ConditionAssessment, DriveTest, Instrument, Reading
from shop.instruments.actions import record_calibration
from shop.instruments.rows import fits_of, instruments_listed, readings_in_doubt, standing_of
from tests.conftest import signed_in
from tests.shop.asking import questions_of, token_in


@pytest.fixture
def as_keeper(keeper):
    return signed_in(keeper)


def read(floor, technician, number: int, at: datetime) -> Reading:
    test = DriveTest.objects.create(
        number=f"T-{number:05d}",
        unit=floor.unit,
        machine=floor.machine,
        tested_at=at,
        tested_by=technician,
        life_h=1210,
        component_h=1210,
        oil_temp_c=60,
        engine_speed_rpm=2300,
        fluid=floor.oil,
    )
    reading = Reading.objects.create(
        drive_test=test, quantity="charge_neutral", typed="22", typed_unit="bar", value=22, unit="bar", instrument=floor.charge_gauge
    )
    assess_drive_test(test)
    return reading


def test_the_register_asks_the_same_of_the_database_for_five_instruments_as_for_fifty(as_manager, floor):
    def fill(numbers):
        for number in numbers:
            gauge = Instrument.objects.create(tag=f"G-9{number}", kind="pressure", span_high=60, unit="bar")
            Calibration.objects.create(instrument=gauge, done_on=date(2026, 1, 1), due_on=date(2027, 1, 1))

    fill(range(1))
    few = questions_of(as_manager, "/instruments/")
    fill(range(1, 46))
    assert questions_of(as_manager, "/instruments/") == few


def test_what_is_due_is_told_by_its_last_calibration():
    today = date(2026, 6, 1)
    assert standing_of(None, None, today)[0] == "not known"
    assert standing_of(date(2026, 5, 31), "good", today)[0] == "overdue"
    assert standing_of(date(2026, 6, 20), "good", today)[0] == "due soon"
    assert standing_of(date(2027, 6, 20), "good", today)[0] == "inside"
    assert standing_of(date(2027, 6, 20), "failed", today)[0] == "outside high"


def test_the_list_of_what_needs_calibration_leaves_out_what_is_good_or_withdrawn(floor):
    late = Instrument.objects.create(tag="G-90", kind="pressure", span_high=60, unit="bar")
    Instrument.objects.create(tag="G-91", kind="pressure", span_high=60, unit="bar", status="withdrawn")
    Calibration.objects.filter(instrument=floor.flow_meter).update(due_on=date(2026, 2, 1))
    assert {row.tag for row in instruments_listed({"only_due": True})} >= {late.tag, "F-01"}
    assert "G-91" not in {row.tag for row in instruments_listed({"only_due": True})}


def test_a_pressure_in_the_middle_third_of_the_scale_is_advised(floor):
    fits = {fit.label: fit for fit in fits_of(floor.charge_gauge)}
    assert fits["charge"].is_good and fits["charge"].share == pytest.approx(22 / 60)
    assert fits["main relief forward"].share > 1 and "beyond the scale" in fits["main relief forward"].words
    low = {fit.label: fit for fit in fits_of(floor.system_gauge)}["charge"]
    assert not low.is_good and low.better_span_bar == 40


def test_a_failed_calibration_judges_every_reading_since_the_last_good_one_again_in_one_act(floor, technician, manager):
    Calibration.objects.create(instrument=floor.charge_gauge, done_on=date(2025, 1, 10), due_on=date(2026, 1, 10))
    before = read(floor, technician, 1, datetime(2026, 1, 5, 9, tzinfo=UTC))
    since = [read(floor, technician, number, datetime(2026, 3, number, 9, tzinfo=UTC)) for number in (2, 3)]
    made = record_calibration(
        instrument=floor.charge_gauge,
        done_on=date(2026, 4, 1),
        due_on=date(2026, 4, 1),
        result="failed",
        certificate="",
        found_bias=1.5,
        note="",
        by=manager,
    )
    assert set(readings_in_doubt(made)) == set(since)
    states = ConditionAssessment.objects.in_force().filter(reading__in=since).values_list("state", flat=True)
    assert set(states) == {"suspect instrument"}
    assert ConditionAssessment.objects.in_force().get(reading=before).state != "suspect instrument"
    assert ConditionAssessment.objects.filter(reading__in=since, is_in_force=False).count() == 2
    floor.charge_gauge.refresh_from_db()
    assert floor.charge_gauge.status == "withdrawn"


def test_the_keeper_records_a_calibration_and_sees_the_readings_in_doubt(as_keeper, technician, floor):
    read(floor, technician, 1, datetime(2026, 3, 2, 9, tzinfo=UTC))
    path = f"/instruments/{floor.charge_gauge.pk}/calibration/"
    given = {
        "done_on": "2026-04-01",
        "due_on": "2026-04-01",
        "result": "failed",
        "found_bias": "1.5",
        "token": token_in(as_keeper.get(path)),
    }
    answer = as_keeper.post(path, given, follow=True)
    assert "Readings in doubt" in answer.content.decode() and "1 readings were taken" in answer.content.decode()
    as_keeper.post(path, given)
    assert floor.charge_gauge.calibrations.count() == 2


def test_a_gauge_is_not_marked_in_a_unit_of_something_else(as_keeper, floor):
    given = {
        "tag": "G-50",
        "kind": "pressure",
        "span_low": "0",
        "span_high": "40",
        "unit": "L/min",
        "accuracy_basis": "span",
        "status": "in_service",
    }
    answer = as_keeper.post("/instruments/add/", given)
    assert answer.status_code == 422 and "is not marked in L/min" in answer.content.decode()
    assert as_keeper.post("/instruments/add/", given | {"unit": "bar", "tag": "g-11"}).status_code == 422
    assert as_keeper.post("/instruments/add/", given | {"unit": "bar"}).status_code == 302


def test_a_technician_without_the_extra_right_does_not_keep_instruments(as_technician, floor):
    assert as_technician.get(f"/instruments/{floor.charge_gauge.pk}/").status_code == 200
    assert as_technician.get("/instruments/add/").status_code == 403

"""Drives: the latest verdict of each kind, the life in order, the working behind a figure."""

from datetime import UTC, datetime

import pytest

from fleet.assess import assess_drive_test
from fleet.models import DriveTest, DriveUnit, Reading, UnitEvent
from shop.drives.rows import latest_verdicts, units_with_latest
from tests.shop.asking import another_machine, another_unit, questions_of, token_in


def judged_test(floor, technician, number: int, day: int, value: float, unit=None, machine=None) -> DriveTest:
    """A judged test with one charge reading on a day of March."""
    test = DriveTest.objects.create(
        number=f"T-{number:05d}",
        unit=unit or floor.unit,
        machine=machine or floor.machine,
        tested_at=datetime(2026, 3, day, 9, tzinfo=UTC),
        tested_by=technician,
        life_h=1210,
        component_h=1210,
        oil_temp_c=60,
        engine_speed_rpm=2300,
        fluid=floor.oil,
    )
    Reading.objects.create(
        drive_test=test,
        quantity="charge_neutral",
        typed=f"{value}",
        typed_unit="bar",
        value=value,
        unit="bar",
        instrument=floor.charge_gauge,
    )
    assess_drive_test(test)
    return test


def test_the_list_asks_the_same_of_the_database_for_five_drives_as_for_fifty(as_technician, technician, floor):
    def fill(numbers):
        for number in numbers:
            machine = another_machine(floor, number)
            judged_test(floor, technician, number, 2, 22.0, another_unit(floor, number, machine), machine)

    fill(range(2, 6))
    few = questions_of(as_technician, "/drives/")
    fill(range(6, 51))
    assert questions_of(as_technician, "/drives/") == few


def test_the_readings_of_a_drive_ask_the_same_for_five_as_for_fifty(as_technician, technician, floor):
    for number in range(5):
        judged_test(floor, technician, number, 2 + number, 22.0)
    path = f"/drives/{floor.unit.pk}/"
    few = questions_of(as_technician, path)
    for number in range(5, 50):
        judged_test(floor, technician, number, 2 + number % 25, 22.0)
    assert questions_of(as_technician, path) == few


def test_only_the_latest_verdict_of_a_quantity_counts(floor, technician):
    judged_test(floor, technician, 1, 2, 12.0)
    assert [verdict.state for verdict in latest_verdicts([floor.unit.pk])[floor.unit.pk]] == ["outside low"]
    assert list(units_with_latest(["outside low"])) == [{"reading__drive_test__unit": floor.unit.pk}]
    judged_test(floor, technician, 2, 9, 22.0)
    assert [verdict.state for verdict in latest_verdicts([floor.unit.pk])[floor.unit.pk]] == ["inside"]
    assert not units_with_latest(["outside low"]).exists()


def test_the_list_filters_by_latest_verdict_and_by_place(as_technician, technician, floor):
    another_unit(floor, 2)
    judged_test(floor, technician, 1, 2, 12.0)
    outside = as_technician.get("/drives/?verdict=outside").content.decode()
    assert "D-00001" in outside and "D-00002" not in outside
    stored = as_technician.get("/drives/?place=in_store").content.decode()
    assert "D-00002" in stored and "D-00001" not in stored


def test_the_page_shows_reading_expected_value_and_its_working(as_technician, technician, floor):
    test = judged_test(floor, technician, 1, 2, 21.0)
    page = as_technician.get(f"/drives/{floor.unit.pk}/").content.decode()
    assert "Charge pressure, neutral" in page and "Fitted in M-00001" in page and "Tested" in page
    working = as_technician.get(f"/readings/{test.readings.get().pk}/working/").content.decode()
    assert "How the expected value was reached" in working and "charge" in working.lower()


def test_a_serial_of_the_same_model_is_kept_once(as_manager, floor):
    form = {"tag": "", "serial": "h75 O188", "drive_model": floor.drive_model.pk, "birth": "new", "keeping": "in_store"}
    answer = as_manager.post("/drives/add/", form)
    assert answer.status_code == 422 and "D-00001 already carries the serial H75-0188" in answer.content.decode()
    assert as_manager.post("/drives/add/", form | {"serial": "H75-0300"}).status_code == 302
    assert DriveUnit.objects.get(serial="H75-0300").tag == "D-00002"


def test_a_rebuild_is_written_once_with_the_hours_of_that_day(as_technician, floor):
    path = f"/drives/{floor.unit.pk}/event/"
    given = {
        "kind": "rebuilt",
        "happened_on": "2026-03-05",
        "component_h": "",
        "component_h_unit": "h",
        "note": "new slippers",
        "token": token_in(as_technician.get(path)),
    }
    for _ in range(2):
        assert as_technician.post(path, given).status_code == 302
    event = UnitEvent.objects.get()
    assert event.component_h == 1210 and event.begins_baseline


@pytest.mark.parametrize("path", ["/drives/{}/", "/drives/{}/edit/", "/drives/{}/event/", "/drives/{}/take-out/", "/readings/{}/working/"])
def test_a_wrong_number_is_not_found(as_manager, floor, path):
    assert as_manager.get(path.format(987654)).status_code == 404


def test_markup_in_a_remark_stays_words(as_manager, floor):
    floor.unit.note = "<script>alert(1)</script>"
    floor.unit.save()
    assert b"<script>alert" not in as_manager.get(f"/drives/{floor.unit.pk}/").content

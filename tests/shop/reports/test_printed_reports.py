"""The report of one drive and the due list on paper say what their pages say."""

import io
from datetime import UTC, datetime

import pytest
from pypdf import PdfReader

from fleet.assess import assess_drive_test
from fleet.models import DriveTest, Reading, UnitEvent
from shop.models import Finding, IntervalRule, ServiceTask


def words_of(answer) -> str:
    pages = PdfReader(io.BytesIO(answer.content)).pages
    return " ".join(" ".join(page.extract_text() for page in pages).split())


@pytest.fixture
def life(floor, technician):
    """Charge pressure that sinks, one reading a month, with a gauge in its calibration."""
    for place, (life_h, value) in enumerate(((300, 22.3), (700, 21.4), (1100, 20.1))):
        test = DriveTest.objects.create(
            number=f"T-0000{place}",
            unit=floor.unit,
            machine=floor.machine,
            tested_at=datetime(2026, 2 + place, 1, 9, tzinfo=UTC),
            tested_by=technician,
            life_h=life_h,
            component_h=life_h,
            oil_temp_c=60,
            engine_speed_rpm=2300,
            fluid=floor.oil,
        )
        Reading.objects.create(
            drive_test=test,
            quantity="charge_neutral",
            typed=str(value),
            typed_unit="bar",
            value=value,
            unit="bar",
            instrument=floor.charge_gauge,
        )
        assess_drive_test(test)
    return floor


def test_the_report_of_a_drive_has_its_story_its_picture_and_its_working(life, as_technician, technician):
    UnitEvent.objects.create(unit=life.unit, kind="noted", happened_on="2024-05-01", component_h=800, note="Looked at <b>twice</b>")
    Finding.objects.create(machine=life.machine, unit=life.unit, words="Weeps at the shaft seal", recorded_by=technician)
    words = words_of(as_technician.get(f"/drives/{life.unit.pk}/report.pdf"))
    for wanted in (
        "D-00001", "H75-0188", "Charge pressure, neutral, high idle", "Component hours", "22.3 bar", "1 100.0 h", "Where it was", "M-00001",
        "Looked at <b>twice</b>", "First fill", "Weeps at the shaft seal", "Working:", "ASTM D341",
    ):  # fmt: skip
        assert wanted in words.replace("\u202f", " ").replace("\u00a0", " "), wanted


def test_a_drive_without_a_reading_or_a_machine_has_a_report_that_says_so(floor, as_technician):
    floor.installation.delete()
    words = words_of(as_technician.get(f"/drives/{floor.unit.pk}/report.pdf"))
    assert "Nothing can be said of its wear yet" in words and "In store" in words
    assert as_technician.get("/drives/98765/report.pdf").status_code == 404


def test_the_same_report_gives_the_same_bytes(life, as_technician):
    first, second = (as_technician.get(f"/drives/{life.unit.pk}/report.pdf").content for _ in range(2))
    assert first == second


def test_the_due_list_prints_what_its_page_shows_with_the_same_filters(floor, as_office):
    task = ServiceTask.objects.create(code="F1", name="Charge filter", kind="filter")
    IntervalRule.objects.create(task=task, drive_model=floor.drive_model, every_h=500)
    words = words_of(as_office.get("/due/due.pdf?show=all"))
    for wanted in ("Charge filter", "M-00001", "500 h", "page 1 of 1"):
        assert wanted in words.replace("\u202f", " ")
    assert "nothing is due" in words_of(as_office.get("/due/due.pdf?show=all&q=no such machine"))

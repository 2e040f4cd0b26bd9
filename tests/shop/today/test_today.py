"""The first page says what waits; the find box finds by fragment, without accents, and opens the only hit."""

from datetime import UTC, datetime, timedelta
from decimal import Decimal

import pytest
from django.utils import timezone

from fleet.assess import assess_drive_test
from fleet.models import Customer, DriveTest, HourReading, Instrument, Reading
from shop.models import Booking, Technician, WorkOrder
from tests.shop.asking import another_machine, another_unit, questions_of


def order(floor, number: int, state="taken_in") -> WorkOrder:
    return WorkOrder.objects.create(
        number=f"W-{number:05d}",
        customer=floor.customer,
        machine=floor.machine,
        taken_in_at=datetime(2026, 3, 1, 9, tzinfo=UTC),
        state=state,
    )


def outside(floor, technician, number: int, unit=None) -> None:
    test = DriveTest.objects.create(
        number=f"T-{number:05d}",
        unit=unit or floor.unit,
        machine=floor.machine,
        tested_at=timezone.now() - timedelta(days=2),
        tested_by=technician,
        life_h=1210,
        component_h=1210,
        oil_temp_c=60,
        engine_speed_rpm=2300,
        fluid=floor.oil,
    )
    Reading.objects.create(
        drive_test=test, quantity="charge_neutral", typed="12", typed_unit="bar", value=12, unit="bar", instrument=floor.charge_gauge
    )
    assess_drive_test(test)


def doubt(floor) -> None:
    HourReading.objects.create(
        meter=floor.meter,
        read_at=timezone.now(),
        meter_h=Decimal("9999"),
        life_h=Decimal("9999"),
        typed="9999",
        is_confirmed=False,
        question="More than the days hold",
    )


def test_the_page_says_in_sentences_and_one_list_what_waits(as_manager, technician, floor):
    outside(floor, technician, 1)
    doubt(floor)
    order(floor, 1, "waiting_approval")
    Instrument.objects.create(tag="G-77", kind="pressure", span_high=60, unit="bar")
    page = as_manager.get("/").content.decode()
    for words in (
        "1 drive read outside",
        "1 hour reading waits",
        "1 order waits",
        "1 instrument needs calibration",
        "D-00001",
        "G-77",
        "W-00001",
    ):
        assert words in page


def test_an_empty_book_says_what_to_do_first(as_manager):
    assert "add the first machine" in as_manager.get("/").content.decode()


def test_a_technician_sees_own_orders_first(as_technician, technician, floor):
    order(floor, 1)
    mine = order(floor, 2, "in_work")
    hands = Technician.objects.create(name="Tilde", user=technician)
    Booking.objects.create(
        machine=floor.machine, order=mine, title="x", week_start=timezone.localdate(), technician=hands, work_h=2, uid="u1"
    )
    page = as_technician.get("/").content.decode()
    assert page.index("W-00002") < page.index("W-00001")
    assert "1 of your orders is open." in page


def test_the_first_page_asks_the_same_of_the_database_for_five_as_for_fifty(as_manager, technician, floor):
    def fill(numbers):
        for number in numbers:
            outside(floor, technician, number, another_unit(floor, number + 100))
            order(floor, number)
            doubt(floor)
            Instrument.objects.create(tag=f"G-7{number:02d}", kind="pressure", span_high=60, unit="bar")

    fill(range(5))
    few = questions_of(as_manager, "/")
    fill(range(5, 50))
    assert questions_of(as_manager, "/") == few


@pytest.mark.parametrize(
    ("words", "path"),
    [
        ("hw180 0o421", "machine"),
        ("D-00001", "unit"),
        ("w-00001", "order"),
        ("ASE HOLM", "other"),
        ("F-01", "flow_meter"),
        ("T-00001", "unit"),
    ],
)
def test_one_hit_opens_its_page(as_technician, technician, floor, words, path):
    order(floor, 1)
    outside(floor, technician, 1)
    other = Customer.objects.create(number="C-00002", name="Åse  Hólm")
    places = {
        "machine": f"/machines/{floor.machine.pk}/",
        "unit": f"/drives/{floor.unit.pk}/",
        "order": f"/orders/{WorkOrder.objects.get().pk}/",
        "other": f"/customers/{other.pk}/",
        "flow_meter": f"/instruments/{floor.flow_meter.pk}/",
    }
    answer = as_technician.get("/find/", {"q": words})
    assert answer.status_code == 302
    assert answer.url == places[path] or (words == "T-00001" and "test" in answer.url)


def test_several_hits_are_listed_and_none_is_said(as_technician, floor):
    another_machine(floor, 2)
    page = as_technician.get("/find/", {"q": "Hollowick"}).content.decode()
    assert "M-00001" in page and "M-00002" in page
    assert "Nothing holds" in as_technician.get("/find/", {"q": "zzz"}).content.decode()


@pytest.mark.parametrize("junk", ["", "\x00", "%", "_", "'\"", "-", "<b>", "x" * 500, "\u0301"])
def test_odd_words_find_nothing_and_break_nothing(as_technician, floor, junk):
    answer = as_technician.get("/find/", {"q": junk})
    assert answer.status_code in (200, 302) and b"<b>" not in answer.content

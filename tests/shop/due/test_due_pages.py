"""The due list and one task of it: questions to the database, junk in the address, working, own work first."""

from datetime import date, timedelta

import pytest
from django.utils import timezone

from shop.models import Booking, Technician
from tests.shop.asking import another_machine, another_unit, questions_of
from tests.shop.due.bench_of_rules import done, rule_for, task


@pytest.fixture
def due_task(floor):
    the_task = task(is_safety=False, work_h=0.75)
    rule_for(floor, the_task, every_h=500, every_months=12, document=floor.document, page="31")
    done(floor, the_task, 600, on=date(2025, 1, 10))
    return the_task


def address(floor, the_task, unit=0) -> str:
    return f"/due/{floor.machine.pk}/{the_task.pk}/{unit}/"


def test_the_list_asks_the_same_number_of_questions_for_fifty_rows_as_for_five(as_manager, floor, due_task):
    for number in range(2, 6):
        another_unit(floor, number, another_machine(floor, number))
    few = questions_of(as_manager, "/due/?show=all")
    for number in range(6, 52):
        another_unit(floor, number, another_machine(floor, number))
    assert questions_of(as_manager, "/due/?show=all") == few
    assert questions_of(as_manager, "/due/?show=all&page=2") == few


@pytest.mark.parametrize(
    "asked", ["?page=x", "?page=99999", "?show=zz&customer=abc&kind=..&task=-1", "?q=%00%27%22", "?customer=99999999999999999999"]
)
def test_junk_in_the_address_still_shows_a_list(as_technician, floor, due_task, asked):
    assert as_technician.get(f"/due/{asked}").status_code == 200


def test_a_row_opens_its_working_with_source_and_history(as_technician, floor, due_task):
    page = as_technician.get(address(floor, due_task)).content.decode()
    for words in (
        "How this was worked out",
        "Drive book H75",
        "p. 31",
        "rule of the model",
        "1\u202f100",
        "10 Jan 2025",
        "Which rule holds",
    ):
        assert words in page


@pytest.mark.parametrize("unit", [0, 99])
def test_a_task_nobody_asks_for_is_not_found(as_technician, floor, unit):
    other = task("OTHER", name="Other")
    assert as_technician.get(address(floor, other, unit)).status_code == 404
    assert as_technician.get("/due/999999/999999/0/").status_code == 404


def test_machines_a_technician_is_booked_for_stand_first(as_technician, as_manager, technician, floor, due_task):
    late = another_machine(floor, 2)
    another_unit(floor, 2, late)
    hands = Technician.objects.create(name="Tilde", user=technician)
    monday = timezone.localdate() - timedelta(days=timezone.localdate().weekday())
    mine = as_technician.get("/due/?show=all").content.decode()
    first_before = mine.index("M-00001") < mine.index("M-00002")
    booked = floor.machine if not first_before else late
    Booking.objects.create(machine=booked, title="x", week_start=monday, work_h=1, technician=hands, uid="u1")
    mine = as_technician.get("/due/?show=all").content.decode()
    assert (mine.index("M-00001") < mine.index("M-00002")) != first_before
    everybody = as_manager.get("/due/?show=all").content.decode()
    assert (everybody.index("M-00001") < everybody.index("M-00002")) == first_before


def test_the_list_prints(as_technician, floor, due_task):
    answer = as_technician.get("/due/due.pdf?show=all")
    assert answer.content.startswith(b"%PDF")

from datetime import UTC, datetime, timedelta
from decimal import Decimal

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils.html import escape

from fleet.models import HourReading, Reading
from shop.models import Finding, WorkOrder
from shop.visits.actions import record_visit
from shop.visits.corrections import correct_reading
from shop.visits.entries import FillEntry, FindingEntry, HoursEntry, RoundConditions, TaskEntry, VisitEntry
from tests.shop.visits.test_actions import charge

AT = datetime(2026, 3, 9, 10, tzinfo=UTC)


def logged(floor, by, task, readings=1, findings=1, fills=1, token=""):
    """A visit with low charge pressures, findings and fills in the numbers asked for."""
    entry = VisitEntry(
        hours=HoursEntry(Decimal("1215.5"), "1215.5"),
        conditions=RoundConditions(oil_temp_c=60, engine_speed_rpm=2300),
        readings=tuple(charge(floor, 15.0) for _ in range(readings)),
        fills=tuple(FillEntry("top_up", floor.oil, Decimal("0.50")) for _ in range(fills)),
        tasks=(TaskEntry(task, floor.unit),),
        findings=tuple(FindingEntry(f"Finding {number}", "now", floor.unit) for number in range(findings)),
    )
    return record_visit(by=by, machine=floor.machine, visited_at=AT, entry=entry, token=token)


@pytest.fixture
def visit(floor, technician, filter_task):
    return logged(floor, technician, filter_task)


def address(visit):
    return reverse("visit", args=[visit.pk])


def test_the_page_shows_reading_expected_uncertainty_state_and_working(visit, as_manager):
    page = as_manager.get(address(visit)).content.decode()
    verdict = Reading.objects.get().assessments.get()
    assert "outside low" in page and "▼" in page
    assert f"{verdict.expected:.1f}" in page and "±" in page
    assert "Show the working" in page and escape(verdict.working[-1]["source"]) in page
    assert "Change the charge filter" in page and "Finding 0" in page


def test_a_corrected_reading_shows_what_it_was_and_why(visit, as_manager, manager):
    correct_reading(by=manager, reading=Reading.objects.get(), reason="misread by one bar", value=16.0, typed="16.0")
    page = as_manager.get(address(visit)).content.decode()
    assert "misread by one bar" in page and "Before: 15.0 bar" in page


def test_findings_and_outside_readings_become_an_order_once(visit, as_manager):
    form = as_manager.get(address(visit)).context["order_form"]
    sent = {"token": "order-1", "findings": list(form.found), "readings": list(form.outside)}
    first = as_manager.post(reverse("order_from_visit", args=[visit.pk]), sent)
    second = as_manager.post(reverse("order_from_visit", args=[visit.pk]), sent)
    order = WorkOrder.objects.get()
    assert first.url == second.url == reverse("order", args=[order.pk])
    assert (order.machine, order.unit, order.lines.count()) == (visit.machine, Reading.objects.get().drive_test.unit, 2)
    assert "Charge pressure" in " ".join(order.lines.values_list("evidence", flat=True))


def test_an_order_about_nothing_is_refused(visit, as_manager):
    answer = as_manager.post(reverse("order_from_visit", args=[visit.pk]), {"token": "x"})
    assert answer.status_code == 422 and not WorkOrder.objects.exists()
    assert "Tick a finding" in answer.content.decode()


def test_only_findings_of_this_visit_can_be_ticked(visit, as_manager, floor):
    other = Finding.objects.create(machine=floor.machine, words="another day")
    answer = as_manager.post(reverse("order_from_visit", args=[visit.pk]), {"token": "x", "findings": [str(other.pk)]})
    assert answer.status_code == 422


@pytest.mark.parametrize(("who", "status"), [("as_manager", 200), ("as_office", 200), ("as_technician", 200), ("as_stranger", 302)])
def test_everybody_of_the_shop_reads_a_visit(request, visit, who, status):
    assert request.getfixturevalue(who).get(address(visit)).status_code == status


@pytest.mark.parametrize(("who", "status"), [("as_office", 403), ("as_stranger", 302), ("as_technician", 200)])
@pytest.mark.parametrize("act", ["record_hours", "record_fill"])
def test_hours_and_fills_alone_are_for_those_who_work(request, floor, who, status, act):
    assert request.getfixturevalue(who).get(reverse(act, args=[floor.machine.pk])).status_code == status


def test_the_page_of_hours_asks_once(as_technician, floor):
    to = reverse("record_hours", args=[floor.machine.pk])
    sent = {"read_at": "2026-03-09T10:00", "meter_h": "12", "token": "h-1"}
    assert "hard to believe" in as_technician.post(to, sent).content.decode()
    assert as_technician.post(to, sent | {"keep_hours": "on"}).status_code == 302
    assert HourReading.objects.filter(meter_h=12, is_confirmed=False).count() == 1


def test_the_page_of_a_fill_keeps_it(as_technician, floor):
    to = reverse("record_fill", args=[floor.machine.pk])
    assert as_technician.post(to, {"filled_at": "2026-03-09T10:00", "token": "f-1"}).status_code == 422
    sent = {"filled_at": "2026-03-09T10:00", "kind": "top_up", "product": str(floor.oil.pk), "token": "f-2"}
    sent |= {"fill": "1", "fill_unit": "gal"}
    assert as_technician.post(to, sent).status_code == 302
    assert floor.machine.fills.filter(fill_l=Decimal("3.79")).exists()


def test_a_wrong_visit_is_not_found(as_manager):
    assert as_manager.get(reverse("visit", args=[99])).status_code == 404


def test_a_long_visit_asks_as_little_of_the_database_as_a_short_one(floor, technician, filter_task, as_manager):
    short = logged(floor, technician, filter_task, readings=5, findings=5, fills=5)
    HourReading.objects.filter(pk=short.hour_reading_id).update(read_at=AT - timedelta(hours=1))
    long = logged(floor, technician, filter_task, readings=50, findings=50, fills=20)
    as_manager.get(address(short))
    with CaptureQueriesContext(connection) as few:
        as_manager.get(address(short))
    with CaptureQueriesContext(connection) as many:
        as_manager.get(address(long))
    assert len(many) == len(few) <= 25


def test_the_form_asks_as_little_of_the_database_for_many_gauges_as_for_few(floor, as_technician):
    to = reverse("log_visit", args=[floor.machine.pk])
    as_technician.get(to)
    with CaptureQueriesContext(connection) as few:
        as_technician.get(to)
    for number in range(40):
        type(floor.charge_gauge).objects.create(tag=f"G-9{number}", kind="pressure", span_high=60, unit="bar")
    with CaptureQueriesContext(connection) as many:
        as_technician.get(to)
    assert len(many) == len(few) <= 30

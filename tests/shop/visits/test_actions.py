from datetime import UTC, datetime, timedelta
from decimal import Decimal

import pytest
from django.apps import apps
from django.db import OperationalError, connection

from fleet.models import ConditionAssessment, DriveTest, DriveUnit, FluidFill, HourReading, Installation, Reading
from shop.acts import AlreadyDone
from shop.models import Act, ChangeEntry, Finding, TaskDone, Visit
from shop.refusals import Refused
from shop.visits.actions import record_fill, record_hours, record_visit
from shop.visits.entries import FillEntry, FindingEntry, HoursEntry, ReadingEntry, RoundConditions, TaskEntry, VisitEntry

AT = datetime(2026, 3, 9, 10, tzinfo=UTC)


def charge(floor, value=22.5, unit=None, **more):
    given = {"typed": f"{value}", "typed_unit": "bar", "value": value, "house_unit": "bar", "instrument": floor.charge_gauge}
    return ReadingEntry(unit or floor.unit, "charge_neutral", **given | more)


@pytest.fixture
def full(floor, filter_task):
    """A visit with one of everything."""
    return VisitEntry(
        hours=HoursEntry(Decimal("1215.5"), "1215.5"),
        conditions=RoundConditions(oil_temp_c=60, engine_speed_rpm=2300),
        readings=(charge(floor), charge(floor, 19.0)),
        fills=(FillEntry("top_up", floor.oil, Decimal("1.50"), batch="00123"),),
        tasks=(TaskEntry(filter_task, floor.unit),),
        findings=(FindingEntry("Hose rubs", "now"),),
    )


def book() -> dict:
    """Everything in the book, the change record and the counters too."""
    models = [model for name in ("fleet", "shop") for model in apps.get_app_config(name).get_models(include_auto_created=True)]
    return {model._meta.label: sorted(map(repr, model._base_manager.values_list())) for model in models}


class BreaksAt:
    """Lets a number of statements through, then fails once."""

    def __init__(self, count: int):
        self.left, self.seen = count, 0

    def __call__(self, execute, sql, params, many, context):
        self.seen += 1
        self.left -= 1
        if self.left == 0:
            raise OperationalError("the disk went away")
        return execute(sql, params, many, context)


def test_a_failure_at_any_statement_leaves_the_book_as_it_was(floor, full, technician):
    before = book()
    statement, done = 0, False
    while not done:
        statement += 1
        breaks = BreaksAt(statement)
        try:
            with connection.execute_wrapper(breaks):
                record_visit(by=technician, machine=floor.machine, visited_at=AT, entry=full, token="t")
            done = True
        except OperationalError:
            assert book() == before, f"statement {statement} left something behind"
    assert statement > 40
    assert Visit.objects.count() == 1 and Reading.objects.count() == 2 and ConditionAssessment.objects.count() == 2


def test_the_same_page_counts_once(floor, full, technician):
    visit = record_visit(by=technician, machine=floor.machine, visited_at=AT, entry=full, token="t")
    with pytest.raises(AlreadyDone) as again:
        record_visit(by=technician, machine=floor.machine, visited_at=AT, entry=full, token="t")
    assert again.value.record == visit
    assert Visit.objects.count() == 1


def test_every_row_of_a_visit_is_in_the_change_record_under_one_act(floor, full, technician):
    record_visit(by=technician, machine=floor.machine, visited_at=AT, entry=full)
    frame = Act.objects.get(name="Visit logged")
    tables = set(ChangeEntry.objects.filter(act_id=frame.pk).values_list("table", flat=True))
    written = (Visit, DriveTest, Reading, HourReading, FluidFill, TaskDone, Finding, ConditionAssessment)
    assert {model._meta.db_table for model in written} <= tables


def test_two_drives_of_one_machine_get_a_test_each(floor, technician):
    left = DriveUnit.objects.create(tag="D-00002", serial="H75-0189", drive_model=floor.drive_model)
    Installation.objects.create(unit=left, machine=floor.machine, position="left", from_date=AT.date(), from_life_h=Decimal("1200.0"))
    entry = VisitEntry(HoursEntry(Decimal("1215.5"), "1215.5"), readings=(charge(floor), charge(floor, unit=left)))
    visit = record_visit(by=technician, machine=floor.machine, visited_at=AT, entry=entry)
    assert {test.unit: test.component_h for test in visit.tests.all()} == {floor.unit: Decimal("1215.5"), left: Decimal("15.5")}


def test_hours_nobody_vouched_for_are_refused(floor, technician):
    with pytest.raises(Refused, match="replaced"):
        record_hours(by=technician, machine=floor.machine, at=AT, hours=HoursEntry(Decimal("3"), "3"))
    assert HourReading.objects.count() == 1


def test_life_hours_after_a_replaced_meter(floor, technician):
    floor.meter.ended_on, floor.meter.end_meter_h, floor.meter.end_reason = AT.date(), Decimal("3120.4"), "glass broken"
    floor.meter.save()
    floor.machine.meters.create(fitted_on=AT.date(), start_meter_h=0, start_life_h=Decimal("3120.4"))
    later = AT + timedelta(days=200)
    entry = VisitEntry(HoursEntry(Decimal("412.7"), "412.7", is_kept=True))
    assert record_visit(by=technician, machine=floor.machine, visited_at=later, entry=entry).life_h == Decimal("3533.1")


def test_a_machine_without_a_meter_gets_one_with_its_first_reading(floor, technician):
    other = type(floor.machine).objects.create(
        number="M-00009", kind="loader", maker="Hollowick", model="L90", serial="L-9", customer=floor.customer, engine_rated_speed_rpm=2200
    )
    reading = record_hours(by=technician, machine=other, at=AT, hours=HoursEntry(Decimal("700"), "700"))
    assert (reading.life_h, other.meters.get().start_meter_h) == (Decimal("700"), Decimal("700"))


def test_oil_filled_earlier_than_a_test_judges_that_test_again(floor, full, technician):
    record_visit(by=technician, machine=floor.machine, visited_at=AT, entry=full)
    record_fill(by=technician, machine=floor.machine, at=AT - timedelta(days=3), fill=FillEntry("top_up", None, Decimal("5")))
    assert {row.state for row in ConditionAssessment.objects.in_force()} == {"not comparable"}
    assert ConditionAssessment.objects.count() == 4


def test_photos_that_cannot_be_kept_take_the_visit_with_them(floor, full, technician):
    def broken(visit):
        raise OSError("disk full")

    with pytest.raises(OSError, match="disk full"):
        record_visit(by=technician, machine=floor.machine, visited_at=AT, entry=full, then=broken)
    assert not Visit.objects.exists()

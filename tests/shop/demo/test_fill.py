"""The demo shop as a whole: how much there is, and that it holds together."""

from datetime import date

import pytest
from django.db import connection

from fleet.models import (
    ConditionAssessment,
    Customer,
    DriveModel,
    DriveTest,
    DriveUnit,
    FluidProduct,
    HourReading,
    Installation,
    LabValue,
    Machine,
    Reading,
)
from shop.changes.chain import first_break
from shop.demo.fill import NotEmpty, fill, is_empty
from shop.models import IntervalRule, SeasonBlock, TaskDone, WorkOrder

pytestmark = pytest.mark.django_db


def test_there_is_as_much_as_was_promised(demo_shop):
    assert Customer.objects.count() >= 6
    assert Machine.objects.count() == 40
    assert len(set(Machine.objects.values_list("kind", flat=True))) >= 6
    assert DriveUnit.objects.count() == 45
    assert DriveModel.objects.count() == 4
    assert DriveModel.objects.filter(circuit="dual").count() == 1
    assert DriveTest.objects.count() >= 400
    assert Reading.objects.count() >= 3000


def test_every_customer_has_a_yard_and_somebody_who_may_approve(demo_shop):
    for customer in Customer.objects.all():
        assert customer.sites.exists(), customer
        assert customer.contacts.filter(may_approve=True, approval_limit_cents__gt=0).exists(), customer


def test_names_beyond_ascii_and_leading_zeros_are_there(demo_shop):
    names = " ".join(Customer.objects.values_list("name", flat=True))
    assert all(sign in names for sign in "Øé霧ГΚŻ")
    assert Machine.objects.filter(serial="00123").exists()


def test_tests_span_three_years_and_end_before_the_day(demo_shop):
    first, last = (DriveTest.objects.order_by(key).first().tested_at.date() for key in ("tested_at", "-tested_at"))
    assert (last - first).days > 3 * 365 - 90
    assert last <= date(2026, 11, 25)


def test_no_row_points_at_nothing(demo_shop):
    connection.check_constraints()


def test_every_row_passes_the_constraints_that_its_model_states(demo_shop):
    for model in (DriveModel, DriveUnit, Installation, FluidProduct, WorkOrder, IntervalRule, TaskDone, SeasonBlock):
        for row in model.objects.all()[:300]:
            row.validate_constraints()


def test_every_machine_has_a_rule_for_each_task_and_a_running_drive(demo_shop):
    tasks = len(demo_shop.tasks)
    for machine in Machine.objects.prefetch_related("installations__unit"):
        fitted = [stay.unit for stay in machine.installations.all() if stay.to_date is None]
        assert len(fitted) in (1, 2), machine
        by_model = IntervalRule.objects.filter(drive_model=fitted[0].drive_model_id).count()
        assert by_model + machine.interval_rules.count() == tasks


def test_hours_never_run_backwards_where_they_are_believed(demo_shop):
    last: dict[int, tuple] = {}
    for row in HourReading.objects.filter(is_confirmed=True).select_related("meter").order_by("meter__machine_id", "read_at", "life_h"):
        before = last.get(row.meter.machine_id)
        if before:
            days = (row.read_at - before[0]).total_seconds() / 86400
            assert before[1] <= row.life_h, row
            assert float(row.life_h - before[1]) <= 24 * max(1, days + 1), row
        last[row.meter.machine_id] = (row.read_at, row.life_h)


def test_component_hours_of_a_test_are_those_of_its_installations(demo_shop):
    stays = list(Installation.objects.all())
    for test in DriveTest.objects.all():
        day = test.tested_at.date()
        run = sum(
            (stay.to_life_h if stay.to_date and stay.to_date <= day else test.life_h) - stay.from_life_h
            for stay in stays
            if stay.unit_id == test.unit_id and stay.from_date <= day
        )
        assert run == test.component_h, test


def test_some_work_was_late_and_some_not_done(demo_shop):
    late = [row for row in TaskDone.objects.filter(was_done=True, due_on__isnull=False) if row.done_on > row.due_on]
    assert len(late) > 20
    assert TaskDone.objects.filter(was_done=False).count() > 20


def test_orders_stand_in_every_state(demo_shop):
    assert set(WorkOrder.objects.values_list("state", flat=True)) == set(WorkOrder.State.values)


def test_a_figure_below_the_limit_of_detection_has_no_value(demo_shop):
    below = LabValue.objects.filter(is_below_limit=True)
    assert below.exists()
    assert not below.filter(value__isnull=False).exists()
    assert all(row.typed.startswith("<") for row in below)


def test_most_readings_can_be_judged_and_most_are_inside(demo_shop):
    found = list(ConditionAssessment.objects.in_force().values_list("state", flat=True))
    assert len(found) == Reading.objects.count()
    assert found.count("inside") > 0.85 * len(found)
    assert found.count("not comparable") < 0.05 * len(found)


def test_the_change_record_of_the_filling_holds(demo_shop):
    assert first_break() is None


def test_a_shop_that_holds_anything_is_refused(demo_shop):
    assert not is_empty()
    with pytest.raises(NotEmpty):
        fill(date(2026, 11, 25))

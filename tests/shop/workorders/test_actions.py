"""Orders are opened with everything that called for them, and go only where they may."""

import pytest

from shop.models import KitItem, OrderMove, Part, ServiceTask, WorkOrder
from shop.refusals import Refused
from shop.workorders.actions import move_order, open_order


@pytest.fixture
def filter_task(db):
    return ServiceTask.objects.create(code="F1", name="Charge filter", kind="filter", cautions=["C2", "C3", "C4"])


def test_an_order_gets_a_number_the_customer_the_unit_and_the_hours(floor, office):
    order = open_order(by=office, machine=floor.machine, complaint="slow when hot")
    assert order.number == "W-00001"
    assert (order.customer, order.unit, str(order.life_h)) == (floor.customer, floor.unit, "1210.0")
    assert [(move.from_state, move.to_state, move.recorded_by) for move in order.moves.all()] == [("", "taken_in", office)]


def test_a_task_brings_the_parts_of_its_kit_under_the_number_that_stands_today(floor, office, filter_task):
    new = Part.objects.create(number="F-200", name="Filter element", price_cents=4_150)
    old = Part.objects.create(number="F-100", name="Filter element", superseded_by=new)
    KitItem.objects.create(task=filter_task, drive_model=floor.drive_model, part=old, quantity=2)
    order = open_order(by=office, machine=floor.machine, tasks=[(filter_task, floor.unit, "due at 1,200 h")])
    task, part = order.lines.all()
    assert (task.task, task.evidence) == (filter_task, "due at 1,200 h")
    assert (part.part, part.quantity, part.price_each_cents) == (new, 2, 4_150)


def test_the_same_form_sent_twice_opens_one_order(floor, office):
    from shop.acts import AlreadyDone

    first = open_order(by=office, machine=floor.machine, token="once")
    with pytest.raises(AlreadyDone) as seen:
        open_order(by=office, machine=floor.machine, token="once")
    assert seen.value.record == first
    assert WorkOrder.objects.count() == 1


def test_an_order_goes_only_where_it_may_from_where_it_stands(floor, office):
    order = open_order(by=office, machine=floor.machine)
    with pytest.raises(Refused, match="cannot go to collected"):
        move_order(by=office, order=order, to="collected", version=order.version)
    move_order(by=office, order=order, to="diagnosing", version=order.version)
    assert OrderMove.objects.filter(order=order).count() == 2


def test_cancelling_needs_a_reason(floor, office):
    order = open_order(by=office, machine=floor.machine)
    with pytest.raises(Refused, match="why the order is cancelled"):
        move_order(by=office, order=order, to="cancelled", version=order.version)

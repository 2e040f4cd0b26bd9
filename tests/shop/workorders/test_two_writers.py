"""Two people at once, on a real database: one of them is told, nothing is lost, nothing is half-written."""

from concurrent.futures import ThreadPoolExecutor
from decimal import Decimal
from threading import Barrier

import pytest
from django.db import connection

from fleet.models.base import ChangedMeanwhile
from shop.models import OrderLine, Part, StockMove, TaskDone, WorkOrder
from shop.parts.actions import issue_part, receive_part, stock_of
from shop.refusals import Refused
from shop.workorders.actions import write_story
from shop.workorders.labour import start_clock
from shop.workorders.lines import add_line, change_line
from shop.workorders.release import ReleaseEntry, release_order

pytestmark = pytest.mark.django_db(transaction=True)


def at_once(*acts) -> list:
    """Begin every act at the same moment, each with its own connection; return what each gave or raised."""
    line = Barrier(len(acts))

    def run(do):
        try:
            line.wait()
            return do()
        except Exception as raised:
            return raised
        finally:
            connection.close()

    with ThreadPoolExecutor(len(acts)) as pool:
        return list(pool.map(run, acts))


def test_two_who_write_the_same_story_do_not_overwrite_each_other(bench, manager):
    version = bench.order.version

    def write(words):
        return lambda: write_story(by=manager, order=WorkOrder.objects.get(pk=bench.order.pk), version=version, cause=words)

    found = at_once(write("one"), write("two"))
    assert sum(isinstance(one, ChangedMeanwhile) for one in found) == 1
    kept = next(one for one in found if isinstance(one, WorkOrder))
    assert bench.fresh().cause == kept.cause and bench.order.version == version + 1


def test_the_last_part_is_issued_once(bench, manager):
    part = Part.objects.create(number="F", name="Filter")
    receive_part(by=manager, part=part, quantity=Decimal(1))
    lines = [OrderLine.objects.create(order=bench.order, kind="part", words="Filter", part=part) for _ in range(2)]
    found = at_once(
        *[lambda line=line: issue_part(by=manager, line=OrderLine.objects.get(pk=line.pk), quantity=Decimal(1)) for line in lines]
    )
    assert sum(isinstance(one, Refused) for one in found) == 1
    assert stock_of(part) == 0 and StockMove.objects.filter(kind="issued").count() == 1


def test_one_clock_runs_for_one_pair_of_hands(bench, manager, hands):
    found = at_once(*[lambda: start_clock(by=manager, order=bench.order, technician=hands, kind="repair")] * 3)
    assert sum(isinstance(one, Exception) for one in found) == 2
    assert bench.order.labour.count() == 1


@pytest.mark.parametrize("turn", range(3))
def test_a_line_added_during_the_release_is_never_released_open(bench, manager, turn):
    order = bench.ready()
    said = ReleaseEntry(fitness="yes", meter_h=Decimal("1215.0"), cautions_read=True, next_due_told=True, test_waiver="x")
    line = order.lines.get()
    found = at_once(
        lambda: release_order(by=manager, order=WorkOrder.objects.get(pk=order.pk), version=order.version, said=said),
        lambda: add_line(by=manager, order=order, words="one thing more"),
        lambda: change_line(by=manager, line=OrderLine.objects.get(pk=line.pk), version=line.version, state="open"),
    )
    order = bench.fresh()
    is_open = order.lines.filter(state="open").exists()
    assert (order.state == "released") is not is_open
    assert TaskDone.objects.count() == (1 if order.state == "released" else 0)
    assert any(isinstance(one, Refused) for one in found)


def test_the_same_release_sent_twice_at_once_releases_once(bench, manager):
    order = bench.ready()
    said = ReleaseEntry(fitness="yes", meter_h=Decimal("1215.0"), cautions_read=True, next_due_told=True, test_waiver="x")
    at_once(
        *[lambda: release_order(by=manager, order=WorkOrder.objects.get(pk=order.pk), version=order.version, said=said, token="same")] * 2
    )
    assert bench.fresh().state == "released"
    assert TaskDone.objects.count() == 1 and order.moves.filter(to_state="released").count() == 1

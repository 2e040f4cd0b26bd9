"""An order with holes is not released; a whole one writes everything at once and prints the same ever after."""

from decimal import Decimal

import pytest

from fleet.models import DriveUnit, FluidFill, HourReading, Installation, UnitEvent
from fleet.models.base import ChangedMeanwhile
from shop.models import OrderLine, OrderMove, TaskDone, Visit, WorkOrder
from shop.printing.paper import make_pdf
from shop.refusals import Refused
from shop.workorders.actions import open_order, write_story
from shop.workorders.failures import CLEAN_OUT, record_failure
from shop.workorders.lines import add_line, change_line
from shop.workorders.release import ReleaseEntry, open_points, release_order
from shop.workorders.rows import kept_words
from shop.workorders.sheet import order_paper
from shop.workorders.superseding import supersede_order


def said(**more) -> ReleaseEntry:
    return ReleaseEntry(**{"fitness": "yes", "meter_h": Decimal("1215.0"), "cautions_read": True, "next_due_told": True} | more)


def test_every_hole_is_named_in_one_sentence(bench, manager):
    with pytest.raises(Refused) as refusal:
        release_order(by=manager, order=bench.order, version=1, said=ReleaseEntry(fitness=""))
    words = " ".join(refusal.value.sentences)
    for hole in (
        "final test first",
        "Cause is empty",
        "Correction is empty",
        "Charge filter",
        "cautions",
        "due next",
        "No test after",
        "Hours were not",
        "safe to work",
    ):
        assert hole in words
    assert WorkOrder.objects.get().state == "taken_in"
    assert TaskDone.objects.count() == Visit.objects.count() == 0


@pytest.mark.parametrize(
    "cause, holds", [("", False), ("not found", False), ("Not known.", False), ("not found, because the filter was thrown away", True)]
)
def test_a_cause_may_be_not_found_but_must_say_why(bench, cause, holds):
    bench.order.cause = cause
    assert any(point.startswith("Cause") for point in open_points(bench.order)) is not holds


def test_a_whole_order_writes_tasks_hours_oil_and_baseline_at_once(bench, manager, floor, tested):
    order = bench.ready()
    tested()
    fill = {"kind": "change", "product": floor.oil, "fill_l": Decimal(40), "drained_l": Decimal(40), "batch": "B7"}
    release_order(by=manager, order=order, version=order.version, said=said(fills=[fill], baseline="repaired"))
    order = bench.fresh()
    assert (order.state, order.fitness, order.released_by) == ("released", "yes", manager)
    done = TaskDone.objects.get()
    assert (done.task, done.was_done, done.life_h, done.order_line.order) == (bench.task, True, Decimal("1215.0"), order)
    assert FluidFill.objects.get(kind="change").life_h == Decimal("1215.0")
    assert HourReading.objects.order_by("-pk").first().meter_h == Decimal("1215.0")
    event = UnitEvent.objects.get()
    assert (event.kind, event.component_h) == ("repaired", Decimal("1215.0"))
    assert OrderMove.objects.filter(order=order, to_state="released").exists()
    assert order.cautions_seen_by == manager


def test_a_drive_taken_out_and_one_fitted_keep_exact_hours(bench, manager, floor, tested):
    order = bench.ready()
    other = DriveUnit.objects.create(tag="D-00002", serial="H75-0200", drive_model=floor.drive_model, birth="rebuilt")
    entry = said(taken_out=floor.installation, keeping="at_repair", fitted=other, position="main", test_waiver="machine went at once")
    release_order(by=manager, order=order, version=order.version, said=entry)
    old, new = Installation.objects.order_by("pk")
    assert (old.to_life_h, old.unit.keeping) == (Decimal("1215.0"), "at_repair")
    assert (new.unit, new.from_life_h) == (other, Decimal("1215.0"))


def test_a_waived_final_test_names_who_waived_it(bench, manager):
    order = bench.ready()
    release_order(by=manager, order=order, version=order.version, said=said(test_waiver="wheels off, tyre shop has them"))
    order = bench.fresh()
    assert (order.waived_by, order.test_waiver) == (manager, "wheels off, tyre shop has them")


def test_a_line_not_done_says_why_and_is_written_as_not_done(bench, manager):
    line = bench.order.lines.get()
    with pytest.raises(Refused, match="write why"):
        change_line(by=manager, line=line, version=line.version, state="not_done", why_not="")
    order = bench.ready()
    line = OrderLine.objects.get(pk=line.pk)
    change_line(by=manager, line=line, version=line.version, state="not_done", why_not="filter did not come")
    release_order(by=manager, order=order, version=order.version, said=said(test_waiver="no drive work"))
    done = TaskDone.objects.get()
    assert (done.was_done, done.why_not) == (False, "filter did not come")


def test_debris_puts_lines_that_only_a_named_person_may_waive(bench, manager, technician):
    order = bench.fresh()
    record_failure(by=technician, order=order, happened_at=order.taken_in_at, version=order.version, mode="no_drive", has_debris=True)
    forced = OrderLine.objects.filter(is_forced=True)
    assert [line.words for line in forced] == list(CLEAN_OUT)
    assert any("cooler" in point for point in open_points(bench.fresh()))
    line = forced.first()
    with pytest.raises(Refused, match="only a manager"):
        change_line(by=technician, line=line, version=line.version, state="not_done", why_not="no time")
    line = OrderLine.objects.get(pk=line.pk)
    change_line(by=manager, line=line, version=line.version, state="not_done", why_not="mate unit is new as well")
    assert OrderLine.objects.get(pk=line.pk).waived_by == manager


def test_recording_debris_twice_puts_its_lines_once(bench, manager):
    for _ in range(2):
        order = bench.fresh()
        record_failure(by=manager, order=order, happened_at=order.taken_in_at, version=order.version, mode="no_drive", has_debris=True)
    assert OrderLine.objects.filter(is_forced=True).count() == len(CLEAN_OUT)


def test_hours_that_cannot_be_are_not_released_over(bench, manager):
    order = bench.ready()
    with pytest.raises(Refused, match="900"):
        release_order(by=manager, order=order, version=order.version, said=said(meter_h=Decimal("900.0"), test_waiver="x"))
    assert Visit.objects.count() == TaskDone.objects.count() == 0


def test_whoever_saves_second_is_told_and_nothing_is_half_written(bench, manager):
    order, mine = bench.ready(), bench.fresh()
    write_story(by=manager, order=order, version=order.version, cause="Somebody else wrote this")
    with pytest.raises(ChangedMeanwhile):
        release_order(by=manager, order=mine, version=mine.version, said=said(test_waiver="x"))
    assert TaskDone.objects.count() == Visit.objects.count() == 0
    assert bench.fresh().cause == "Somebody else wrote this"


def test_a_released_order_prints_the_same_after_names_prices_and_figures_changed(bench, manager, floor):
    order = bench.ready()
    release_order(by=manager, order=order, version=order.version, said=said(test_waiver="x"))
    before = make_pdf([order_paper(kept_words(bench.fresh()))])
    floor.customer.name, floor.machine.model, floor.drive_model.charge_relief_bar = "Somebody else", "X", 99
    for record in (floor.customer, floor.machine, floor.drive_model):
        record.save()
    assert make_pdf([order_paper(kept_words(bench.fresh()))]) == before


def test_a_released_order_is_put_right_by_another_never_changed(bench, manager):
    order = bench.ready()
    release_order(by=manager, order=order, version=order.version, said=said(test_waiver="x"))
    order = bench.fresh()
    for touch in (
        lambda: write_story(by=manager, order=order, version=order.version, cause="other"),
        lambda: add_line(by=manager, order=order, words="more"),
        lambda: change_line(by=manager, line=order.lines.get(), version=order.lines.get().version, state="open"),
    ):
        with pytest.raises(Refused, match="takes its place"):
            touch()
    new = supersede_order(by=manager, order=order, reason="filter was not changed after all")
    line = new.lines.get()
    change_line(by=manager, line=line, version=line.version, state="not_done", why_not="forgotten")
    new = WorkOrder.objects.get(pk=new.pk)
    release_order(by=manager, order=new, version=new.version, said=said(meter_h=None, test_waiver="x"))
    standing = TaskDone.objects.standing().get()
    assert (standing.was_done, standing.supersedes.was_done, standing.life_h) == (False, True, Decimal("1215.0"))
    assert standing.correction_reason == "filter was not changed after all"
    with pytest.raises(Refused, match="successor"):
        supersede_order(by=manager, order=order, reason="again")


def test_a_running_clock_holds_the_release(bench, manager, hands):
    from shop.workorders.labour import start_clock

    start_clock(by=manager, order=bench.order, technician=hands, kind="repair")
    assert "The clock of Tilde Invented is running: stop it." in open_points(bench.order)


def test_the_same_symptom_again_within_the_window_needs_an_answer(bench, manager, floor):
    order = bench.ready()
    release_order(by=manager, order=order, version=order.version, said=said(test_waiver="x"))
    again = open_order(by=manager, machine=floor.machine, symptom="slow_hot")
    assert any("comeback" in point for point in open_points(again))
    write_story(by=manager, order=again, version=again.version, comeback_of=order, comeback_answer="same noise, same day")
    assert not any("comeback" in point for point in open_points(WorkOrder.objects.get(pk=again.pk)))
    other = open_order(by=manager, machine=floor.machine, symptom="leak")
    assert not any("comeback" in point for point in open_points(other))

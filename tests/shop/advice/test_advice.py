from datetime import UTC, datetime
from decimal import Decimal

import pytest

import shop.advice.review
from fleet.models import MetalGroup, MetalState, WearGauge, WearState
from shop.advice.actions import accept_advice, dismiss_advice, suggest
from shop.advice.material import has_changed
from shop.advice.review import review_after, review_shop
from shop.models import Act, Advice, ChangeEntry, Visit, WorkOrder
from shop.refusals import Refused
from shop.visits.actions import record_visit
from shop.visits.corrections import correct_reading
from shop.visits.entries import HoursEntry, ReadingEntry, RoundConditions, VisitEntry
from tests.wear_fleet import lay_wear_fleet, put_readings, worn

LATER = datetime(2026, 1, 5, tzinfo=UTC)


@pytest.fixture
def drives(floor, technician):
    return lay_wear_fleet(floor, technician, with_machines=True)


@pytest.fixture
def reviewed(drives):
    review_shop()
    return drives


def first(drives) -> Advice:
    return Advice.objects.open().get(unit=drives[0])


def test_the_review_suggests_a_repair_of_the_wearing_and_nothing_else(reviewed):
    found = list(Advice.objects.open())
    assert {advice.unit for advice in found} == set(reviewed[:3])
    assert {advice.kind for advice in found} == {"plan_repair"}
    assert all("ump case drain flow wearing" in advice.reason and advice.machine for advice in found)


def test_suggestions_stand_in_the_change_record_under_one_act(reviewed):
    act = Act.objects.get(name="Suggestions from the review")
    assert act.by is None
    assert ChangeEntry.objects.filter(table="shop_advice", act_id=act.pk, kind="insert").count() == 3


def test_a_second_review_writes_nothing(reviewed):
    acts = Act.objects.count()
    review_shop()
    assert (Advice.objects.count(), Act.objects.count()) == (3, acts)


def test_what_was_dismissed_does_not_come_back_unchanged(reviewed, manager):
    dismiss_advice(by=manager, advice=first(reviewed), answer="sold next week")
    review_shop()
    assert not Advice.objects.open().filter(unit=reviewed[0]).exists()


def test_what_was_dismissed_comes_back_when_its_evidence_has_grown(reviewed, manager, floor, technician):
    advice = first(reviewed)
    dismiss_advice(by=manager, advice=advice, answer="sold next week")
    put_readings(floor, technician, reviewed[0], [2.3, 2.5, 2.7], first_h=3000, first_day=LATER)
    review_shop()
    again = first(reviewed)
    assert again.pk != advice.pk
    assert again.evidence["level"] > advice.evidence["level"]
    advice.refresh_from_db()
    assert (advice.is_accepted, advice.answer) == (False, "sold next week")


def test_an_open_suggestion_whose_reason_is_gone_is_withdrawn_and_comes_back_with_it(reviewed):
    advice = first(reviewed)
    WearState.objects.filter(unit=reviewed[0]).update(state="steady")
    assert suggest() == 1
    assert not Advice.objects.open().filter(unit=reviewed[0]).exists()
    WearState.objects.filter(unit=reviewed[0]).update(state="wearing")
    assert suggest() == 1
    assert first(reviewed).pk == advice.pk


def test_accepting_with_an_order_opens_it_in_the_same_act(reviewed, manager):
    accept_advice(by=manager, advice=first(reviewed), answer="in January", opens_order=True)
    advice = Advice.objects.get(unit=reviewed[0])
    order = WorkOrder.objects.get()
    assert (advice.order, advice.is_accepted, advice.answered_by) == (order, True, manager)
    assert (order.unit, order.machine) == (reviewed[0], advice.machine)
    assert "pump case drain flow" in order.complaint.lower()
    acts = ChangeEntry.objects.filter(table__in=["shop_advice", "shop_workorder"]).values_list("act_id", flat=True)
    assert list(acts)[-2:] == [Act.objects.latest("pk").pk] * 2


def test_a_suggestion_is_answered_once(reviewed, manager, office):
    advice, same = first(reviewed), first(reviewed)
    accept_advice(by=manager, advice=advice, answer="in January")
    with pytest.raises(Refused, match="a moment ago"):
        dismiss_advice(by=office, advice=same, answer="no")
    assert Advice.objects.get(pk=advice.pk).is_accepted


def test_an_answer_needs_a_word(reviewed, manager):
    with pytest.raises(Refused):
        dismiss_advice(by=manager, advice=first(reviewed), answer="  ")
    assert first(reviewed).answered_at is None


def rising_iron(unit) -> None:
    group = MetalGroup.objects.create(drive_model=unit.drive_model, metal="Fe", numbers={}, usual_rate=2.0, machines=9, reviewed_at=LATER)
    MetalState.objects.create(
        machine=unit.installations.get().machine, group=group, metal="Fe", samples=6, state="wearing", alarm="critical", rate=5.0, level_ratio=2.4,
        last_life_h=2400, last_drawn_on=LATER.date(), reviewed_at=LATER,
    )  # fmt: skip


def test_two_independent_signs_press_more_than_either_alone(reviewed):
    before = {advice.unit: advice.weight for advice in Advice.objects.open()}
    rising_iron(reviewed[1])
    suggest()
    found = Advice.objects.open().get(unit=reviewed[1])
    assert found.reason.startswith("Two independent signs rise together: pump case drain flow")
    assert "iron (2.4 x the usual rate)" in found.reason
    assert found.weight > max(before.values())
    assert Advice.objects.open().first() == found


def test_metal_alone_asks_for_another_sample(reviewed):
    rising_iron(reviewed[9])
    suggest()
    found = Advice.objects.open().get(machine=reviewed[9].installations.get().machine)
    assert (found.kind, found.unit) == ("sample", None)


def test_a_gauge_that_stands_apart_is_to_be_checked(reviewed, floor):
    WearGauge.objects.create(
        quantity="charge_neutral", instrument=floor.charge_gauge, offset=-0.05, uncertainty=0.01, readings=40, reviewed_at=LATER
    )
    suggest()
    found = Advice.objects.open().get(instrument=floor.charge_gauge)
    assert found.kind == "check_gauge"
    assert "5 % high" in found.reason  # a charge pressure that reads high makes the drive look better than new


def test_a_jump_asks_for_its_cause_and_names_what_was_done_then(reviewed, floor, technician):
    ratios = [2.0, 2.02, 1.98]
    put_readings(floor, technician, reviewed[10], ratios, first_h=2700, first_day=LATER)
    reviewed[10].events.create(
        kind="repaired", happened_on="2025-11-20", component_h=2500, quantities=["main_relief"], note="Reliefs exchanged"
    )
    review_shop()
    found = Advice.objects.open().get(unit=reviewed[10])
    assert found.kind == "find_cause"
    assert "repaired on 20 Nov 2025 (Reliefs exchanged)" in found.reason


@pytest.mark.parametrize(
    ("before", "now", "changed"),
    [
        ({"word": "watch", "level": 1.2}, {"word": "wearing", "level": 1.2}, True),
        ({"word": "wearing", "level": 1.2}, {"word": "watch", "level": 1.2}, False),
        ({"word": "wearing", "level": 1.40}, {"word": "wearing", "level": 1.45}, False),
        ({"word": "wearing", "level": 1.40}, {"word": "wearing", "level": 1.55}, True),
        ({"word": "wearing", "level": 1.0}, {"word": "wearing", "level": 1.01}, False),
        ({"word": "wearing", "level": 1.4, "likely_h": 3000}, {"word": "wearing", "level": 1.4, "likely_h": 2000}, False),
        ({"word": "wearing", "level": 1.4, "likely_h": 3000}, {"word": "wearing", "level": 1.4, "likely_h": 1200}, True),
        ({"word": "wearing", "level": 1.4}, {"word": "wearing", "level": 1.4, "joint": True}, True),
        ({"word": "jumped", "level": 2, "jump_on": "2025-01-01"}, {"word": "jumped", "level": 2, "jump_on": "2025-06-01"}, True),
    ],
)
def test_evidence_that_has_changed_by_enough(before, now, changed):
    assert has_changed(before, now) is changed


def logged(floor, by) -> Visit:
    """Log a visit with one reading of the pump's case drain."""
    reading = ReadingEntry(
        floor.unit, "pump_case_flow", typed="5.0", typed_unit="L/min", value=5.0, house_unit="L/min", instrument=floor.flow_meter,
        loop_pressure_bar=250,
    )  # fmt: skip
    entry = VisitEntry(HoursEntry(Decimal("1215.0"), "1215.0"), RoundConditions(60, 2300, drains="separate"), (reading,))
    return record_visit(by=by, machine=floor.machine, visited_at=datetime(2026, 3, 9, 10, tzinfo=UTC), entry=entry)


@pytest.fixture
def one_machine(floor, technician):
    """The unit of the floor's own machine, with a record that was reviewed among its kin."""
    lay_wear_fleet(floor, technician, with_machines=True)
    put_readings(floor, technician, floor.unit, worn(0.0, 4, 77), first_h=200)
    review_shop()
    return floor


def test_a_visit_updates_the_state_of_its_drive_at_once(one_machine, technician):
    reviewed_at = WearState.objects.get(unit=one_machine.unit).reviewed_at
    others = list(WearState.objects.exclude(unit=one_machine.unit).values_list("pk", "reviewed_at"))
    logged(one_machine, technician)
    state = WearState.objects.get(unit=one_machine.unit)
    assert state.reviewed_at > reviewed_at
    assert (state.readings, str(state.last_tested_on)) == (5, "2026-03-09")
    assert list(WearState.objects.exclude(unit=one_machine.unit).values_list("pk", "reviewed_at")) == others


def test_a_correction_updates_it_too(one_machine, technician):
    made = logged(one_machine, technician)
    before = WearState.objects.get(unit=one_machine.unit).last_ratio
    reading = made.tests.get().readings.get()
    correct_reading(by=technician, reading=reading, reason="misread", typed="7.0", value=7.0)
    assert WearState.objects.get(unit=one_machine.unit).last_ratio > before


def test_a_review_that_fails_loses_no_visit(one_machine, technician, monkeypatch, caplog):
    kept = list(WearState.objects.values_list())

    def fail(unit):
        WearState.objects.all().delete()
        raise ZeroDivisionError("reckoning went wrong")

    monkeypatch.setattr(shop.advice.review, "review_unit", fail)
    logged(one_machine, technician)
    assert Visit.objects.count() == 1
    assert list(WearState.objects.values_list()) == kept
    assert "could not be judged anew" in caplog.text


def test_before_a_first_review_nothing_happens_after_a_visit(drives, django_assert_num_queries):
    machine = drives[0].installations.get().machine
    with django_assert_num_queries(1):
        review_after(machine)
    assert not Advice.objects.exists()


def test_pages_of_suggestions(reviewed, as_manager, as_office):
    page = as_manager.get("/advice/").content.decode()
    assert page.count("Plan the repair before the season") == 3
    found = first(reviewed)
    form = as_office.get(f"/advice/{found.pk}/accept/")
    assert "Open a work order for it" in form.content.decode()
    refused = as_office.post(f"/advice/{found.pk}/dismiss/", {"answer": "", "token": "t1"})
    assert refused.status_code == 422
    assert first(reviewed).answered_at is None
    done = as_office.post(f"/advice/{found.pk}/dismiss/", {"answer": "sold <b>soon</b>", "token": "t2"})
    assert done.status_code == 302
    page = as_manager.get("/advice/").content.decode()
    assert "sold &lt;b&gt;soon&lt;/b&gt;" in page
    assert "dismissed this on" in as_office.get(f"/advice/{found.pk}/accept/").content.decode()
    late = as_manager.post(f"/advice/{found.pk}/accept/", {"answer": "yes", "token": "t3"})
    assert late.status_code == 422


def test_a_form_sent_twice_counts_once(reviewed, as_office):
    found = first(reviewed)
    sent = {"answer": "in January", "opens_order": "on", "token": "once"}
    ways = [as_office.post(f"/advice/{found.pk}/accept/", sent) for _ in range(2)]
    assert [way.status_code for way in ways] == [302, 302]
    assert WorkOrder.objects.count() == 1
    assert ways[0].url == ways[1].url


def test_a_wrong_number_is_not_found(as_office):
    assert as_office.get("/advice/999/accept/").status_code == 404


def test_the_list_of_suggestions_takes_the_same_queries_for_three_as_for_thirty(reviewed, as_manager, django_assert_max_num_queries):
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    as_manager.get("/advice/")
    with CaptureQueriesContext(connection) as few:
        as_manager.get("/advice/")
    for place, unit in enumerate(reviewed * 2):
        Advice.objects.create(kind="sample", unit=unit, machine=unit.installations.get().machine, reason="put", evidence_key=f"k{place}")
    with CaptureQueriesContext(connection) as many:
        as_manager.get("/advice/")
    assert len(few) == len(many)

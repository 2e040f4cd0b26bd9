from datetime import UTC, datetime, timedelta
from decimal import Decimal

import pytest
from django.urls import reverse

from fleet.models import ConditionAssessment, DriveTest, FluidFill, FluidProduct, HourReading, Reading
from shop.models import TaskDone
from shop.refusals import Refused
from shop.visits.actions import record_visit
from shop.visits.corrections import correct_fill, correct_hours, correct_reading, correct_test
from shop.visits.entries import FillEntry, HoursEntry, RoundConditions, TaskEntry, VisitEntry
from tests.shop.visits.test_actions import charge

AT = datetime(2026, 3, 9, 10, tzinfo=UTC)


@pytest.fixture
def visit(floor, technician, filter_task):
    entry = VisitEntry(
        hours=HoursEntry(Decimal("1215.5"), "1215.5"),
        conditions=RoundConditions(oil_temp_c=60, engine_speed_rpm=2300),
        readings=(charge(floor, 22.5),),
        fills=(FillEntry("top_up", floor.oil, Decimal("1.50")),),
        tasks=(TaskEntry(filter_task, floor.unit),),
    )
    return record_visit(by=technician, machine=floor.machine, visited_at=AT, entry=entry)


def in_force(reading):
    return ConditionAssessment.objects.in_force().get(reading=reading)


def test_a_corrected_reading_takes_the_place_of_the_old_one_and_is_judged(visit, manager):
    old = Reading.objects.get()
    new = correct_reading(by=manager, reading=old, reason="read 12.5, wrote 22.5", value=12.5, typed="12.5")
    assert list(Reading.objects.standing()) == [new]
    assert (new.correction_reason, new.recorded_by, new.quantity) == ("read 12.5, wrote 22.5", manager, "charge_neutral")
    assert in_force(old).state == "inside" and in_force(new).state == "outside low"


def test_a_chain_of_corrections_names_every_earlier_row(visit, manager):
    first = Reading.objects.get()
    second = correct_reading(by=manager, reading=first, reason="misread", value=21.0, typed="21.0")
    third = correct_reading(by=manager, reading=second, reason="misread again", value=22.0, typed="22.0")
    assert list(third.earlier()) == [second, first]


def test_two_people_cannot_correct_the_same_row(visit, manager):
    old = Reading.objects.get()
    correct_reading(by=manager, reading=old, reason="misread", value=21.0, typed="21.0")
    with pytest.raises(Refused, match="a moment ago"):
        correct_reading(by=manager, reading=old, reason="misread too", value=20.0, typed="20.0")
    assert Reading.objects.count() == 2


def test_a_correction_without_a_reason_is_refused(visit, manager):
    with pytest.raises(Refused, match="why"):
        correct_reading(by=manager, reading=Reading.objects.get(), reason="  ", value=21.0)


def test_a_corrected_fill_changes_the_oil_that_tests_are_judged_with(visit, manager, floor):
    thick = FluidProduct.objects.create(maker="Fenoil", name="Hydrol 100", kind="hydraulic", nu40_mm2s=100, nu100_mm2s=11.4)
    fill = FluidFill.objects.get(kind="top_up")
    before = in_force(Reading.objects.get()).expected
    litres = {"fill_l": Decimal("40"), "drained_l": Decimal("40")}
    new = correct_fill(by=manager, fill=fill, reason="other drum", product=thick, kind="change", **litres)
    assert new in visit.fills.all() and not fill.stands
    assert in_force(Reading.objects.get()).expected != before


def test_corrected_conditions_judge_every_reading_of_the_test_again(visit, manager):
    test = DriveTest.objects.get()
    correct_test(by=manager, test=test, version=test.version, reason="thermometer read in degF", oil_temp_c=None)
    assert in_force(Reading.objects.get()).state == "not comparable"
    with pytest.raises(ValueError, match="life_h"):
        correct_test(by=manager, test=test, version=test.version, reason="x", life_h=1)


def test_corrected_hours_reach_the_visit_its_test_its_tasks_and_its_oil(visit, manager):
    old = HourReading.objects.get(meter_h=Decimal("1215.5"))
    new = correct_hours(by=manager, reading=old, hours=HoursEntry(Decimal("1212.5"), "1212.5"), reason="digit misread")
    visit.refresh_from_db()
    assert (visit.life_h, visit.hour_reading) == (Decimal("1212.5"), new)
    assert DriveTest.objects.get().component_h == Decimal("1212.5")
    assert [done.life_h for done in TaskDone.objects.standing()] == [Decimal("1212.5")]
    assert [fill.life_h for fill in FluidFill.objects.standing().filter(kind="top_up")] == [Decimal("1212.5")]


def test_doubted_hours_are_confirmed_by_a_correction_once_later_readings_bear_them_out(floor, manager, technician):
    kept = VisitEntry(HoursEntry(Decimal("1450"), "1450", is_kept=True))
    visit = record_visit(by=technician, machine=floor.machine, visited_at=AT, entry=kept)
    assert visit.life_h == Decimal("1210.0")
    correct_hours(
        by=manager,
        reading=visit.hour_reading,
        hours=HoursEntry(Decimal("1450"), "1450", is_kept=True),
        read_at=AT + timedelta(days=60),
        reason="the date was wrong",
    )
    visit.refresh_from_db()
    assert visit.life_h == Decimal("1450")


PAGES = {"correct_reading": Reading, "correct_hours": HourReading, "correct_fill": FluidFill, "correct_test": DriveTest}


@pytest.mark.parametrize("act", PAGES)
@pytest.mark.parametrize(("who", "status"), [("as_manager", 200), ("as_technician", 200), ("as_office", 403), ("as_stranger", 302)])
def test_corrections_are_open_to_those_who_may(request, visit, act, who, status):
    row = PAGES[act].objects.order_by("pk").last()
    assert request.getfixturevalue(who).get(reverse(act, args=[row.pk])).status_code == status


@pytest.mark.parametrize("act", PAGES)
def test_a_wrong_number_is_not_found(as_manager, act):
    assert as_manager.get(reverse(act, args=[999])).status_code == 404


def test_the_page_of_a_correction_shows_what_was_typed_and_keeps_the_new(visit, as_manager):
    old = Reading.objects.get()
    page = as_manager.get(reverse("correct_reading", args=[old.pk]))
    form = page.context["form"]
    sent = {name: form.get_initial_for_field(field, name) or "" for name, field in form.fields.items()}
    assert sent["value"] == "22.5"
    sent |= {"value": "310", "value_unit": "psi", "reason": "gauge was in psi"}
    answer = as_manager.post(reverse("correct_reading", args=[old.pk]), sent)
    assert answer.url == reverse("visit", args=[visit.pk])
    new = Reading.objects.standing().get()
    assert (new.typed, new.typed_unit, new.value) == ("310", "psi", pytest.approx(21.374, abs=1e-3))


def test_a_reading_that_does_not_count_says_why(visit, as_manager):
    old = Reading.objects.get()
    form = as_manager.get(reverse("correct_reading", args=[old.pk])).context["form"]
    sent = {name: form.get_initial_for_field(field, name) or "" for name, field in form.fields.items()}
    sent |= {"is_not_valid": "on", "reason": "hose kinked"}
    assert "why this reading does not count" in as_manager.post(reverse("correct_reading", args=[old.pk]), sent).content.decode()
    as_manager.post(reverse("correct_reading", args=[old.pk]), sent | {"invalid_reason": "hose kinked"})
    assert in_force(Reading.objects.standing().get()).state == "not comparable"


def test_a_row_put_right_already_is_not_offered_again(visit, as_manager, manager):
    old = Reading.objects.get()
    correct_reading(by=manager, reading=old, reason="misread", value=21.0, typed="21.0")
    assert "put right already" in as_manager.get(reverse("correct_reading", args=[old.pk])).content.decode()


def as_sent(value):
    if hasattr(value, "strftime"):
        return value.strftime("%Y-%m-%dT%H:%M")
    return "" if value in (None, False) else getattr(value, "pk", value)


def test_the_pages_of_fill_test_and_hours_keep_what_is_sent(visit, as_manager):
    for page, changes in (
        ("correct_fill", {"fill": "2.5", "fill_unit": "L", "reason": "measured again"}),
        ("correct_test", {"oil_temp": "140", "oil_temp_unit": "degF", "reason": "other scale"}),
        ("correct_hours", {"meter_h": "1214.0", "reason": "misread"}),
    ):
        row = PAGES[page].objects.order_by("pk").last()
        form = as_manager.get(reverse(page, args=[row.pk])).context["form"]
        sent = {name: as_sent(form.get_initial_for_field(field, name)) for name, field in form.fields.items()}
        answer = as_manager.post(reverse(page, args=[row.pk]), sent | changes)
        assert answer.status_code == 302, answer.context["form"].errors
    assert FluidFill.objects.standing().filter(fill_l=Decimal("2.50")).exists()
    assert DriveTest.objects.get().oil_temp_c == pytest.approx(60)
    assert HourReading.objects.standing().filter(meter_h=Decimal("1214.0")).exists()


def test_of_two_who_put_the_same_conditions_right_the_second_is_told(visit, manager):
    test = DriveTest.objects.get()
    late = DriveTest.objects.get()
    correct_test(by=manager, test=test, version=test.version, reason="thermometer read in degF", oil_temp_c=51)
    with pytest.raises(Refused, match="changed “Test T-00001” on .*, after you opened it"):
        correct_test(by=manager, test=late, version=1, reason="other thermometer", oil_temp_c=60)
    assert DriveTest.objects.get().oil_temp_c == 51

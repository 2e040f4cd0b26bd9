"""Rules are shown with what they bring before they are kept; they retire and stay on record; seasons and figures are edited."""

import pytest

from shop.due.fleet_due import fleet_due
from shop.models import IntervalRule, SeasonBlock, SeverityFactor, ShopFigure
from tests.shop.asking import another_machine, another_unit, questions_of, token_in, version_in
from tests.shop.due.bench_of_rules import done, rule_for, task


def given(floor, the_task, **fields) -> dict:
    usual = {
        "task": the_task.pk,
        "drive_model": floor.drive_model.pk,
        "first_steps_h": "20, 100",
        "counted": "meter",
        "every_h": "250",
        "anchor": "meter_zero",
        "reset": "completion",
        "early_share": "10",
        "late_share": "10",
        "heeds_severity": "on",
        "document": floor.document.pk,
        "page": "10",
    }
    return usual | fields


def test_the_form_shows_the_next_due_it_brings_and_keeps_nothing(as_manager, floor):
    the_task = task()
    rule_for(floor, the_task, every_h=500)
    done(floor, the_task, 1200)
    answer = as_manager.post("/rules/add/", given(floor, the_task, drive_model="", machine=floor.machine.pk, show="1"))
    page = answer.content.decode()
    assert answer.status_code == 200
    for words in ("1\u202f700 h", "1\u202f450 h", "over that of the model", "Nothing is kept yet"):
        assert words in page
    assert IntervalRule.objects.count() == 1


def test_a_rule_typed_as_twenty_comma_hundred_is_kept_and_holds(as_manager, floor):
    the_task = task()
    page = as_manager.get("/rules/add/")
    answer = as_manager.post("/rules/add/", given(floor, the_task, token=token_in(page)))
    rule = IntervalRule.objects.get()
    assert (answer.status_code, rule.first_steps_h, float(rule.every_h)) == (302, [20.0, 100.0], 250)
    assert float(fleet_due().rows.due_h.iloc[0]) == 20
    assert as_manager.get(answer.url).status_code == 200


@pytest.mark.parametrize(
    ("fields", "words"),
    [
        ({"first_steps_h": "100, 20"}, "must rise"),
        ({"first_steps_h": "", "every_h": ""}, "a rule without any is never due"),
        ({"drive_model": ""}, "exactly one of"),
        ({"every_h": "abc"}, "Then every, hours"),
        ({"every_h_other_fluid": "200"}, "own fluid"),
        ({"page": ""}, "Give the page"),
        ({"early_share": "140"}, "most this can be"),
    ],
)
def test_a_wrong_rule_is_refused_with_a_sentence_and_nothing_typed_is_lost(as_manager, floor, fields, words):
    the_task = task()
    answer = as_manager.post("/rules/add/", given(floor, the_task, **fields))
    assert answer.status_code == 422
    assert words in answer.content.decode()
    assert 'value="250"' in answer.content.decode() or "every_h" in fields
    assert IntervalRule.objects.count() == 0


def test_two_rules_for_one_task_and_one_model_are_refused(as_manager, floor):
    the_task = task()
    rule_for(floor, the_task, every_h=500)
    answer = as_manager.post("/rules/add/", given(floor, the_task))
    assert "stands already" in answer.content.decode()


def test_a_second_writer_sees_what_the_first_one_saved(as_manager, floor):
    rule = rule_for(floor, every_h=500)
    page = as_manager.get(f"/rules/{rule.pk}/edit/")
    rule.every_h = 400
    rule.save_over(rule.version)
    fields = given(floor, rule.task, token=token_in(page), version=version_in(page), every_h="300")
    answer = as_manager.post(f"/rules/{rule.pk}/edit/", fields)
    assert answer.status_code == 409
    assert "400" in answer.content.decode()
    rule.refresh_from_db()
    assert rule.every_h == 400


def test_a_retired_rule_holds_no_more_and_stays_on_record(as_manager, floor):
    rule = rule_for(floor, every_h=500)
    assert len(fleet_due().rows) == 1
    as_manager.post(f"/rules/{rule.pk}/retire/", {"version": "999"})
    assert IntervalRule.objects.get().is_retired is False
    as_manager.post(f"/rules/{rule.pk}/retire/", {"version": rule.version})
    assert len(fleet_due().rows) == 0
    assert str(rule.task) in as_manager.get("/rules/?show=retired").content.decode()
    assert as_manager.get(f"/rules/{rule.pk}/").status_code == 200


def test_the_list_of_rules_asks_a_fixed_number_of_questions(as_manager, floor):
    the_task = task()
    for number in range(2, 7):
        rule_for(floor, the_task, machine=another_machine(floor, number), every_h=300)
    few = questions_of(as_manager, "/rules/")
    for number in range(7, 52):
        rule_for(floor, the_task, machine=another_machine(floor, number), every_h=300)
    assert questions_of(as_manager, "/rules/?page=2&task=junk") == few


def test_the_floor_of_severity_is_a_figure_of_the_shop(as_manager, floor):
    for code in ("a", "b"):
        SeverityFactor.objects.create(code=code, name=code, factor=0.5)
    type(floor.machine).objects.filter(pk=floor.machine.pk).update(severity=["a", "b"])
    rule_for(floor, every_h=1000)
    assert float(fleet_due().rows.due_h.iloc[0]) == 400
    page = as_manager.get("/rules/practice/figures/")
    fields = {
        "severity_floor": "0,3",
        "reserve_season": "0.4",
        "reserve_winter": "0.1",
        "plan_weeks": "12",
        "call_cost": "90",
        "token": token_in(page),
    }
    assert as_manager.post("/rules/practice/figures/", fields).status_code == 302
    assert ShopFigure.objects.get(code="severity_floor").value == 0.3
    assert float(fleet_due().rows.due_h.iloc[0]) == 300


def test_a_severity_factor_that_lengthens_is_refused(as_manager):
    page = as_manager.get("/rules/severity/add/")
    answer = as_manager.post("/rules/severity/add/", {"code": "x", "name": "x", "factor": "1.2", "token": token_in(page)})
    assert (answer.status_code, SeverityFactor.objects.count()) == (422, 0)


def test_a_season_block_is_added_moves_tasks_and_says_why(as_office, floor):
    from datetime import date, timedelta

    today = date.today()
    rule = rule_for(floor, every_months=12)
    done(floor, rule.task, on=today - timedelta(days=365 - 40))
    page = as_office.get("/seasons/add/")
    first, last = today + timedelta(days=20), today + timedelta(days=60)
    fields = {"name": "Cut", "from_date": str(first), "to_date": str(last), "region": "north", "is_hard": "on", "token": token_in(page)}
    assert as_office.post("/seasons/add/", fields).status_code == 302
    page = as_office.get("/seasons/").content.decode()
    assert "Moved by a season: 1" in page
    assert "meets the season block" in page
    block = SeasonBlock.objects.get()
    as_office.post(f"/seasons/{block.pk}/retire/", {"version": block.version})
    assert "Moved by a season: 0" in as_office.get("/seasons/").content.decode()


@pytest.mark.parametrize(
    ("fields", "words"), [({"to_date": "2026-01-01"}, "before the first day"), ({"region": "Atlantis"}, "No site lies in Atlantis")]
)
def test_a_wrong_season_is_refused(as_office, floor, fields, words):
    usual = {"name": "Cut", "from_date": "2026-05-01", "to_date": "2026-06-01"}
    answer = as_office.post("/seasons/add/", usual | fields)
    assert words in answer.content.decode()
    assert SeasonBlock.objects.count() == 0


def test_pages_of_practice_stand(as_manager, floor):
    the_task = task()
    another_unit(floor, 2)
    for path in ("/rules/practice/", "/rules/tasks/add/", f"/rules/tasks/{the_task.pk}/edit/", "/rules/add/"):
        assert as_manager.get(path).status_code == 200

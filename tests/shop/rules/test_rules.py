"""Rules are shown with what they bring before they are kept; they retire and stay on record; seasons and figures are edited."""

from datetime import date
from html import unescape

import pytest

from shop.due.fleet_due import fleet_due
from shop.models import IntervalRule, SeasonBlock, SeverityFactor, ShopFigure, Skill, Technician, TimeAway
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


@pytest.mark.parametrize(
    ("fields", "label", "words"),
    [
        ({"first_steps_h": "100, 20"}, "First steps, hours", "20 comes after 100"),
        ({"first_steps_h": "20, 20"}, "First steps, hours", "20 comes after 20"),
        ({"first_steps_h": "-5, 20"}, "First steps, hours", "must rise from above zero"),
        ({"first_steps_h": "20, 1000000000"}, "First steps, hours", "above 100\u202f000"),
        ({"every_h": "1000000000"}, "Then every, hours", "above 100\u202f000"),
        ({"every_h": "0"}, "Then every, hours", "below 1"),
        ({"every_months": "-3"}, "Or every, months", "below 1"),
        ({"every_months": "1.5"}, "Or every, months", "not a whole number"),
        ({"every_months": "700"}, "Or every, months", "above 600"),
        ({"every_h_other_fluid": "400", "own_fluid": "oil"}, "if another fluid was ever", "never makes an interval longer"),
        ({"anchor": "hose_made", "anchor_date": "2999-01-01"}, "own date", "too far ahead"),
        ({"anchor": "certificate", "anchor_date": "2027-12-01"}, "own date", "lies in the future"),
        ({"anchor_date": "2024-01-01"}, "own date", "Nothing reads this date"),
        ({"anchor": "season_start"}, "Or every, months", "comes by the calendar"),
        ({"drive_model": "", "machine": "", "unit": ""}, "For a drive model", "exactly one of"),
    ],
)
def test_a_figure_or_day_that_cannot_be_is_refused_by_its_field_with_the_reason(as_manager, floor, fields, label, words):
    fields = {name: floor.oil.pk if value == "oil" else value for name, value in fields.items()}
    for more in ({}, {"show": "1"}):
        answer = as_manager.post("/rules/add/", given(floor, task(f"T{IntervalRule.objects.count()}{len(more)}"), **fields, **more))
        page = unescape(answer.content.decode())
        assert (answer.status_code, label in page, words in page) == (422, True, True)
    assert not IntervalRule.objects.exists()


def test_six_first_steps_fit_into_their_box(as_manager, floor):
    answer = as_manager.post("/rules/add/", given(floor, task(), first_steps_h="10, 20, 50, 100, 250, 500,5"))
    assert "500,5" not in str(IntervalRule.objects.values_list("first_steps_h"))
    assert answer.status_code == 422  # 5 comes after 500: a comma parts steps, a point is the decimal sign here
    assert as_manager.post("/rules/add/", given(floor, task("B"), first_steps_h="10; 20; 50; 100; 250; 500.5")).status_code == 302
    assert IntervalRule.objects.get().first_steps_h == [10, 20, 50, 100, 250, 500.5]


def season(**fields) -> dict:
    return {"name": "First cut", "from_date": "2026-05-10", "to_date": "2026-06-08", "repeats_yearly": "on", "is_hard": "on"} | fields


@pytest.mark.parametrize(
    ("fields", "label", "words"),
    [
        ({"from_date": "2999-01-01", "to_date": "2999-02-01"}, "First day", "too far ahead"),
        ({"from_date": "1066-01-01"}, "First day", "too far back"),
        ({"from_date": "2026-06-09"}, "Last day", "is before the first day"),
        ({"to_date": "2027-05-01"}, "Last day", "330 days at most"),
        ({"name": "-5"}, "Name", "has no letter in it"),
        ({"region": "Nowhere"}, "Region", "No site lies in Nowhere"),
        ({"from_date": "2026-06-20", "to_date": "2026-07-10"}, "First day", "meet the block Hay, 1 Jul to 31 Jul 2026"),
        (
            {"from_date": "2031-07-31", "to_date": "2031-08-10", "repeats_yearly": ""},
            "First day",
            "meet the block Hay, 1 Jul to 31 Jul 2031",
        ),
    ],
)
def test_a_season_block_that_cannot_be_is_refused_by_its_field(as_manager, floor, fields, label, words):
    SeasonBlock.objects.create(name="Hay", from_date=date(2025, 7, 1), to_date=date(2025, 7, 31))
    answer = as_manager.post("/seasons/add/", season(**fields))
    page = unescape(answer.content.decode())
    assert (answer.status_code, label in page, words in page) == (422, True, True)
    assert SeasonBlock.objects.count() == 1


def test_blocks_for_other_machines_or_retired_ones_may_share_days(as_manager, floor):
    SeasonBlock.objects.create(name="Hay", from_date=date(2025, 7, 1), to_date=date(2025, 7, 31), machine_kind="mower")
    SeasonBlock.objects.create(name="Old", from_date=date(2025, 5, 1), to_date=date(2025, 7, 31), is_retired=True)
    assert as_manager.post("/seasons/add/", season()).status_code == 302
    assert as_manager.post("/seasons/add/", season(name="Hay, one farm", customer=floor.customer.pk)).status_code == 302
    feeding = season(name="Feeding", from_date="2026-11-15", to_date="2027-02-28", machine_kind="loader")
    assert as_manager.post("/seasons/add/", feeding).status_code == 302
    early = season(name="Early", from_date="2026-02-01", to_date="2026-02-10", machine_kind="loader")
    assert as_manager.post("/seasons/add/", early).status_code == 422  # Feeding runs over New Year into it


@pytest.mark.parametrize(
    ("path", "fields", "label", "words"),
    [
        ("/plan/hands/skills/add/", {"code": "-5", "name": "Gauges"}, "Code", "is no code: begin with a letter"),
        ("/plan/hands/skills/add/", {"code": "gauges", "name": "-5"}, "Name", "has no letter"),
        ("/plan/hands/skills/add/", {"code": "HYD", "name": "Hydraulics"}, "Code", "has this code already"),
        ("/rules/tasks/add/", {"code": "-5", "name": "Filter", "kind": "filter", "work_h": "1"}, "Code", "is no code"),
        ("/rules/tasks/add/", {"code": "F", "name": "Filter", "kind": "filter", "work_h": "-1"}, "Usual hours of work", "below 0.05"),
        (
            "/rules/tasks/add/",
            {"code": "F", "name": "Filter", "kind": "filter", "work_h": "1000000000"},
            "Usual hours of work",
            "above 200",
        ),
        ("/rules/severity/add/", {"code": "7", "name": "Dust", "factor": "0.7"}, "Code", "is no code"),
        ("/rules/severity/add/", {"code": "dust", "name": "Dust", "factor": "-5"}, "Factor", "above 0 and at most 1"),
        ("/rules/severity/add/", {"code": "dust", "name": "Dust", "factor": "1.2"}, "Factor", "above 0 and at most 1"),
    ],
)
def test_codes_names_and_factors_that_cannot_be_are_refused(as_manager, floor, path, fields, label, words):
    Skill.objects.create(code="hyd", name="Closed loop")
    answer = as_manager.post(path, fields)
    page = unescape(answer.content.decode())
    assert (answer.status_code, label in page, words in page) == (422, True, True)


@pytest.mark.parametrize(
    ("first", "last", "words"),
    [
        ("2999-01-01", "2999-01-02", "too far ahead"),
        ("2026-12-05", "2026-12-01", "is before the first day"),
        ("2026-12-05", "2028-01-01", "more than a year"),
    ],
)
def test_time_away_that_cannot_be_is_refused(as_manager, floor, first, last, words):
    hands = Technician.objects.create(name="Tilde R.")
    answer = as_manager.post(f"/plan/hands/technicians/{hands.pk}/away/", {"from_date": first, "to_date": last})
    assert (answer.status_code, words in answer.content.decode(), TimeAway.objects.count()) == (422, True, 0)


def test_factors_of_a_machine_are_shown_with_their_product_before_they_are_kept(as_manager, floor):
    for code, factor in (("dust", 0.75), ("couplers", 0.8), ("water", 0.5)):
        SeverityFactor.objects.create(code=code, name=code, factor=factor)
    rule = rule_for(floor, every_h=500)
    rule_for(floor, task("HOSE", name="Hose", kind="hose"), every_months=72)
    done(floor, rule.task, 1000)
    path = f"/machines/{floor.machine.pk}/duty/"
    opened = as_manager.get(path)
    given = {"severity": ["dust", "couplers"], "version": version_in(opened), "token": token_in(opened)}
    page = as_manager.post(path, given | {"show": "1"}).content.decode()
    for words in (
        "500 h x 0.8 (couplers) x 0.75 (dust) = 300 h",
        "1\u202f500 h",
        "1\u202f300 h",
        "rule of the model",
        "Nothing is kept yet",
    ):
        assert words in page
    assert (page.count("<tr><td data-label"), type(floor.machine).objects.get(pk=floor.machine.pk).severity) == (1, [])
    assert float(fleet_due().rows.due_h.max()) == 1500
    floored = as_manager.post(path, given | {"severity": ["dust", "couplers", "water"], "show": "1"}).content.decode()
    assert "held at 0.4 = 200 h" in floored
    assert as_manager.post(path, given).status_code == 302
    assert float(fleet_due().rows.due_h.max()) == 1300
    assert as_manager.post(path, {"severity": ["rain"]}).status_code == 422

"""Procedures: on record once, in versions, with their cautions, for the drives that they apply to."""

import pytest
from django.core.exceptions import ValidationError
from django.core.management import call_command

from calcs.quantities import QUANTITIES
from shop.cautions import CAUTIONS
from shop.models import Procedure
from shop.models.procedures import reads_by_gauge
from shop.tests.actions import add_version, open_test
from shop.tests.forms import line_of, step_of
from shop.tests.procedures import in_force, load_procedures, why_not, written_procedures


def test_twenty_procedures_are_loaded_once_and_stay_as_the_shop_changed_them(db, manager):
    assert load_procedures() == 20
    add_version(by=manager, code="T03", based_on=1, **fields_of(Procedure.objects.get(code="T03"), title="Charge, our way"))
    assert load_procedures() == 0
    call_command("load_reference", verbosity=0)
    assert Procedure.objects.count() == 21
    assert in_force().get(code="T03").title == "Charge, our way"


def fields_of(procedure, **changes):
    names = (
        "title",
        "why",
        "kit",
        "conditions",
        "steps",
        "expectation",
        "judgement",
        "traps",
        "cautions",
        "applies_if",
        "walk_order",
        "source",
    )
    return {name: getattr(procedure, name) for name in names} | changes


@pytest.mark.parametrize("row", written_procedures(), ids=lambda row: row["code"])
def test_a_written_procedure_is_whole(row):
    assert row["why"] and row["steps"] and row["judgement"] and row["traps"] and row["expectation"] and row["source"]
    assert set(row["cautions"]) <= set(CAUTIONS)
    used = {code for step in row["steps"] for code in step["cautions"]}
    assert used <= set(row["cautions"])
    for step in row["steps"]:
        quantity = QUANTITIES.get(step.get("quantity", "charge_neutral"))
        assert quantity is not None, step
        assert not quantity.directional or step.get("direction") in ("forward", "reverse")
    if any(map(reads_by_gauge, row["steps"])):
        assert {"C1", "C2", "C3"} <= set(row["cautions"])


def test_low_pressure_comes_before_high_and_standing_before_rolling(procedures):
    order = [row.code for row in in_force()]
    assert order.index("T01") < order.index("T02") < order.index("T03") < order.index("T05") < order.index("T07") < order.index("T09")
    assert order.index("T08") < order.index("T07")


@pytest.mark.parametrize("missing", ["C1", "C2", "C3"])
def test_a_step_with_a_gauge_is_not_saved_without_its_cautions(procedures, missing):
    given = fields_of(procedures["T03"])
    given["cautions"] = [code for code in given["cautions"] if code != missing]
    with pytest.raises(ValidationError, match=missing):
        Procedure(code="T99", **given).save()
    assert not Procedure.objects.filter(code="T99").exists()
    Procedure(code="T99", **fields_of(procedures["T12"])).save()


def page_of(procedure, **changes):
    return {
        **fields_of(procedure), "steps": "\n".join(map(line_of, procedure.steps)), "applies_if": list(procedure.applies_if),
        "based_on": procedure.version, "token": "page-9",
    } | changes  # fmt: skip


def test_the_form_refuses_a_gauge_step_without_cautions_and_keeps_every_word(procedures, as_manager):
    sent = page_of(procedures["T03"], why="Because it is asked for", cautions=["C1", "C7"])
    answer = as_manager.post("/procedures/T03/new/", sent)
    assert answer.status_code == 422
    words = answer.content.decode()
    assert "C2, C3 must be ticked too" in words and "Because it is asked for" in words
    assert "charge_neutral_idle; low idle; port CH" in words
    assert Procedure.objects.filter(code="T03").count() == 1


def test_a_new_version_is_in_force_and_an_old_test_shows_the_text_it_was_done_by(in_progress, procedures, as_manager, manager):
    test = in_progress("T03")
    lines = page_of(procedures["T03"], why="New why", steps="Read twice | charge_neutral; port CH | C1 C2 C3")
    assert as_manager.post("/procedures/T03/new/", lines).status_code == 302
    newest = in_force().get(code="T03")
    assert (newest.version, newest.why, len(newest.steps)) == (2, "New why", 1)
    page = as_manager.get(f"/tests/{test.pk}/").content.decode()
    assert "Low idle: watch for half a minute" in page and "Read twice" not in page
    later = open_test(by=manager, unit=test.unit, machine=test.machine, procedures=[newest])
    assert "Read twice" in as_manager.get(f"/tests/{later.pk}/").content.decode()
    old = as_manager.get("/procedures/T03/1/").content.decode()
    assert "no longer in force" in old and test.number in old and later.number not in old


def test_two_who_write_the_next_version_do_not_write_over_each_other(procedures, as_manager):
    assert as_manager.post("/procedures/T03/new/", page_of(procedures["T03"], token="a")).status_code == 302
    answer = as_manager.post("/procedures/T03/new/", page_of(procedures["T03"], token="b", why="Mine"))
    assert answer.status_code == 422
    assert "version 2" in answer.content.decode() and "Mine" in answer.content.decode()


def test_only_a_manager_writes_a_procedure(procedures, as_technician, as_office):
    assert as_technician.get("/procedures/T03/new/").status_code == 403
    assert as_office.post("/procedures/T03/new/", page_of(procedures["T03"])).status_code == 403
    assert as_technician.get("/procedures/").status_code == 200


def test_a_step_is_the_same_after_it_went_through_the_form(procedures):
    for procedure in procedures.values():
        for step in procedure.steps:
            assert step_of(line_of(step)) == step


@pytest.mark.parametrize(
    ("line", "words"),
    [
        ("Read it | charge_neutrl | C1", "no quantity"),
        ("Read it | charge_stroked | C1", "forward or reverse"),
        ("Read it | charge_neutral | C99", "no caution C99"),
        (" | charge_neutral | C1", "words of the step"),
        ("Try it | check; grid [1 | C1", "table"),
        ("Try it | check; only wings | C1", "only"),
    ],
)
def test_a_line_that_cannot_be_read_says_why(line, words):
    with pytest.raises(ValueError, match=words):
        step_of(line)


def test_what_applies_follows_from_the_drive_model(floor, procedures):
    model = floor.drive_model
    assert not any(why_not(procedures[code].applies_if, model) for code in ("T03", "T06", "T07", "T08"))
    model.flushing_flow_lpm = model.relief_forward_bar = model.relief_reverse_bar = None
    model.charge_relief_bar = model.charge_displacement_cc = None
    assert "flushing" in why_not(procedures["T06"].applies_if, model)
    assert "relief" in why_not(procedures["T07"].applies_if, model)
    assert "charge" in why_not(procedures["T03"].applies_if, model)
    assert why_not(procedures["T08"].applies_if, model) == ""


def test_steps_follow_from_plumbing_motor_and_loops(floor, ports, in_progress, as_technician):
    test = in_progress("T08", "T09", "T12")
    page = as_technician.get(f"/tests/{test.pk}/").content.decode()
    assert "Pump drain at the stated" in page and "Variable motor reaches" in page
    assert "Other side of a dual" not in page and "Brake release holds" not in page
    model = floor.drive_model
    model.drains, model.circuit, model.has_brake_release, model.motor_displacement_min_cc = "series", "dual", True, 75
    model.save()
    page = as_technician.get(f"/tests/{test.pk}/").content.decode()
    assert "Pump drain at the stated" not in page and "Variable motor reaches" not in page
    assert "Other side of a dual" in page and "Brake release holds" in page

"""A task is put off by one person and approved by another, with the risk shown and kept; and it never counts as done on time."""

import logging
from datetime import date, timedelta

import pytest
from django.utils import timezone

from fleet.models import Contact, Customer, LabValue, OilSample
from shop.due.compliance import compliance
from shop.due.fleet_due import fleet_due
from shop.models import Deferral, Extension, TaskDone
from tests.shop.asking import token_in
from tests.shop.due.bench_of_rules import done, rule_for, task

SOON = timezone.localdate() + timedelta(days=30)


@pytest.fixture
def due_task(floor):
    the_task = task()
    rule_for(floor, the_task, every_h=500, every_months=12, may_extend=True)
    done(floor, the_task, 600, on=date(2025, 1, 10))
    return the_task


def base(floor, the_task) -> str:
    return f"/due/{floor.machine.pk}/{the_task.pk}/0/"


def ask(client, floor, the_task, **fields):
    page = client.get(base(floor, the_task) + "put-off/")
    given = {
        "reason": "away",
        "words": "Machine is at the coast",
        "until_h": "2400,5",
        "until_on": str(SOON),
        "risk_seen": "on",
        "token": token_in(page),
    }
    return client.post(base(floor, the_task) + "put-off/", given | fields), page


def approve(client, put_off, **fields):
    page = client.get(f"/due/put-off/{put_off.pk}/")
    return client.post(f"/due/put-off/{put_off.pk}/", {"token": token_in(page)} | fields)


def state(floor) -> str:
    return str(fleet_due().rows.state_word.iloc[0])


def test_asking_shows_the_risk_keeps_it_and_changes_nothing_until_somebody_else_approves(
    as_technician, as_manager, manager, floor, due_task
):
    before = state(floor)
    answer, page = ask(as_technician, floor, due_task)
    assert answer.status_code == 302
    put_off = Deferral.objects.get()
    assert put_off.risk in page.content.decode()
    assert "opens its bypass" in put_off.risk
    assert (float(put_off.until_h), put_off.until_on, state(floor)) == (2400.5, SOON, before)
    assert approve(as_manager, put_off).status_code == 302
    put_off.refresh_from_db()
    assert (put_off.approved_by, state(floor)) == (manager, "deferred")


def test_the_risk_must_be_ticked_and_limits_lie_ahead(as_technician, floor, due_task):
    answer, _ = ask(as_technician, floor, due_task, risk_seen="")
    assert (answer.status_code, Deferral.objects.count()) == (422, 0)
    answer, _ = ask(as_technician, floor, due_task, until_h="12", until_on=str(timezone.localdate()))
    assert answer.status_code == 422
    for words in ("give a later day", "give a higher figure than 12"):
        assert words in answer.content.decode()
    assert Deferral.objects.count() == 0


def test_sent_twice_asks_once_and_a_second_waiting_one_is_refused(as_technician, floor, due_task):
    answer, page = ask(as_technician, floor, due_task)
    again, _ = ask(as_technician, floor, due_task, token=token_in(page))
    assert answer.url == again.url
    refused, _ = ask(as_technician, floor, due_task)
    assert refused.status_code == 422
    assert "waits for approval already" in refused.content.decode()
    assert Deferral.objects.count() == 1


def test_a_technician_cannot_approve_an_own_deferral_and_the_try_is_logged(as_technician, technician, floor, due_task, caplog):
    ask(as_technician, floor, due_task)
    put_off = Deferral.objects.get()
    with caplog.at_level(logging.WARNING, logger="shop.due"):
        answer = approve(as_technician, put_off)
    assert answer.status_code == 422
    assert "somebody other than the person who asked" in answer.content.decode()
    assert "tilde" in caplog.text
    put_off.refresh_from_db()
    assert put_off.approved_at is None


def test_a_manager_cannot_approve_what_the_same_manager_asked_for(as_manager, floor, due_task):
    ask(as_manager, floor, due_task)
    assert approve(as_manager, Deferral.objects.get()).status_code == 422


def test_a_named_customer_contact_approves_through_the_office_but_not_a_stranger(as_technician, as_office, floor, due_task):
    ask(as_technician, floor, due_task)
    put_off = Deferral.objects.get()
    assert approve(as_office, put_off).status_code == 422  # in its own name the office may not
    stranger = Contact.objects.create(customer=Customer.objects.create(number="C-2", name="Else"), name="Else", may_approve=True)
    assert approve(as_office, put_off, contact=stranger.pk).status_code == 422
    assert approve(as_technician, put_off, contact=floor.approver.pk).status_code == 422
    assert approve(as_office, put_off, contact=floor.approver.pk).status_code == 302
    put_off.refresh_from_db()
    assert (put_off.approved_by_contact, put_off.approved_by) == (floor.approver, None)


def test_the_third_deferral_goes_to_the_manager_and_says_so(as_technician, as_office, as_manager, floor, due_task):
    for _ in range(2):
        ask(as_technician, floor, due_task)
        put_off = Deferral.objects.get(ended_at=None)
        approve(as_office, put_off, contact=floor.approver.pk)
        as_office.post(f"/due/put-off/{put_off.pk}/end/")
    _, page = ask(as_technician, floor, due_task)
    assert "deferral 3 of this task" in page.content.decode()
    third = Deferral.objects.get(ended_at=None)
    refused = approve(as_office, third, contact=floor.approver.pk)
    assert (refused.status_code, "goes to a manager" in refused.content.decode()) == (422, True)
    assert approve(as_manager, third).status_code == 302


def test_a_task_done_inside_its_new_limit_still_counts_as_put_off(as_technician, as_manager, floor, due_task):
    today = timezone.localdate()
    before = compliance(fleet_due(), today - timedelta(days=30), today)
    ask(as_technician, floor, due_task)
    approve(as_manager, Deferral.objects.get())
    TaskDone.objects.create(task=due_task, machine=floor.machine, done_on=today, life_h=1300, due_h=1100, due_on=today)
    after = compliance(fleet_due(), today - timedelta(days=30), today)
    assert (after.inside, after.put_off) == (before.inside, before.put_off + 1)
    assert after.due == after.inside + after.late + after.still_open + after.put_off
    assert "All of them" in as_manager.get("/due/in-time/").content.decode()


def sign(client, floor, the_task, **fields):
    page = client.get(base(floor, the_task) + "longer/")
    expires = str(timezone.localdate() + timedelta(days=60))
    given = {"share": "25", "expires_on": expires, "reason": "clean oil", "restriction_low": "on", "token": token_in(page)}
    return client.post(base(floor, the_task) + "longer/", given | fields)


def samples(floor, number: int) -> None:
    """Samples that a laboratory has answered."""
    for k in range(number):
        drawn_at = timezone.now() - timedelta(minutes=k)
        sample = OilSample.objects.create(label=f"S{OilSample.objects.count()}", machine=floor.machine, drawn_at=drawn_at)
        LabValue.objects.create(sample=sample, item="Fe", typed="12", value=12)
        LabValue.objects.create(sample=sample, item="Cu", typed="3", value=3)


def test_an_interval_is_lengthened_on_two_clean_samples_and_a_next_one_needs_two_more(as_manager, floor, due_task):
    refused = sign(as_manager, floor, due_task)
    assert "needs 2 clean samples" in refused.content.decode()
    samples(floor, 2)
    assert sign(as_manager, floor, due_task).status_code == 302
    assert float(fleet_due().rows.due_h.iloc[0]) == 600 + 625
    Extension.objects.update(signed_on=timezone.localdate() + timedelta(days=1), expires_on=timezone.localdate() + timedelta(days=61))
    assert "extension 2 needs 2 clean samples" in sign(as_manager, floor, due_task).content.decode()
    assert Extension.objects.count() == 1


@pytest.mark.parametrize("kind", ["hose", "brake", "interlock"])
def test_hoses_brakes_and_interlocks_are_never_lengthened(as_manager, floor, kind):
    the_task = task(kind.upper(), kind=kind)
    rule_for(floor, the_task, every_h=500, may_extend=True)
    samples(floor, 3)
    assert f"a {kind} task is never extended" in sign(as_manager, floor, the_task).content.decode().replace("&#x27;", "'")
    assert Extension.objects.count() == 0


def test_a_break_in_step_is_never_lengthened(as_manager, floor):
    the_task = task()
    rule_for(floor, the_task, first_steps_h=[50], every_h=500, may_extend=True)
    samples(floor, 3)
    assert "break-in step is never extended" in sign(as_manager, floor, the_task).content.decode()


@pytest.mark.parametrize(
    ("fields", "label", "words"),
    [
        ({"until_on": "2999-01-01"}, "New limit, date", "too far ahead"),
        ({"until_on": "1999-01-01"}, "New limit, date", "give a later day"),
        ({"until_h": "1000000000"}, "New limit, life hours", "above 999\u202f999"),
        ({"until_h": "90000"}, "New limit, life hours", "more than 5\u202f000 h beyond"),
        ({"until_h": "-5"}, "New limit, life hours", "below 0"),
        ({"words": ""}, "Why, in words", "required"),
        ({"reason": "x"}, "Reason", "valid choice"),
    ],
)
def test_a_limit_that_cannot_be_is_refused_by_its_field_with_the_reason(as_technician, floor, due_task, fields, label, words):
    answer, _ = ask(as_technician, floor, due_task, **fields)
    page = answer.content.decode()
    assert (answer.status_code, label in page, words in page, Deferral.objects.count()) == (422, True, True, 0)


@pytest.mark.parametrize(
    ("fields", "words"),
    [
        ({"expires_on": "2999-01-01"}, "too far ahead"),
        ({"expires_on": "2020-01-01"}, "no end after its signing"),
        ({"share": "26"}, "above 25"),
        ({"share": "-5"}, "below 1"),
    ],
)
def test_a_longer_interval_that_cannot_be_is_refused(as_manager, floor, due_task, fields, words):
    samples(floor, 2)
    answer = sign(as_manager, floor, due_task, **fields)
    assert (answer.status_code, words in answer.content.decode(), Extension.objects.count()) == (422, True, 0)


def test_a_sample_no_laboratory_has_answered_is_not_known_to_be_clean(as_manager, floor, due_task):
    samples(floor, 2)
    LabValue.objects.filter(sample=OilSample.objects.last()).delete()
    assert "there are 1" in sign(as_manager, floor, due_task).content.decode()
    assert Extension.objects.count() == 0


def test_a_longer_interval_is_shown_with_the_due_it_brings_and_nothing_is_signed(as_manager, floor, due_task):
    page = sign(as_manager, floor, due_task, show="1").content.decode()
    for words in ("500.0", "625.0", "1\u202f100.0 h", "1\u202f225.0 h", "rule of the model", "Nothing is signed yet"):
        assert words in page
    assert Extension.objects.count() == 0


def test_a_hose_due_by_the_calendar_says_that_nothing_moves(as_manager, floor):
    the_task = task("HOSE", kind="hose")
    rule_for(floor, the_task, every_months=72)
    assert "It moves nothing here" in sign(as_manager, floor, the_task, show="1").content.decode()

"""Accounts: who may be made, which passwords are refused, and a lock that the manager lifts."""

import pytest
from django.contrib.auth import get_user_model
from django.core.management import CommandError, call_command
from django.test import Client
from django.utils import timezone

from shop.models import Act, CalendarKey, Technician
from shop.people.actions import locked_until
from tests.conftest import PASSWORD

NEW = {"username": "ottokar", "first_name": "Ottokar", "last_name": "Brandelius", "password": "zebra crossing 9", "roles": ["technician"]}


def names() -> set[str]:
    return set(get_user_model().objects.values_list("username", flat=True))


@pytest.mark.parametrize("password", ["Ottokar-2026!", "xx brandelius xx", "short", "password1234"])
def test_a_new_person_gets_no_password_that_is_weak_or_holds_the_own_name(as_manager, password):
    answer = as_manager.post("/people/new/", NEW | {"password": password})
    assert answer.status_code == 422 and "ottokar" not in names()


def test_the_manager_sets_nobody_a_password_with_the_own_name(as_manager, technician):
    as_manager.post(f"/people/{technician.pk}/password/", {"password": "tilde-tilde-tilde", "reason": "forgotten"})
    technician.refresh_from_db()
    assert not technician.check_password("tilde-tilde-tilde")


@pytest.mark.parametrize("name", ["   ", "two words", "a\nb", "<b>", "x" * 61, "Tilde", "ｔｉｌｄｅ"])
def test_a_sign_in_name_is_one_plain_word_that_nobody_else_has(as_manager, technician, name):
    before = names()
    answer = as_manager.post("/people/new/", NEW | {"username": name})
    assert answer.status_code == 422 and names() == before


def test_the_same_form_sent_twice_makes_one_person_and_refuses_nothing(as_manager):
    first, second = (as_manager.post("/people/new/", NEW | {"token": "once"}) for _ in range(2))
    assert (first.status_code, second.status_code) == (302, 302)
    assert get_user_model().objects.filter(username="ottokar").count() == 1


def test_a_name_taken_between_look_and_write_is_said_in_words(as_manager, monkeypatch):
    from django.db import IntegrityError

    def taken(**_given):
        raise IntegrityError("taken")

    monkeypatch.setattr("shop.people.views.actions.add_person", taken)
    answer = as_manager.post("/people/new/", NEW)
    assert answer.status_code == 422 and "a moment ago" in answer.content.decode()


@pytest.fixture
def locked(technician):
    for _ in range(10):
        Client().post("/sign-in/", {"username": technician.username, "password": "wrong"})
    assert Client().post("/sign-in/", {"username": technician.username, "password": PASSWORD}).status_code == 429
    return technician


def test_a_manager_sees_until_when_a_name_is_locked_and_opens_it(locked, as_manager):
    assert locked_until(locked.username) > timezone.now()
    assert "Locked after too many wrong passwords" in as_manager.get(f"/people/{locked.pk}/").content.decode()
    as_manager.post(f"/people/{locked.pk}/unlock/", {"reason": "she rang me"})
    assert locked_until(locked.username) is None
    assert Client().post("/sign-in/", {"username": locked.username, "password": PASSWORD}).status_code == 302
    assert Act.objects.latest("pk").reason == "she rang me"


def test_a_new_password_set_by_the_manager_lifts_the_lock(locked, as_manager):
    as_manager.post(f"/people/{locked.pk}/password/", {"password": "another long one 4", "reason": "forgotten"})
    assert Client().post("/sign-in/", {"username": locked.username, "password": "another long one 4"}).status_code == 302


def test_the_log_says_whose_account_was_closed(as_manager, technician, caplog, django_capture_on_commit_callbacks):
    with caplog.at_level("INFO", logger="shop.acts"), django_capture_on_commit_callbacks(execute=True):
        as_manager.post(f"/people/{technician.pk}/account/", {"reason": "left", "wanted": "closed"})
    assert f"close an account, by marta: auth.User {technician.pk}" in caplog.text


def test_an_empty_shop_says_at_the_door_how_the_first_account_is_made(as_stranger):
    assert "first_account" in as_stranger.get("/sign-in/").content.decode()


def test_a_shop_with_people_says_nothing_of_it(as_stranger, technician):
    assert "first_account" not in as_stranger.get("/sign-in/").content.decode()


@pytest.mark.parametrize(
    ("name", "password"), [("   ", "a long winter 77"), ("bruno", "bruno bruno 77"), ("two words", "a long winter 77")]
)
def test_the_first_account_passes_the_same_gate(db, monkeypatch, name, password):
    monkeypatch.setenv("SHOP_MANAGER_PASSWORD", password)
    with pytest.raises(CommandError):
        call_command("first_account", name=name)
    assert names() == set()


def test_where_nobody_answers_the_first_account_says_what_is_missing(db, monkeypatch):
    def nobody(_asked):
        raise EOFError

    monkeypatch.setattr("builtins.input", nobody)
    with pytest.raises(CommandError, match="SHOP_MANAGER_PASSWORD"):
        call_command("first_account")


def test_a_second_click_on_close_does_not_open_the_account_again(as_manager, technician):
    for _ in range(2):
        as_manager.post(f"/people/{technician.pk}/account/", {"reason": "left", "wanted": "closed"})
    technician.refresh_from_db()
    assert not technician.is_active
    assert Act.objects.filter(name="close an account").count() == 1


def test_a_closed_account_takes_the_calendar_addresses_it_made_and_its_own_with_it(as_manager, office, technician, manager):
    hand = Technician.objects.create(name="Tilde", user=technician)
    made = CalendarKey.objects.create(secret="s" * 40, scope="shop", made_by=office)
    own = CalendarKey.objects.create(secret="t" * 40, scope="technician", technician=hand, made_by=manager)
    statuses = []
    for _ in range(2):
        statuses.append([Client().get(f"/calendar/{key.secret}.ics").status_code for key in (made, own)])
        for user in (office, technician):
            as_manager.post(f"/people/{user.pk}/account/", {"reason": "left", "wanted": "closed"})
    assert statuses == [[200, 200], [404, 404]]
    assert "shut with the account" in as_manager.get("/plan/calendars/").content.decode()

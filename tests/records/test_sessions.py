"""Signing in and staying in: sessions, cookies, wrong passwords, what the log says."""

import logging
from datetime import timedelta

import pytest
from axes.models import AccessAttempt
from django.contrib.auth.hashers import make_password
from django.contrib.sessions.models import Session
from django.db.models import F
from django.test import Client
from django.utils import timezone

from shop.keeping.journal import UtcLine, one_line
from tests.conftest import PASSWORD, person, signed_in

DOOR = "/sign-in/"


def knock(client: Client, name: str, password: str):
    return client.post(DOOR, {"username": name, "password": password})


@pytest.fixture(autouse=True)
def quick_to_check(db, monkeypatch, settings):
    """Passwords are kept as the shop keeps them, but cost little to check; nothing here is about how costly they are."""
    settings.PASSWORD_HASHERS = ["django.contrib.auth.hashers.PBKDF2PasswordHasher"]
    monkeypatch.setattr("django.contrib.auth.hashers.PBKDF2PasswordHasher.iterations", 1000)
    monkeypatch.setattr("tests.conftest.kept_password", lambda: make_password(PASSWORD))


@pytest.fixture
def clock(monkeypatch):
    """Moves the time that everybody in the program sees."""
    real = timezone.now

    def later(**by):
        monkeypatch.setattr(timezone, "now", lambda: real() + timedelta(**by))

    return later


def test_a_changed_password_ends_the_other_sessions_and_keeps_this_one(technician):
    here, there = signed_in(technician), signed_in(technician)
    new = "another long shop password"
    answer = here.post("/account/password/", {"old_password": PASSWORD, "new_password1": new, "new_password2": new})
    assert answer.status_code == 302
    assert here.get("/account/").status_code == 200
    assert there.get("/account/").status_code == 302


def test_a_password_set_by_the_manager_ends_every_session(technician, as_manager):
    client = signed_in(technician)
    answer = as_manager.post(f"/people/{technician.pk}/password/", {"password": "another long shop password", "reason": "forgotten"})
    assert answer.status_code == 302
    assert client.get("/account/").status_code == 302


def test_signing_in_gives_the_session_another_number(technician):
    client = Client()
    client.session["planted"] = "by somebody else"
    client.get(DOOR)
    session = client.session
    session["x"] = 1
    session.save()
    before = client.cookies["sessionid"].value if "sessionid" in client.cookies else session.session_key
    client.cookies["sessionid"] = before
    assert knock(client, "tilde", PASSWORD).status_code == 302
    assert client.cookies["sessionid"].value != before
    assert not Session.objects.filter(session_key=before).exists()


def test_signing_out_ends_the_session_on_the_server(technician):
    client = signed_in(technician)
    stolen = client.cookies["sessionid"].value
    client.post("/sign-out/")
    thief = Client()
    thief.cookies["sessionid"] = stolen
    assert thief.get("/account/").status_code == 302


def test_cookies_are_out_of_reach_of_scripts_and_other_sites(technician, settings):
    settings.SESSION_COOKIE_SECURE = settings.CSRF_COOKIE_SECURE = True  # as they are behind TLS
    client = Client()
    client.get(DOOR)
    knock(client, "tilde", PASSWORD)
    for name in ("sessionid", "csrftoken"):
        cookie = client.cookies[name]
        assert cookie["httponly"] and cookie["secure"] and cookie["samesite"] in ("Lax", "Strict"), name


def test_half_an_hour_without_a_page_ends_the_session(technician, clock):
    client = signed_in(technician)
    assert client.get("/account/").status_code == 200
    clock(minutes=29)
    assert client.get("/account/").status_code == 200
    clock(minutes=29 + 31)
    assert client.get("/account/").status_code == 302


def test_a_session_lasts_no_longer_than_a_shift_however_busy(technician, clock):
    client = signed_in(technician)
    statuses = []
    for minutes in range(0, 13 * 60, 20):
        clock(minutes=minutes)
        statuses.append((minutes, client.get("/account/").status_code))
    assert {status for minutes, status in statuses if minutes < 12 * 60} == {200}
    assert {status for minutes, status in statuses if minutes > 12 * 60} == {302}


def older(**by) -> None:
    """Let the wrong passwords be that much longer ago."""
    AccessAttempt.objects.update(attempt_time=F("attempt_time") - timedelta(**by))


def test_ten_wrong_passwords_lock_one_account_for_a_while_and_no_other(technician, manager):
    client = Client()
    for _ in range(9):
        assert knock(client, "tilde", "wrong password").status_code == 200
    knock(client, "tilde", "wrong password")
    locked = knock(client, "tilde", PASSWORD)
    assert locked.status_code == 429 and "_auth_user_id" not in client.session
    assert knock(Client(), "marta", PASSWORD).status_code == 302, "another account from the same address"
    older(minutes=14)
    assert knock(Client(), "tilde", PASSWORD).status_code == 429, "and knocking meanwhile does not lengthen it"
    older(minutes=2)
    assert knock(Client(), "tilde", PASSWORD).status_code == 302


def test_what_is_counted_lies_in_the_database_where_every_process_and_the_manager_see_it(technician, as_manager):
    knock(Client(), "tilde", "wrong password")
    assert AccessAttempt.objects.get().username == "tilde"
    assert "tilde" in as_manager.get("/people/").content.decode()


def words_of(answer) -> str:
    import re

    return re.sub(r'name="csrfmiddlewaretoken" value="[^"]*"|value="(tilde|nobody|walter)"', "", answer.content.decode())


def test_an_unknown_name_a_known_one_and_a_closed_one_are_refused_alike(technician, monkeypatch):
    """The same words, and the same costly hash is worked out for each, so that neither text nor time tells who is there."""
    from django.contrib.auth.hashers import PBKDF2PasswordHasher

    walter = person("walter", "technician")
    walter.is_active = False
    walter.save()
    hashed, encode = [], PBKDF2PasswordHasher.encode

    def counted(self, password, salt, iterations=None):
        hashed.append(iterations or self.iterations)
        return encode(self, password, salt, iterations)

    monkeypatch.setattr(PBKDF2PasswordHasher, "encode", counted)
    said = {}
    for name in ("tilde", "nobody", "walter"):
        hashed.clear()
        answer = knock(Client(), name, "wrong password")
        said[name] = (answer.status_code, words_of(answer), tuple(hashed))
    assert said["tilde"] == said["nobody"] == said["walter"]
    assert said["tilde"][2], "a hash was worked out"


@pytest.fixture
def lines(caplog):
    """What the log would hold, as it would be written."""
    caplog.set_level(logging.INFO, logger="shop")
    form = UtcLine("{asctime} {levelname} {name} {message}", style="{")
    return lambda: [form.format(record) for record in caplog.records if record.name.startswith("shop")]


def test_a_refused_sign_in_is_one_line_in_utc_without_the_password(technician, lines):
    knock(Client(), "tilde", "my secret word")
    (line,) = lines()
    assert line.endswith("sign-in refused: name tilde, from 127.0.0.1")
    assert line[10] == "T" and line.split()[0].endswith("Z")
    assert "secret" not in line


def test_a_name_with_line_breaks_forges_no_line(technician, lines):
    for name in ("x\n2026-01-01T00:00:00.000Z INFO shop.acts release", "x\r\ny", "x\u2028y", "x\x1b[2Jy", "x\u202ey"):
        knock(Client(), name, "wrong password")
    assert len(lines()) == 5
    assert all(line.isprintable() for line in lines())
    assert one_line("a\nb") == "a\\nb"


def test_what_was_typed_and_broke_something_forges_no_line_either():
    try:
        raise ValueError("typed\n2026-01-01T00:00:00.000Z INFO shop.acts forged\u2028forged")
    except ValueError as trouble:
        record = logging.LogRecord("shop", logging.ERROR, "", 0, "broke", (), (type(trouble), trouble, trouble.__traceback__))
    first, *rest = UtcLine("{asctime} {message}", style="{").format(record).splitlines()
    assert first.endswith("broke") and any("forged" in line for line in rest)
    assert all(line.startswith("  | ") for line in rest)


def test_a_refused_page_is_logged_with_who_and_what(as_technician, as_stranger, lines):
    as_technician.get("/people/")
    assert lines()[-1].endswith("refused with 403: GET /people/, to tilde, from 127.0.0.1")


def test_an_account_that_is_locked_is_logged(technician, lines):
    client = Client()
    for _ in range(11):
        knock(client, "tilde", "wrong password")
    assert any("sign-in locked for a while: name tilde" in line for line in lines())


@pytest.mark.django_db(transaction=True)
def test_an_act_leaves_one_line_that_says_who_and_which_record(technician, lines):
    from fleet.models import Customer
    from shop.acts import act

    with act("Customer added", by=technician) as frame:
        frame.made = Customer.objects.create(number="C-1", name="Nordlund")
    assert lines()[-1].endswith(f"shop.acts Customer added, by tilde: fleet.Customer {frame.made.pk}")

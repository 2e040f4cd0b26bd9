"""Every address x role x method answers as the two tables beside this file say; an address that is not in them fails.

`access.csv` says which right each address needs (`open` for strangers). `rights.csv` says which role holds which right. Both are written by hand, apart
from the code that they check.
"""

import csv
import logging
from pathlib import Path
from unittest.mock import patch

import pytest
from django.test import Client
from django.urls import URLPattern, get_resolver, reverse

from tests.conftest import person, signed_in

HERE = Path(__file__).parent
ROLES = ("manager", "office", "technician", "instrument keeper", "parts")
METHODS = ("get", "head", "post", "put", "patch", "delete", "options")


def table(name: str) -> list[dict]:
    with (HERE / name).open(newline="") as file:
        return list(csv.DictReader(file))


NEEDED = {row["address"]: row["right"] for row in table("access.csv")}
HELD = {row["right"]: {role for role in ROLES if row[role] == "yes"} for row in table("rights.csv")}


def patterns() -> dict[str, URLPattern]:
    return {p.name: p for p in get_resolver().url_patterns if isinstance(p, URLPattern)}


def some_address(name: str) -> str:
    """Return an address under this name; what stands in it need not exist, since doors are tried before rooms are searched."""
    converters = patterns()[name].pattern.converters
    given = {key: "fleet.machine" if key == "table" else 1 if "Int" in type(c).__name__ else "x1" for key, c in converters.items()}
    return reverse(name, kwargs=given)


def test_every_address_stands_in_the_table_and_no_other():
    assert set(NEEDED) == set(patterns())


def test_every_view_says_which_right_it_needs_and_the_table_agrees():
    told = {name: getattr(p.callback, "right", "nothing said") or "open" for name, p in patterns().items()}
    assert told == NEEDED


def test_the_rules_give_each_right_to_the_roles_of_the_table():
    from shop.roles import RIGHTS

    assert RIGHTS == HELD


@pytest.fixture
def everybody(db, settings):
    """One of each role, somebody without one, and a stranger; sessions are kept at hand, for thousands of doors ask for theirs."""
    settings.SESSION_ENGINE = "django.contrib.sessions.backends.cache"
    people = {role: signed_in(person(f"p{k}", role)) for k, role in enumerate(ROLES)}
    return people | {"nobody": signed_in(person("no role")), "stranger": Client()}


@pytest.fixture
def unnoted():
    """Thousands of refusals are not written to the log; what stands there has tests of its own."""
    logging.disable(logging.WARNING)
    yield
    logging.disable(logging.NOTSET)


def asked(client: Client, method: str, address: str) -> int:
    """Return the status that a method meets. Only GET and POST lay out their page: for the others the door and the room behind it are enough."""
    if method in ("get", "post"):
        return getattr(client, method)(address).status_code
    with patch("django.template.backends.django.Template.render", return_value=""):
        return getattr(client, method)(address).status_code


def told(who: str, right: str, status: int) -> str | None:
    """Return what is wrong with an answer, if anything."""
    if status >= 500:
        return f"{status}"
    if right == "open":
        return None
    if who == "stranger":
        return None if status == 302 else f"a stranger got {status}"
    if who in HELD[right]:
        return "kept out" if status == 403 else None
    return None if status == 403 else f"let in with {status}"


def test_each_role_is_let_in_or_kept_out_by_each_method(everybody, floor, unnoted):
    wrong = []
    for name, right in NEEDED.items():
        if name == "sign_out":
            continue
        address = some_address(name)
        for who, client in everybody.items():
            for method in METHODS:
                fault = told(who, right, asked(client, method, address))
                wrong += [f"{who} {method} {address}: {fault}"] if fault else []
    assert wrong == []


def test_a_closed_account_is_out_with_the_next_page(technician):
    client = signed_in(technician)
    assert client.get("/account/").status_code == 200
    technician.is_active = False
    technician.save()
    assert client.get("/account/").status_code == 302


def test_a_role_taken_away_is_gone_with_the_next_page(manager):
    client = signed_in(manager)
    assert client.get("/people/").status_code == 200
    manager.groups.clear()
    assert client.get("/people/").status_code == 403


def test_every_post_without_its_token_is_refused(everybody, floor, unnoted):
    wrong = []
    for role in ROLES:
        client = Client(enforce_csrf_checks=True)
        client.cookies = everybody[role].cookies
        for name, right in NEEDED.items():
            if right != "open" and role not in HELD[right]:
                continue
            status = client.post(some_address(name)).status_code
            if status not in (403, 405):
                wrong.append(f"{role} {name}: {status}")
    assert wrong == []


def test_looking_changes_nothing(everybody, floor):
    from shop.keeping.tables import sums

    unkept = {"django_session", "axes_accesslog", "axes_accessattempt", "shop_person", "shop_changeentry"}
    before = {name: total for name, total in sums().items() if name not in unkept}
    for name in NEEDED:
        if name != "account":
            everybody["manager"].get(some_address(name))
    assert {name: total for name, total in sums().items() if name not in unkept} == before


def test_sign_in_leads_only_to_own_pages(technician):
    answer = Client().post(
        "/sign-in/?next=//evil.example/", {"username": "tilde", "password": "a long shop password", "next": "//evil.example/"}
    )
    assert answer.status_code == 302
    assert answer["Location"] == "/"

"""The demo command: only into an empty database, the same every time, and its people named at the door."""

import hashlib
import json
from datetime import date
from functools import cache

import pytest
from django.apps import apps
from django.contrib.auth import get_user_model
from django.core.management import CommandError, call_command
from django.core.management.color import no_style
from django.db import connection, transaction

from fleet.models import Machine
from shop.demo.book import Book
from shop.demo.fill import fill
from shop.demo.people import PASSWORD, leave_mark, make_people, people_at_the_door
from shop.demo.reference import load_reference
from shop.demo.times import Span

pytestmark = pytest.mark.django_db


def test_the_command_leaves_a_used_database_alone(floor, settings, tmp_path):
    settings.VAR_DIR = tmp_path
    with pytest.raises(CommandError, match="empty"):
        call_command("demo", no_server=True)
    assert Machine.objects.count() == 1


UNLIKE = {"ChangeEntry", "Act", "CurrentAct", "ConditionAssessment"}  # they tell when it was really done


def fingerprint() -> str:
    found = hashlib.sha256()
    for label in ("fleet", "shop", "auth"):
        for model in apps.get_app_config(label).get_models(include_auto_created=True):
            if model.__name__ not in UNLIKE:
                found.update(json.dumps(list(model._base_manager.order_by("pk").values()), default=str, sort_keys=True).encode())
    return found.hexdigest()


def begin_numbers_anew() -> None:
    """PostgreSQL goes on counting where an undone filling stopped; SQLite does not."""
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            for statement in connection.ops.sequence_reset_by_name_sql(no_style(), connection.introspection.sequence_list()):
                cursor.execute(statement)


def filled_once(as_of: date) -> str:
    with transaction.atomic():
        begin_numbers_anew()
        fill(as_of)
        found = fingerprint()
        transaction.set_rollback(True)
    return found


@cache
def found_on(as_of: date) -> str:
    """Fill for a day, once however many tests ask."""
    return filled_once(as_of)


def test_the_same_day_gives_the_same_rows_and_another_day_others():
    leap_day, next_day = date(2024, 2, 29), date(2024, 3, 1)
    assert filled_once(leap_day) == found_on(leap_day)
    assert filled_once(next_day) != found_on(leap_day)


def test_any_day_of_the_year_can_be_the_day():
    for as_of in (date(2024, 2, 29), date(2026, 1, 1), date(2027, 7, 31)):
        assert found_on(as_of)


def test_the_door_names_demo_people_only_in_a_demo_shop_and_only_while_their_password_is_the_printed_one(client, settings, tmp_path):
    settings.VAR_DIR = tmp_path
    book = Book(Span(date(2026, 11, 25)))
    load_reference(book)
    make_people(book)
    assert people_at_the_door() == []
    leave_mark()
    assert [name for name, _ in people_at_the_door()] == ["marta", "olof", "tilde", "kaisa", "piet"]
    page = client.get("/sign-in/").content.decode()
    assert PASSWORD in page
    assert "instrument keeper" in page
    olof = get_user_model().objects.get(username="olof")
    assert olof.check_password(PASSWORD)
    olof.set_password("something else entirely")
    olof.save()
    assert "olof" not in dict(people_at_the_door())


def test_the_door_names_nobody_in_a_shop_of_ones_own(client, settings, tmp_path, manager):
    settings.VAR_DIR = tmp_path
    page = client.get("/sign-in/").content.decode()
    assert PASSWORD not in page
    assert "marta" not in page

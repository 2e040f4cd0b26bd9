"""People, and a small invented shop floor that many tests stand on."""

from functools import cache

import pytest
from django.contrib.auth import get_user_model
from django.contrib.auth.hashers import make_password
from django.contrib.auth.models import Group
from django.test import Client

from shop.roles import KEEPER, MANAGER, OFFICE, PARTS, TECHNICIAN
from tests import emptying  # noqa: F401  lets a test database be emptied although the change record refuses it
from tests.floor import Floor, lay_floor
from tests.workers import pytest_xdist_auto_num_workers, pytest_xdist_make_scheduler  # noqa: F401  how the tests are shared out

PASSWORD = "a long shop password"


@pytest.fixture(autouse=True, scope="session")
def quick_passwords():
    """Hashing a password is slow on purpose; a thousand people of the tests need not wait for it. Tests of signing in set their own."""
    from django.test.utils import override_settings

    with override_settings(
        PASSWORD_HASHERS=["django.contrib.auth.hashers.MD5PasswordHasher", "django.contrib.auth.hashers.PBKDF2PasswordHasher"]
    ):
        yield


@cache
def kept_password() -> str:
    """The password as it is kept; worked out once, for that is slow on purpose."""
    return make_password(PASSWORD)


def person(name: str, *roles: str):
    user = get_user_model().objects.create(username=name, password=kept_password(), first_name=name.capitalize(), last_name="Invented")
    user.groups.set([Group.objects.get_or_create(name=role)[0] for role in roles])
    return user


@pytest.fixture
def manager(db):
    return person("marta", MANAGER)


@pytest.fixture
def office(db):
    return person("olof", OFFICE)


@pytest.fixture
def technician(db):
    return person("tilde", TECHNICIAN)


@pytest.fixture
def keeper(db):
    return person("kaisa", TECHNICIAN, KEEPER)


@pytest.fixture
def counter(db):
    return person("piet", PARTS)


def signed_in(user) -> Client:
    client = Client()
    client.force_login(user)
    return client


@pytest.fixture
def as_manager(manager):
    return signed_in(manager)


@pytest.fixture
def as_office(office):
    return signed_in(office)


@pytest.fixture
def as_technician(technician):
    return signed_in(technician)


@pytest.fixture
def as_stranger(db):
    return Client()


@pytest.fixture
def floor(technician) -> Floor:
    """One customer, one machine with a fitted drive, its model with sources, oil, gauges."""
    return lay_floor(technician)

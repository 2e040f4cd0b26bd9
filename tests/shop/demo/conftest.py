"""One demo shop for all tests of this folder; it is rolled back at the end."""

from datetime import date
from pathlib import Path

import pytest
from django.db import connection, transaction

from fleet.assess import assess_all
from fleet.models import Reading
from shop.demo.fill import fill

AS_OF = date(2026, 11, 25)


@pytest.fixture(scope="package")
def demo_shop(django_db_setup, django_db_blocker):
    """The filled shop. Its tests need the mark `django_db`: without one in the run pytest-django sets no test database up."""
    with django_db_blocker.unblock():
        name = str(connection.settings_dict["NAME"])
        assert "memory" in name or Path(name).name.startswith("test"), f"this is no test database: {name}"
        with transaction.atomic():
            book = fill(AS_OF)
            assess_all(Reading.objects.all())
            yield book
            transaction.set_rollback(True)

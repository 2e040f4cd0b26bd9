"""One demo shop for all tests of this folder; it is rolled back at the end."""

from datetime import date

import pytest
from django.db import transaction

from fleet.assess import assess_all
from fleet.models import Reading
from shop.demo.fill import fill

AS_OF = date(2026, 11, 25)


@pytest.fixture(scope="package")
def demo_shop(django_db_setup, django_db_blocker):
    with django_db_blocker.unblock(), transaction.atomic():
        book = fill(AS_OF)
        assess_all(Reading.objects.all())
        yield book
        transaction.set_rollback(True)

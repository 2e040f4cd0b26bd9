"""What tests of the import share: a shelf of their own for files, and the floor with somebody who imports."""

import pytest

from shop.exchange.actions import judge_imported, record_readings
from shop.exchange.plans import Choices
from shop.exchange.reading_plan import plan_readings


@pytest.fixture(autouse=True)
def shelf(settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path / "papers"


@pytest.fixture
def look(floor, technician):
    """Look at a file of readings; nothing is written."""
    return lambda body, **choices: plan_readings(body, technician, Choices(**choices))


@pytest.fixture
def bring(floor, technician):
    """Look at a file of readings and write what can be written; return what was found."""

    def brought(body, **choices):
        plan = plan_readings(body, technician, Choices(**choices))
        tests = record_readings(by=technician, plan=plan, reason="a sheet", why_put_right=choices.get("put_right", ""))
        judge_imported(tests)
        return plan

    return brought

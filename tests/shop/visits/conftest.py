import pytest

from shop.models import IntervalRule, ServiceTask


@pytest.fixture
def filter_task(floor):
    task = ServiceTask.objects.create(code="FILTER", name="Change the charge filter", kind="filter")
    IntervalRule.objects.create(task=task, drive_model=floor.drive_model, every_h=500)
    return task

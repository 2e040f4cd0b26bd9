"""The plan before the season by customer, and what will be wanted: folded, counted whole, with a fixed number of questions."""

from datetime import timedelta

import pytest
from django.utils import timezone

from shop.due.fleet_due import fleet_due
from shop.models import SeasonBlock
from shop.plan import views
from shop.plan.before_season import season_plan
from tests.shop.asking import another_machine, another_unit, questions_of
from tests.shop.due.bench_of_rules import done, rule_for, task

TODAY = timezone.localdate()


@pytest.fixture
def season(floor):
    SeasonBlock.objects.create(name="Cut", from_date=TODAY + timedelta(days=60), to_date=TODAY + timedelta(days=90), repeats_yearly=False)
    the_task = task(work_h="1.5")
    rule_for(floor, the_task, every_months=12)
    done(floor, the_task, on=TODAY - timedelta(days=340))
    return the_task


def more_machines(floor, numbers, customer=None):
    for number in numbers:
        machine = another_machine(floor, number)
        another_unit(floor, number, machine)
        done(floor, floor.season_task, on=TODAY - timedelta(days=340), machine=machine)
        if customer:
            type(machine).objects.filter(pk=machine.pk).update(customer=customer)


def test_tasks_stand_folded_under_their_customer_and_are_counted_whole(as_office, floor, season, monkeypatch):
    floor.season_task = season
    other = type(floor.customer).objects.create(number="C-00002", name="Another Farm")
    more_machines(floor, (2, 3), other)
    page = as_office.get("/plan/before-season/").content.decode()
    assert "Has no week yet: 3 tasks" in page
    assert f"{other}: 2 tasks, 3 h, season from" in page
    assert f"{floor.customer}: 1 task, 1.50 h, season from" in page
    monkeypatch.setattr(views, "MOST_UNBOOKED", 1)
    cut = as_office.get("/plan/before-season/").content.decode()
    assert ("Has no week yet: 3 tasks" in cut, "Show all 3" in cut, "Another Farm" in cut) == (True, True, False)
    assert "Another Farm" in as_office.get("/plan/before-season/?all=1").content.decode()
    assert float(season_plan(fleet_due(), 1).unbooked_h) == 4.5


@pytest.mark.parametrize("path", ["/plan/before-season/", "/plan/demand/", "/seasons/", "/due/in-time/"])
def test_the_number_of_questions_does_not_grow_with_the_fleet(as_office, floor, season, path):
    floor.season_task = season
    more_machines(floor, range(2, 5))
    few = questions_of(as_office, path)
    more_machines(floor, range(5, 25))
    assert questions_of(as_office, path) == few

"""What was done in time, as it stood at the end of the period asked about: later work and later deferrals change nothing in it."""

from datetime import UTC, date, datetime

import pytest
from django.utils import timezone

from shop.due.compliance import compliance
from shop.due.fleet_due import fleet_due
from shop.models import Deferral
from tests.shop.due.bench_of_rules import done, read, rule_for

TODAY = date(2026, 3, 3)


def counts(since, until, today=TODAY) -> dict:
    found = compliance(fleet_due(today), since, until)
    return {name: getattr(found, name) for name in ("inside", "late", "still_open", "put_off", "not_known")}


def test_a_task_open_at_the_end_of_the_period_counts_as_open_there_though_it_was_done_since(floor):
    rule = rule_for(floor, every_months=12)
    done(floor, rule.task, on=date(2024, 6, 1))
    done(floor, rule.task, on=date(2026, 2, 1), due_on=date(2025, 6, 1))
    last_year = counts(date(2025, 1, 1), date(2025, 12, 31))
    assert (last_year["still_open"], last_year["late"]) == (1, 0)
    assert counts(date(2025, 1, 1), date(2025, 6, 16))["still_open"] == 0  # its window of 15 days still ran
    assert counts(date(2025, 1, 1), date(2025, 6, 17))["still_open"] == 1
    this_year = counts(date(2026, 1, 1), TODAY)
    assert (this_year["still_open"], this_year["late"]) == (0, 1)


def test_a_row_open_now_is_open_only_from_the_end_of_its_window(floor):
    rule = rule_for(floor, every_months=12)
    done(floor, rule.task, on=date(2025, 2, 1))
    assert counts(date(2025, 3, 1), date(2026, 2, 16))["still_open"] == 0
    assert counts(date(2025, 3, 1), date(2026, 2, 17))["still_open"] == 1


def test_hours_count_as_they_stood_on_the_day(floor):
    rule = rule_for(floor, every_h=500)
    done(floor, rule.task, 1500, on=date(2025, 6, 1))
    read(floor, 2049, on=datetime(2026, 3, 2, 9, tzinfo=UTC))
    assert counts(date(2026, 1, 1), date(2026, 3, 2))["still_open"] == 0  # the window is a tenth: to 2,050 h
    read(floor, 2051, on=datetime(2026, 3, 2, 10, tzinfo=UTC))
    assert counts(date(2026, 1, 1), date(2026, 3, 2))["still_open"] == 1


def test_hours_run_past_due_are_summed_whatever_the_policy(floor):
    rule = rule_for(floor, every_h=500, reset="grid")
    done(floor, rule.task, 2610, on=date(2026, 2, 1), due_h=2500)
    found = compliance(fleet_due(TODAY), date(2026, 1, 1), TODAY)
    assert (found.over_h, found.late) == (110.0, 1)


@pytest.mark.parametrize(
    ("until", "put_off"), [(date(2026, 1, 31), 0), (date(2026, 2, 1), 1), (date(2026, 2, 20), 1), (date(2026, 2, 21), 0)]
)
def test_a_deferral_counts_while_it_stood(floor, technician, manager, until, put_off):
    rule = rule_for(floor, every_months=12)
    done(floor, rule.task, on=date(2024, 12, 1))
    Deferral.objects.create(
        task=rule.task, machine=floor.machine, reason="away", words="w", risk="r", asked_by=technician, approved_by=manager,
        approved_at=datetime(2026, 2, 1, 12, tzinfo=UTC), until_h=99999, until_on=date(2026, 2, 20),
    )  # fmt: skip
    found = counts(date(2025, 6, 1), until)
    assert (found["put_off"], found["still_open"]) == (put_off, 1 - put_off)


def test_a_deferral_answered_by_work_says_nothing_of_the_next_time(floor, technician, manager):
    rule = rule_for(floor, every_months=12)
    Deferral.objects.create(
        task=rule.task, machine=floor.machine, reason="away", words="w", risk="r", asked_by=technician, approved_by=manager,
        approved_at=datetime(2025, 2, 1, 12, tzinfo=UTC), until_h=99999, until_on=date(2025, 3, 20),
    )  # fmt: skip
    done(floor, rule.task, on=date(2025, 3, 1), due_on=date(2025, 1, 20))
    done(floor, rule.task, on=date(2026, 2, 25), due_on=date(2026, 3, 1))
    found = counts(date(2025, 1, 1), TODAY)
    assert (found["put_off"], found["inside"]) == (1, 1)


def test_the_page_takes_two_days_and_leaves_out_what_cannot_be(as_manager, floor):
    rule_for(floor, every_months=12)
    page = as_manager.get("/due/in-time/?since=2025-01-01&until=2025-06-30").content.decode()
    assert "1 Jan 2025 to 30 Jun 2025" in page
    today = timezone.localdate()
    for asked in ("?since=2999-01-01", "?until=2999-01-01", "?since=x&until=y", "?since=2025-06-01&until=2025-01-01"):
        answer = as_manager.get(f"/due/in-time/{asked}")
        assert answer.status_code == 200
        assert "2999" not in answer.content.decode().split("</form>")[-1]
    assert f"to {today:%-d %b %Y}" in as_manager.get("/due/in-time/?until=2999-01-01").content.decode()

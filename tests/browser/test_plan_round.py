"""A round of the year's work in a real browser: a rule is edited, a task put off and approved, weeks planned, a booking pinned, the calendar read."""

import re
from datetime import date, datetime, timedelta

import pytest
from django.contrib.auth import get_user_model
from django.test import Client
from icalendar import Calendar

from shop.due.fleet_due import fleet_due
from shop.models import Booking, Deferral, IntervalRule


@pytest.fixture
def shop(demo_shop, settings):
    settings.SHOP_PLAN_APART = False
    return {name: get_user_model().objects.get(username=name) for name in ("marta", "olof", "tilde")}


def test_a_rule_edited_a_task_put_off_weeks_planned_a_booking_pinned_a_calendar_read(shop, page, sign_in, complaints, snap):
    go = sign_in(shop["marta"])
    edit_a_rule(page, go, snap)
    put_a_task_off(page, sign_in, shop, snap)
    go = sign_in(shop["olof"])
    plan_the_weeks(page, go, snap)
    pin_and_move(page, go, snap)
    read_the_calendar(page, go)
    assert [words for words in complaints if "422" not in words] == []  # the browser notes the refused approval itself


def edit_a_rule(page, go, snap) -> None:
    rule = IntervalRule.objects.filter(every_h__isnull=False, drive_model__isnull=False, is_retired=False).first()
    go(f"/rules/{rule.pk}/")
    page.get_by_role("link", name="Change", exact=True).click()
    page.get_by_label("Then every, hours").fill("333,5")
    page.get_by_role("button", name="Show what it brings").click()
    assert "Nothing is kept yet" in page.inner_text("main")
    snap("rule-brings")
    rule.refresh_from_db()
    assert float(rule.every_h) != 333.5
    page.get_by_role("button", name="Keep the rule").click()
    assert "333.5 h" in page.inner_text("main")


def put_a_task_off(page, sign_in, shop, snap) -> None:
    due = fleet_due()
    row = due.rows.loc[due.order[0]]
    go = sign_in(shop["tilde"])
    go(f"/due/{row.machine_id}/{row.task_id}/{row.unit_id}/")
    snap("due-task")
    page.get_by_role("link", name="Put off").click()
    page.get_by_label("Why, in words").fill("The machine stands at the coast")
    page.get_by_label("New limit, life hours").fill(f"{due.inputs.reading_h[due.order[0]] + 900:.0f}")
    page.get_by_label("New limit, date").fill(str(date.today() + timedelta(days=40)))
    page.get_by_label("The risk above was read").check()
    page.get_by_role("button", name="Ask for deferral").click()
    page.get_by_role("button", name="Approve").click()
    assert "somebody other than the person who asked" in page.inner_text("main")
    put_off = Deferral.objects.latest("pk")
    assert put_off.approved_at is None
    go = sign_in(shop["marta"])
    go(f"/due/put-off/{put_off.pk}/")
    page.get_by_role("button", name="Approve").click()
    snap("deferral")
    assert "Approved by Marta" in page.inner_text("main")
    go("/due/?show=deferred")
    assert "deferred" in page.inner_text("main table")


def plan_the_weeks(page, go, snap) -> None:
    go("/plan/")
    page.get_by_role("button", name="Plan the weeks anew").click()
    assert "jobs have a week" in page.inner_text("main")
    snap("plan-run")
    page.get_by_role("button", name="Take this plan").click()
    assert Booking.objects.filter(is_cancelled=False).exists()
    snap("plan-board")


def pin_and_move(page, go, snap) -> None:
    booking = Booking.objects.filter(is_cancelled=False, is_pinned=False).earliest("week_start", "pk")
    go(f"/plan/booking/{booking.pk}/")
    page.get_by_role("button", name="Pin").click()
    assert "pinned: planning leaves it alone" in page.inner_text("main")
    page.get_by_role("link", name="Move to a week").click()
    page.get_by_label("To the week of").select_option(str(booking.week_start + timedelta(days=56)))
    page.get_by_role("button", name="Say what it breaks").click()
    assert "Nothing is moved yet" in page.inner_text("main")
    snap("move-breaks")
    if page.get_by_label("Move it although").count():
        page.get_by_label("Move it although").check()
    page.get_by_role("button", name="Move it").click()
    moved = Booking.objects.get(pk=booking.pk)
    assert moved.week_start == booking.week_start + timedelta(days=56)


def read_the_calendar(page, go) -> None:
    go("/plan/calendars/")
    page.get_by_role("button", name="Make an address").click()
    address = re.search(r"http://\S+\.ics", page.inner_text("main"))[0]
    text = Client().get(re.sub(r"^http://[^/]+", "", address)).content
    calendar = Calendar.from_ical(text)
    moved = Booking.objects.filter(is_pinned=True, is_cancelled=False).latest("version", "pk")
    found = {str(event["uid"]): event for event in calendar.walk("VEVENT")}
    event = found[f"{moved.uid}@swashbook"]
    assert moved.week_start <= as_day(event["dtstart"].dt) <= moved.week_start + timedelta(days=6) and int(event["sequence"]) > 0
    assert calendar.walk("VTODO")
    page.get_by_role("button", name="Revoke").first.click()
    assert Client().get(re.sub(r"^http://[^/]+", "", address)).status_code == 404


def as_day(moment) -> date:
    return moment.date() if isinstance(moment, datetime) else moment

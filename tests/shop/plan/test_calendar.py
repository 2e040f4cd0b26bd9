"""The calendar read by a parser that did not write it (vobject), and by strict line checks after RFC 5545."""

import re
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
import vobject
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from fleet.models import HourMeter
from shop.models import Bay, Booking, CalendarKey, Deferral, Finding, SeasonBlock, Technician
from shop.plan import actions
from tests.shop.asking import another_machine, another_unit, token_in
from tests.shop.due.bench_of_rules import done, read, rule_for

TODAY = timezone.localdate()
MONDAY = TODAY - timedelta(days=TODAY.weekday())


@pytest.fixture
def key(manager):
    return CalendarKey.objects.create(secret="s" * 43, scope="shop", made_by=manager)


def feed(key) -> str:
    answer = Client().get(f"/calendar/{key.secret}.ics")
    assert answer.status_code == 200
    return answer.content.decode()


def parts(key, name: str) -> list:
    return list(getattr(vobject.readOne(feed(key)), f"{name}_list", []))


def without_stamp(part) -> str:
    return re.sub(r"DTSTAMP:\S+", "", part.serialize())


def book(floor, **fields) -> Booking:
    return Booking.objects.create(
        **{"machine": floor.machine, "title": "Charge filter; test, all", "week_start": MONDAY, "work_h": 2, "uid": "b1"} | fields
    )


def test_the_feed_is_lines_as_the_standard_wants_them(key, floor):
    book(floor, title="Ölwechsel, ganz lang " * 7, day=MONDAY)
    text = feed(key)
    assert text.endswith("\r\n")
    assert "\n" not in text.replace("\r\n", "")
    assert all(len(line.encode()) <= 75 for line in text.split("\r\n"))
    names = [re.match(r"[A-Z-]+", line)[0] for line in re.sub(r"\r\n[ \t]", "", text).splitlines()]
    assert names[:3] == ["BEGIN", "VERSION", "PRODID"] or {"VERSION", "PRODID"} <= set(names[:5])
    assert names.count("BEGIN") == names.count("END")
    for part in re.findall(r"BEGIN:VEVENT.*?END:VEVENT", text, re.S):
        for once in ("UID", "DTSTAMP", "DTSTART"):
            assert len(re.findall(rf"^{once}[;:]", part, re.M)) == 1


def test_signs_that_part_fields_come_back_as_they_were_typed(key, floor):
    book(floor)
    (event,) = parts(key, "vevent")
    assert event.summary.value == "M-00001: Charge filter; test, all"
    assert "Machine M-00001, serial HW180-00421\n2 h of work" in event.description.value
    assert "Home yard" in str(event.categories.value)


def test_names_are_the_same_in_every_export_and_a_change_counts_up(key, floor, office):
    booking = book(floor)
    (before,) = parts(key, "vevent")
    (again,) = parts(key, "vevent")
    assert (before.uid.value, before.sequence.value) == (again.uid.value, again.sequence.value)
    actions.move_booking(by=office, booking=booking, monday=MONDAY + timedelta(days=7), version=1)
    (after,) = parts(key, "vevent")
    assert after.uid.value == before.uid.value
    assert int(after.sequence.value) > int(before.sequence.value)
    assert after.dtstart.value == MONDAY + timedelta(days=7)


def test_a_booking_called_off_says_so_instead_of_vanishing(key, floor, office):
    booking = book(floor)
    (before,) = parts(key, "vevent")
    actions.cancel_booking(by=office, booking=booking, version=1)
    (event,) = parts(key, "vevent")
    assert event.status.value == "CANCELLED"
    assert int(event.sequence.value) > int(before.sequence.value)


def test_a_booking_given_to_another_is_called_off_in_the_first_ones_calendar(manager, floor, office):
    first, second = (Technician.objects.create(name=name) for name in ("Tilde R.", "Anker B."))
    mine = CalendarKey.objects.create(secret="t" * 43, scope="technician", technician=first, made_by=manager)
    booking = book(floor, technician=first)
    (before,) = parts(mine, "vevent")
    booking.technician = second
    booking.save_over(1)
    (after,) = parts(mine, "vevent")
    assert (after.uid.value, after.status.value) == (before.uid.value, "CANCELLED")
    assert int(after.sequence.value) > int(before.sequence.value)
    booking.refresh_from_db()
    assert not booking.is_cancelled


@pytest.mark.parametrize("named", ["technician", "bay", "site"])
def test_a_new_name_of_what_a_booking_names_counts_up_as_well(key, floor, named):
    hands, bay = Technician.objects.create(name="Tilde R."), Bay.objects.create(name="Bay 1")
    book(floor, technician=hands, bay=bay)
    (before,) = parts(key, "vevent")
    record = {"technician": hands, "bay": bay, "site": floor.machine.site}[named]
    type(record).objects.filter(pk=record.pk).update(name="Another name")
    (after,) = parts(key, "vevent")
    assert (after.description.value, after.categories.value) != (before.description.value, before.categories.value)
    assert int(after.sequence.value) > int(before.sequence.value)


def test_whole_days_end_on_the_day_after_and_slots_name_their_zone(key, floor, settings):
    settings.TIME_ZONE = "Europe/Copenhagen"
    timezone.get_default_timezone.cache_clear()
    try:
        zone = ZoneInfo("Europe/Copenhagen")
        book(floor, day=MONDAY + timedelta(days=1))
        start = datetime.combine(MONDAY + timedelta(days=2), datetime.min.time(), zone).replace(hour=7, minute=30)
        book(floor, uid="b2", start_at=start, day=start.date())
        whole, slot = parts(key, "vevent")
        assert (whole.dtstart.value, whole.dtend.value) == (MONDAY + timedelta(days=1), MONDAY + timedelta(days=2))
        assert (slot.dtstart.value.hour, slot.dtstart.value.utcoffset()) == (7, start.utcoffset())
        assert "DTSTART;TZID=Europe/Copenhagen:" in feed(key)
        assert "BEGIN:VTIMEZONE" in feed(key)
    finally:
        timezone.get_default_timezone.cache_clear()


def test_a_slot_moved_over_a_change_of_the_clock_keeps_its_time_by_the_wall(floor, office, settings):
    settings.TIME_ZONE = "Europe/Copenhagen"
    timezone.get_default_timezone.cache_clear()
    try:
        zone = ZoneInfo("Europe/Copenhagen")
        before = datetime(2026, 3, 25, 7, 30, tzinfo=zone)  # the clock changes on Sunday, 29 March 2026
        booking = book(floor, week_start=date(2026, 3, 23), day=before.date(), start_at=before)
        with timezone.override(zone):
            moved = actions.move_booking(by=office, booking=booking, monday=date(2026, 3, 30), version=1)
        assert moved.start_at.astimezone(zone).isoformat() == "2026-04-01T07:30:00+02:00"
    finally:
        timezone.get_default_timezone.cache_clear()


def test_due_tasks_stand_with_their_day_and_a_name_that_stays_when_numbers_and_codes_are_put_right(key, floor):
    rule = rule_for(floor, every_months=12)
    done(floor, rule.task, on=TODAY - timedelta(days=360))
    (todo,) = parts(key, "vtodo")
    assert "VALUE=DATE" in re.search(r"^DUE[^\r]*", feed(key), re.M)[0]
    assert abs((todo.due.value - TODAY).days - 5) <= 2
    type(rule.task).objects.update(code="FILTER-2")
    type(floor.machine).objects.update(number="M-00017")
    (again,) = parts(key, "vtodo")
    assert (again.uid.value, "M-00017" in again.summary.value) == (todo.uid.value, True)
    assert int(again.sequence.value) > int(todo.sequence.value)


def test_the_number_of_a_task_rises_with_every_change_of_one_day_and_stands_still_without(key, floor, technician, manager):
    other = another_machine(floor, 2)
    rule = rule_for(floor, every_h=500, every_months=12)
    done(floor, rule.task, 700, on=TODAY - timedelta(days=340))

    def put_off():
        return Deferral.objects.create(
            task=rule.task, machine=floor.machine, reason="away", words="w", risk="r", asked_by=technician, approved_by=manager,
            approved_at=timezone.now(), until_h=9999, until_on=TODAY + timedelta(days=40),
        )  # fmt: skip

    writes = [
        lambda: read(floor, 1210, on=timezone.now()),
        lambda: read(floor, 1211, on=timezone.now()),
        lambda: Finding.objects.create(machine=floor.machine, words="metal", calls_task=rule.task, sign="debris"),
        lambda: Finding.objects.update(closed_at=timezone.now()),
        put_off,
        lambda: Deferral.objects.update(ended_at=timezone.now()),
        lambda: type(rule).objects.update(every_h=450),
        lambda: type(rule.task).objects.update(name="Filter of the charge circuit"),
        lambda: SeasonBlock.objects.create(name="Cut", from_date=TODAY, to_date=TODAY + timedelta(days=20)),
    ]
    (todo,) = parts(key, "vtodo")
    for write in writes:
        write()
        (after,) = parts(key, "vtodo")
        (again,) = parts(key, "vtodo")
        assert int(after.sequence.value) > int(todo.sequence.value), (after.summary.value, todo.summary.value)
        assert (without_stamp(after), after.uid.value) == (without_stamp(again), todo.uid.value)
        todo = after
    read(floor, 5, on=timezone.now(), meter=HourMeter.objects.get(machine=other))
    (after,) = parts(key, "vtodo")
    assert after.sequence.value == todo.sequence.value


def test_a_task_that_was_done_is_called_completed_instead_of_vanishing(key, floor):
    rule = rule_for(floor, every_months=12)
    done(floor, rule.task, on=TODAY - timedelta(days=360))
    (before,) = parts(key, "vtodo")
    done(floor, rule.task, on=TODAY)
    (after,) = parts(key, "vtodo")
    assert (after.uid.value, after.status.value, after.percent_complete.value) == (before.uid.value, "COMPLETED", "100")
    assert after.completed.value.date() == TODAY
    assert not hasattr(after, "due")
    assert int(after.sequence.value) > int(before.sequence.value)


def test_the_calendar_of_somebody_who_left_is_shut(manager, floor):
    hands = Technician.objects.create(name="Tilde R.")
    CalendarKey.objects.create(secret="t" * 43, scope="technician", technician=hands, made_by=manager)
    assert Client().get(f"/calendar/{'t' * 43}.ics").status_code == 200
    Technician.objects.update(is_retired=True)
    assert Client().get(f"/calendar/{'t' * 43}.ics").status_code == 404


def test_the_number_of_questions_does_not_grow_with_tasks_and_bookings(key, floor):
    rule_for(floor, every_h=500, every_months=12)

    def asked(machines) -> int:
        for number in machines:
            machine = another_machine(floor, number)
            another_unit(floor, number, machine)
            book(floor, machine=machine, uid=f"b-{number}")
        feed(key)
        with CaptureQueriesContext(connection) as seen:
            feed(key)
        return len(seen)

    assert asked(range(2, 5)) == asked(range(5, 25))


def test_no_phone_and_no_price_ever_stands_in_it(key, floor):
    type(floor.customer).objects.update(phone="+45 5550 1234", stop_cost_per_hour_cents=99900)
    rule = rule_for(floor, every_months=12)
    done(floor, rule.task, on=TODAY - timedelta(days=360))
    book(floor)
    text = re.sub(r"\r\n[ \t]", "", feed(key))
    assert "5550" not in text
    assert "999" not in re.sub(r"DTSTAMP:\S+|UID:\S+|SEQUENCE:\S+", "", text)


def test_each_key_opens_its_own_part_alone(manager, floor):
    hands = Technician.objects.create(name="Tilde R.")
    other = another_machine(floor, 2)
    elsewhere = type(floor.customer).objects.create(number="C-00002", name="Else")
    type(other).objects.filter(pk=other.pk).update(customer=elsewhere)
    book(floor, technician=hands)
    book(floor, machine=other, uid="b2")
    of_customer = CalendarKey.objects.create(secret="c" * 43, scope="customer", customer=elsewhere, made_by=manager)
    of_hands = CalendarKey.objects.create(secret="t" * 43, scope="technician", technician=hands, made_by=manager)
    assert [event.uid.value for event in parts(of_customer, "vevent")] == ["b2@swashbook"]
    assert [event.uid.value for event in parts(of_hands, "vevent")] == ["b1@swashbook"]


def test_a_key_is_made_read_by_strangers_revoked_and_then_not_found(as_office, floor):
    page = as_office.get("/plan/calendars/")
    as_office.post("/plan/calendars/", {"scope": "shop", "token": token_in(page)})
    key = CalendarKey.objects.get()
    assert len(key.secret) >= 43
    answer = Client().get(f"/calendar/{key.secret}.ics")
    assert answer["Content-Type"].startswith("text/calendar")
    assert "no-store" in answer["Cache-Control"]
    as_office.post(f"/plan/calendars/{key.pk}/revoke/")
    assert Client().get(f"/calendar/{key.secret}.ics").status_code == 404
    assert Client().get("/calendar/guessed.ics").status_code == 404
    wrong = as_office.post("/plan/calendars/", {"scope": "customer"})
    assert "Choose the customer" in wrong.content.decode()

"""Bookings and due tasks as an iCalendar (RFC 5545): stable names, counted changes, called-off bookings said so; no phone, no prices."""

import json
from datetime import UTC, datetime, time, timedelta

import numpy as np
from django.conf import settings
from django.utils import timezone
from icalendar import Calendar, Event, Todo

from calcs.thousands import grouped
from shop.due.fleet_due import FleetDue, fleet_due
from shop.due.rows import DueRow, chosen, due_rows
from shop.models import Booking, CalendarKey
from shop.models.changes import ChangeEntry
from shop.plan.sequence import mark_of_shop, sequences_of_bookings, sequences_of_tasks
from shop.plan.work import target_of

PAST_DAYS = 60
MOST_TASKS = 500
STATES = ("over late limit", "overdue", "due", "due soon", "deferred", "blocked by season")


def calendar_of(key: CalendarKey) -> bytes:
    """Return the calendar that a key opens."""
    out = Calendar()
    out.add("prodid", "-//Swashbook//Drive book//EN")
    out.add("version", "2.0")
    out.add("method", "PUBLISH")
    out.add("x-wr-calname", name_of(key))
    stamp = timezone.now().astimezone(UTC).replace(microsecond=0)
    bookings = [*bookings_of(key), *bookings_taken_from(key)]
    number_of = sequences_of_bookings(bookings)
    for booking in bookings:
        out.add_component(event_of(booking, number_of[booking.pk], stamp))
    rows, mark = tasks_of(key), mark_of_shop()
    number_of = sequences_of_tasks(rows, timezone.localdate())
    for row in rows:
        out.add_component(todo_of(row, number_of[row.key], mark, stamp))
    out.add_missing_timezones()
    return out.to_ical()


def name_of(key: CalendarKey) -> str:
    whose = key.customer or key.technician or settings.SHOP_NAME
    return f"Drive work, {whose}"


def bookings_of(key: CalendarKey):
    """Return bookings of the last weeks and all to come, called-off ones too."""
    rows = recent_bookings()
    if key.customer_id:
        rows = rows.filter(machine__customer=key.customer_id)
    if key.technician_id:
        rows = rows.filter(technician=key.technician_id)
    return rows.order_by("pk")


def recent_bookings():
    since = timezone.localdate() - timedelta(days=PAST_DAYS)
    return Booking.objects.filter(week_start__gte=since).select_related("machine__site", "technician", "bay", "order")


def bookings_taken_from(key: CalendarKey) -> list[Booking]:
    """Return bookings that named this technician once and name another now: in this calendar they are called off, not gone without a word."""
    if not key.technician_id:
        return []
    others = {str(booking.pk): booking for booking in recent_bookings().exclude(technician=key.technician_id).order_by("pk")}
    entries = ChangeEntry.objects.filter(table=Booking._meta.db_table, kind="update", row__in=list(others)).values_list("row", "old")
    taken = {row for row, old in entries if json.loads(old)["technician_id"] == key.technician_id}
    for row in taken:
        others[row].is_cancelled = True  # as this calendar sees it; nothing is written
    return [booking for row, booking in others.items() if row in taken]


def tasks_of(key: CalendarKey) -> list[DueRow]:
    """Return tasks that want doing, and those done of late; a technician's calendar holds those of the machines booked for that technician."""
    due = fleet_due()
    machines = None
    if key.customer_id:
        table = due.hours.machines
        machines = set(table.pk[table.customer_id == key.customer_id])
    if key.technician_id:
        machines = set(bookings_of(key).filter(is_cancelled=False).values_list("machine_id", flat=True))
    wanted = chosen(due, states=STATES, machines=machines)[:MOST_TASKS]
    kept = chosen(due, states=("not due",), machines=machines)
    done = kept[_done_of_late(due)[kept]][:MOST_TASKS]
    return due_rows(due, [*wanted, *done])


def _done_of_late(due: FleetDue) -> np.ndarray:
    since = np.datetime64(due.today - timedelta(days=PAST_DAYS), "D")
    return due.inputs.shown_done_day.to_numpy().astype("datetime64[D]") >= since if len(due.rows) else np.zeros(0, bool)


def event_of(booking: Booking, number: int, stamp: datetime) -> Event:
    event = Event()
    event.add("uid", f"{booking.uid}@swashbook")
    event.add("dtstamp", stamp)
    event.add("sequence", number)
    event.add("status", "CANCELLED" if booking.is_cancelled else "CONFIRMED" if booking.is_pinned else "TENTATIVE")
    number = booking.machine.number
    event.add("summary", booking.title if booking.title.startswith(number) else f"{number}: {booking.title}")
    start, end = times_of(booking)
    event.add("dtstart", start)
    event.add("dtend", end)
    event.add("description", words_of(booking))
    if booking.machine.site:
        event.add("categories", [booking.machine.site.name])
        event.add("location", booking.machine.site.name)
    return event


def times_of(booking: Booking):
    """Return begin and end: by the clock where a time is known, else whole days; the end of whole days is the day after."""
    if booking.start_at:
        begin = timezone.localtime(booking.start_at, timezone.get_default_timezone())
        end = (booking.start_at + timedelta(hours=float(booking.work_h))).astimezone(begin.tzinfo)
        return begin, end
    if booking.day:
        return booking.day, booking.day + timedelta(days=1)
    return booking.week_start, booking.week_start + timedelta(days=5)


def words_of(booking: Booking) -> str:
    lines = [f"Machine {booking.machine.number}, serial {booking.machine.serial}", f"{float(booking.work_h):g} h of work"]
    lines += [f"Hands: {booking.technician}"] if booking.technician else []
    lines += [f"Bay: {booking.bay}"] if booking.bay else []
    lines += [f"Order {booking.order.number}"] if booking.order_id else []
    return "\n".join(lines)


def todo_of(row: DueRow, number: int, mark: str, stamp: datetime) -> Todo:
    todo = Todo()
    unit = row.unit.pk if row.unit else 0
    todo.add("uid", f"task-{row.machine.pk}-{row.task.pk}-{unit}-{mark}@swashbook")  # keys, since numbers and codes may be put right
    todo.add("dtstamp", stamp)
    todo.add("sequence", number)
    todo.add("summary", f"{row.task.name} {row.machine.number}{f' {row.unit.tag}' if row.unit else ''}{_standing(row)}")
    _add_standing(todo, row)
    todo.add("description", row.reason)
    if row.machine.site:
        todo.add("categories", [row.machine.site.name])
    return todo


def _standing(row: DueRow) -> str:
    if row.state == "not due":
        return ", done"
    hours = f" (due {grouped(row.due_h, 0)} h)" if row.due_h is not None else ""
    return f"{hours}, {row.state}"


def _add_standing(todo: Todo, row: DueRow) -> None:
    """Say that a task is done, or by which day it is to be done."""
    if row.state == "not due":
        todo.add("status", "COMPLETED")
        noon = datetime.combine(row.done_day, time(12), timezone.get_default_timezone())
        todo.add("completed", noon.astimezone(UTC))
        todo.add("percent-complete", 100)
        return
    todo.add("status", "NEEDS-ACTION")
    if day := target_of(row):
        todo.add("due", day)

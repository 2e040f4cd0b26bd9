"""Bookings and due tasks as an iCalendar (RFC 5545): stable names, counted changes, called-off bookings said so; no phone, no prices."""

from datetime import UTC, date, datetime, timedelta

from django.conf import settings
from django.utils import timezone
from icalendar import Calendar, Event, Todo

from calcs.thousands import grouped
from shop.due.fleet_due import fleet_due
from shop.due.rows import DueRow, chosen, due_rows
from shop.models import Booking, CalendarKey

PAST_DAYS = 60
MOST_TASKS = 500
STATES = ("over late limit", "overdue", "due", "due soon", "deferred", "blocked by season")
COUNTED_FROM = date(2020, 1, 1)


def calendar_of(key: CalendarKey) -> bytes:
    """Return the calendar that a key opens."""
    out = Calendar()
    out.add("prodid", "-//Swashbook//Drive book//EN")
    out.add("version", "2.0")
    out.add("method", "PUBLISH")
    out.add("x-wr-calname", name_of(key))
    stamp = timezone.now().astimezone(UTC).replace(microsecond=0)
    for booking in bookings_of(key):
        out.add_component(event_of(booking, stamp))
    for row in tasks_of(key):
        out.add_component(todo_of(row, stamp))
    out.add_missing_timezones()
    return out.to_ical()


def name_of(key: CalendarKey) -> str:
    whose = key.customer or key.technician or settings.SHOP_NAME
    return f"Drive work, {whose}"


def bookings_of(key: CalendarKey):
    """Return bookings of the last weeks and all to come, called-off ones too."""
    since = timezone.localdate() - timedelta(days=PAST_DAYS)
    rows = Booking.objects.filter(week_start__gte=since).select_related("machine__site", "technician", "bay", "order")
    if key.customer_id:
        rows = rows.filter(machine__customer=key.customer_id)
    if key.technician_id:
        rows = rows.filter(technician=key.technician_id)
    return rows.order_by("pk")


def tasks_of(key: CalendarKey) -> list[DueRow]:
    """Return tasks that want doing; a technician's calendar holds those of the machines booked for that technician."""
    due = fleet_due()
    machines = None
    if key.customer_id:
        table = due.hours.machines
        machines = set(table.pk[table.customer_id == key.customer_id])
    if key.technician_id:
        machines = set(bookings_of(key).filter(is_cancelled=False).values_list("machine_id", flat=True))
    return due_rows(due, chosen(due, states=STATES, machines=machines)[:MOST_TASKS])


def event_of(booking: Booking, stamp: datetime) -> Event:
    event = Event()
    event.add("uid", f"{booking.uid}@swashbook")
    event.add("dtstamp", stamp)
    event.add("sequence", booking.version - 1)
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


def todo_of(row: DueRow, stamp: datetime) -> Todo:
    todo = Todo()
    unit = row.unit.tag if row.unit else "0"
    todo.add("uid", f"task-{row.machine.number}-{row.task.code}-{unit}@swashbook")
    todo.add("dtstamp", stamp)
    todo.add("sequence", sequence_of(row))
    todo.add("status", "NEEDS-ACTION")
    hours = f" (due {grouped(row.due_h, 0)} h)" if row.due_h is not None else ""
    todo.add("summary", f"{row.task.name} {row.machine.number}{f' {row.unit.tag}' if row.unit else ''}{hours}, {row.state}")
    day = row.slot_day if row.move and row.slot_day else row.due_day
    if row.state == "deferred" and row.deferred_day:
        day = row.deferred_day
    if day:
        todo.add("due", day)
    todo.add("description", row.reason)
    if row.machine.site:
        todo.add("categories", [row.machine.site.name])
    return todo


def sequence_of(row: DueRow) -> int:
    """Return a number that rises whenever a fact moves the task: days since 2020 up to the latest of them."""
    known = [day for day in (row.reading_day, row.done_day, row.put_off_day) if day]
    return max(0, (max(known) - COUNTED_FROM).days) if known else 0

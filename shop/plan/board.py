"""The weeks as they are booked: bookings by week, hours against what there is, and what a move would break."""

from dataclasses import dataclass, replace
from datetime import date, timedelta

from calcs.booked import plan_as_booked
from calcs.calendar_sums import day_words
from calcs.jobs import Job
from calcs.plan import Plan, breaks
from calcs.shop_weeks import ShopWeeks
from shop.due.fleet_due import fleet_due
from shop.due.rows import chosen, due_rows
from shop.models import Booking
from shop.plan.weeks import ANY_WORK, monday_of, mondays_from, shop_weeks
from shop.plan.work import drive_h, job_of, place_of, soft_blocks


@dataclass(frozen=True)
class Week:
    """One week of the board."""

    monday: date
    bookings: list[Booking]
    planned_h: float
    room_h: float
    over: list[str]

    @property
    def is_full(self) -> bool:
        return self.planned_h > self.room_h + 1e-6

    @property
    def left_h(self) -> float:
        return self.room_h - self.planned_h

    @property
    def friday(self) -> date:
        return self.monday + timedelta(days=4)


def bookings_between(first: date, weeks: int):
    """Return live bookings of these weeks."""
    mondays = mondays_from(first, weeks)
    rows = Booking.objects.filter(is_cancelled=False, week_start__gte=mondays[0], week_start__lte=mondays[-1])
    rows = rows.select_related("machine__customer", "machine__site", "technician", "bay", "order")
    return rows.order_by("week_start", "day", "machine__number", "pk")


def weeks_of_board(first: date, weeks: int) -> tuple[list[Week], Plan]:
    """Return the weeks with their bookings, and the board as a plan that the sums can judge."""
    bookings = list(bookings_between(first, weeks))
    jobs, shop, plan = board_plan(bookings, first, weeks)
    room = plan.room[_hours_row(plan)] if len(plan.limit_names) else [0.0] * weeks
    used = plan.used[_hours_row(plan)] if len(plan.limit_names) else [0.0] * weeks
    out = []
    for k, monday in enumerate(shop.mondays):
        mine = [booking for booking in bookings if booking.week_start == monday]
        over = [words.split(": ", 1)[1] for words in plan.overbooked if words.startswith(_week_words(monday))]
        out.append(Week(monday, mine, float(used[k]), float(room[k]), over))
    return out, plan


def _week_words(monday: date) -> str:
    return f"week of {day_words(monday)}:"


def _hours_row(plan: Plan) -> int:
    """Return the row of the limit over all hands: the last one of hours."""
    return max((k for k, name in enumerate(plan.limit_names) if name.startswith("hours of")), default=0)


def board_plan(bookings, first: date, weeks: int) -> tuple[list[Job], ShopWeeks, Plan]:
    """Return the bookings as jobs that stay where they are, the shop's weeks, and both as a plan."""
    shop = shop_weeks(first, weeks)
    jobs = jobs_of_bookings(bookings)
    place = {monday: k for k, monday in enumerate(shop.mondays)}
    week_of = {job.name: place[booking.week_start] for job, booking in zip(jobs, bookings, strict=True)}
    return jobs, shop, plan_as_booked(jobs, week_of, shop)


def jobs_of_bookings(bookings) -> list[Job]:
    """Return each booking as a job: of its tasks where they stand on the due list, else of its own words."""
    due = fleet_due()
    soft = soft_blocks()
    machines = {booking.machine_id for booking in bookings}
    rows = due_rows(due, chosen(due, machines=machines)) if machines else []
    by_key = {(row.machine.pk, row.task.code, row.unit.tag if row.unit else ""): row for row in rows}
    out = []
    for booking in bookings:
        mine = [by_key.get((booking.machine_id, entry.get("task"), entry.get("unit", ""))) for entry in booking.tasks]
        mine = [row for row in mine if row is not None and row.due_day is not None]
        base = job_of(due, mine, soft) if mine else _plain_job(booking)
        out.append(replace(base, name=name_of_booking(booking), hours=float(booking.work_h)))
    return out


def name_of_booking(booking: Booking) -> str:
    return f"{booking.title} ({booking.pk})"


def _plain_job(booking: Booking) -> Job:
    machine = booking.machine
    friday = booking.week_start + timedelta(days=4)
    return Job(name="", place=place_of(machine), skill=ANY_WORK, hours=float(booking.work_h), due=friday, visit_h=drive_h(machine))


def what_a_move_breaks(booking: Booking, monday: date, first: date, weeks: int) -> list[str]:
    """Return in words what moving a booking to another week breaks; empty where nothing."""
    bookings = list(bookings_between(first, weeks))
    jobs, shop, plan = board_plan(bookings, first, weeks)
    if monday not in shop.mondays or booking.pk not in {b.pk for b in bookings}:
        return ["that week is not on the board"]
    words = breaks(name_of_booking(booking), shop.mondays.index(monday), plan, jobs, shop)
    pinned = [f"it is pinned to the week of {booking.week_start:%-d %b}: moving it pins it to the new week"] if booking.is_pinned else []
    return words + pinned


def first_monday(today: date) -> date:
    """Return the first week that is planned: this one on its Monday, else the next, for days that are over hold no work."""
    return monday_of(today) if today.weekday() == 0 else monday_of(today) + timedelta(days=7)

"""The shop's weeks as the sums know them: hands less leave and fixed work, bays, hours held back for breakdowns."""

from collections.abc import Iterable
from datetime import date, timedelta
from math import ceil

from calcs.shop_weeks import DAYS_PER_WEEK, ShopWeeks, days_of
from calcs.shop_weeks import Bay as Place
from calcs.shop_weeks import Technician as Hands
from shop.due.fleet_facts import block_days, years_round
from shop.due.shop_figures import shop_figures
from shop.models import Bay, Booking, SeasonBlock, Technician

ANY_WORK = "any work"  # a skill that everybody has
HOURS_A_DAY = 8.0
LOW_DOOR_M = 99.0  # a bay whose door nobody measured takes every machine


def monday_of(day: date) -> date:
    return day - timedelta(days=day.weekday())


def mondays_from(first: date, weeks: int) -> tuple[date, ...]:
    return tuple(monday_of(first) + timedelta(days=7 * k) for k in range(weeks))


def shop_weeks(first: date, weeks: int, fixed: Iterable[Booking] = ()) -> ShopWeeks:
    """Return the shop over some weeks; what `fixed` bookings take of hands and bays that they name is taken out."""
    mondays, fixed = mondays_from(first, weeks), list(fixed)
    hands = tuple(_hands(technician, mondays, fixed) for technician in _technicians())
    bays = tuple(Place(bay.name, bay.door_height_m or LOW_DOOR_M, _days_in(bay, fixed)) for bay in Bay.objects.filter(is_retired=False))
    return ShopWeeks(mondays, hands, bays, _reserve(mondays))


def _days_in(bay: Bay, fixed: list[Booking]) -> frozenset[date]:
    """Return the days on which a machine stands in a bay by bookings that name bay and day."""
    mine = [booking for booking in fixed if booking.bay_id == bay.pk and booking.day]
    return frozenset(day for booking in mine for day in _run_of_days(booking.day, ceil(float(booking.work_h) / HOURS_A_DAY)))


def _run_of_days(first: date, count: int) -> list[date]:
    """Return working days one after another."""
    days = [first + timedelta(days=k) for k in range(2 * count + DAYS_PER_WEEK)]
    return [day for day in days if day.weekday() < DAYS_PER_WEEK][:count]


def _technicians():
    return Technician.objects.filter(is_retired=False).prefetch_related("skills", "times_away")


def _hands(technician: Technician, mondays, fixed: list[Booking]) -> Hands:
    skills = frozenset({ANY_WORK, *(skill.code for skill in technician.skills.all())})
    taken = [sum(float(b.work_h) for b in fixed if (b.technician_id, b.week_start) == (technician.pk, monday)) for monday in mondays]
    away = _days_away(technician, mondays)
    here = [sum(day not in away for day in days_of(monday)) / DAYS_PER_WEEK for monday in mondays]
    hours = tuple(max(0.0, float(technician.hours_per_week) * share - gone) for share, gone in zip(here, taken, strict=True))
    return Hands(technician.name, skills, hours, away)


def _days_away(technician: Technician, mondays) -> frozenset[date]:
    times = technician.times_away.all()
    days = (day for monday in mondays for day in days_of(monday))
    return frozenset(day for day in days if any(time.from_date <= day <= time.to_date for time in times))


def _reserve(mondays) -> tuple[float, ...]:
    """Return the share held back in each week: more in weeks that touch a season block in which no planned work is done."""
    figures = shop_figures()
    hard = SeasonBlock.objects.filter(is_retired=False, is_hard=True)
    days = [block for season in hard for block in block_days(season, years_round(mondays[0]))] if mondays else []
    in_season = [any(block.start <= monday + timedelta(days=4) and block.end >= monday for block in days) for monday in mondays]
    return tuple(figures["reserve_season"] if season else figures["reserve_winter"] for season in in_season)

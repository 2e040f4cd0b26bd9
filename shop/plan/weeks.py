"""The shop's weeks as the sums know them: hands less leave and fixed work, bays, hours held back for breakdowns."""

from collections.abc import Iterable
from datetime import date, timedelta

from calcs.shop_weeks import Bay as Place
from calcs.shop_weeks import ShopWeeks
from calcs.shop_weeks import Technician as Hands
from shop.due.fleet_facts import block_days, years_round
from shop.due.shop_figures import shop_figures
from shop.models import Bay, Booking, SeasonBlock, Technician

ANY_WORK = "any work"  # a skill that everybody has
DAYS_A_WEEK = 5
LOW_DOOR_M = 99.0  # a bay whose door nobody measured takes every machine


def monday_of(day: date) -> date:
    return day - timedelta(days=day.weekday())


def mondays_from(first: date, weeks: int) -> tuple[date, ...]:
    return tuple(monday_of(first) + timedelta(days=7 * k) for k in range(weeks))


def shop_weeks(first: date, weeks: int, fixed: Iterable[Booking] = ()) -> ShopWeeks:
    """Return the shop over some weeks; hours of `fixed` bookings that name their hands are taken out."""
    mondays = mondays_from(first, weeks)
    taken: dict[tuple[int, date], float] = {}
    for booking in fixed:
        if booking.technician_id:
            key = (booking.technician_id, booking.week_start)
            taken[key] = taken.get(key, 0.0) + float(booking.work_h)
    hands = tuple(_hands(technician, mondays, taken) for technician in _technicians())
    bays = tuple(Place(bay.name, bay.door_height_m or LOW_DOOR_M) for bay in Bay.objects.filter(is_retired=False))
    return ShopWeeks(mondays, hands, bays, _reserve(mondays))


def _technicians():
    return Technician.objects.filter(is_retired=False).prefetch_related("skills", "times_away")


def _hands(technician: Technician, mondays, taken) -> Hands:
    skills = frozenset({ANY_WORK, *(skill.code for skill in technician.skills.all())})
    hours = tuple(
        max(0.0, float(technician.hours_per_week) * _share_here(technician, monday) - taken.get((technician.pk, monday), 0.0))
        for monday in mondays
    )
    return Hands(technician.name, skills, hours)


def _share_here(technician: Technician, monday: date) -> float:
    """Return the share of a week's working days on which somebody is not away."""
    away = technician.times_away.all()
    days = [monday + timedelta(days=k) for k in range(DAYS_A_WEEK)]
    return sum(not any(time.from_date <= day <= time.to_date for time in away) for day in days) / DAYS_A_WEEK


def _reserve(mondays) -> tuple[float, ...]:
    """Return the share held back in each week: more in weeks that touch a season block in which no planned work is done."""
    figures = shop_figures()
    hard = SeasonBlock.objects.filter(is_retired=False, is_hard=True)
    days = [block for season in hard for block in block_days(season, years_round(mondays[0]))] if mondays else []
    in_season = [any(block.start <= monday + timedelta(days=4) and block.end >= monday for block in days) for monday in mondays]
    return tuple(figures["reserve_season"] if season else figures["reserve_winter"] for season in in_season)

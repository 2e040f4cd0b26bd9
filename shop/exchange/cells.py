"""What stands in one cell: a number, a day, a time of day. What could mean two things is refused, unless the person said how it is meant."""

from __future__ import annotations

import math
import re
from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from django.utils import timezone

from calcs.figures import DOUBTFUL, NumberRefused, read_number

YEAR_FIRST = re.compile(r"(\d{4})[-./](\d{1,2})[-./](\d{1,2})")
YEAR_LAST = re.compile(r"(\d{1,2})([-./ ])(\d{1,2})\2(\d{4}|\d{2})")
MONTH_NAMED = re.compile(r"(\d{1,2})[-. ]+([A-Za-z]{3,9})[-. ,]+(\d{4})")
CLOCK = re.compile(r"(\d{1,2})[:.h](\d{2})(?:[:.](\d{2})(?:[.,]\d{1,6})?)?\s*([ap]m)?", re.IGNORECASE)
MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
DAY_NUMBERS = (18_264, 73_050)  # 1950 to 2099 as spreadsheets count days from 1900
NOON = time(12)
TWO_DIGITS_TO = 70


class CellRefused(ValueError):
    """A cell that cannot be taken: why, and what to write instead; `field` names the cell where it is not the one that was asked for."""

    def __init__(self, reason: str, instead: str, field: str = ""):
        self.reason, self.instead, self.field = reason, instead, field
        super().__init__(reason)


def unmistakable(number: float) -> str:
    """Return a number as a text that reads in one way only: 1.234 becomes 1.2340."""
    if not math.isfinite(number):
        return str(number)
    if float(number).is_integer() and abs(number) < 1e15:
        return str(int(number))
    text = f"{number:.15g}"
    return text + "0" if DOUBTFUL.fullmatch(text.lstrip("+-")) else text


def plain_number(text: str, decimal: str | None) -> str:
    """Return the number of a cell so that the form it goes to reads it in the one way that was stated."""
    from shop.exchange.sheets import NumberCell

    if isinstance(text, NumberCell) or not text:
        return str(text)
    try:
        return unmistakable(read_number(text, decimal)) if decimal else text
    except NumberRefused:
        return text


def day_of(text: str, order: str, epoch: datetime | None = None) -> date:
    """Return the day of a cell. `order` is `day`, `month` or empty: which of the two stands first where a text leaves it open."""
    text = text.strip().rstrip(",.")
    if not text:
        raise CellRefused("No date.", "The day, such as 2025-03-14")
    for find in (_year_first, _month_named):
        if found := find(text):
            return found
    if found := YEAR_LAST.fullmatch(text):
        return _year_last(text, found, order)
    if re.fullmatch(r"\d{5}(\.\d+)?", text):
        return _numbered_day(text, epoch)
    raise CellRefused(f"“{text[:40]}” is no date.", "The day, such as 2025-03-14")


def _year_first(text: str) -> date | None:
    found = YEAR_FIRST.fullmatch(text)
    return _day(text, int(found[1]), int(found[2]), int(found[3])) if found else None


def _month_named(text: str) -> date | None:
    found = MONTH_NAMED.fullmatch(text)
    if not found or found[2].lower()[:3] not in MONTHS:
        return None
    return _day(text, int(found[3]), MONTHS.index(found[2].lower()[:3]) + 1, int(found[1]))


def _year_last(text: str, found: re.Match, order: str) -> date:
    """Day.month.year with points is clear, and so is a figure above twelve; other orders must be stated."""
    first, second, year = int(found[1]), int(found[3]), int(found[4])
    if len(found[4]) == 2:
        year += 2000 if year < TWO_DIGITS_TO else 1900
    if first > 12 or (found[2] == "." and second <= 12) or first == second:
        return _day(text, year, second, first)
    if second > 12:
        return _day(text, year, first, second)
    if not order:
        ways = f"{first} {MONTHS[second - 1].capitalize()} or {second} {MONTHS[first - 1].capitalize()} {year}"
        raise CellRefused(f"“{text}” may mean {ways}.", "Say above which stands first, or write the year first: 2025-03-14")
    return _day(text, year, second, first) if order == "day" else _day(text, year, first, second)


def _numbered_day(text: str, epoch: datetime | None) -> date:
    """A spreadsheet's day number; only a workbook says from which day it counts."""
    from openpyxl.utils.datetime import MAC_EPOCH, WINDOWS_EPOCH, from_excel

    number = float(text)
    if not DAY_NUMBERS[0] <= number <= DAY_NUMBERS[1]:
        raise CellRefused(f"“{text}” is no date.", "The day, such as 2025-03-14")
    if epoch is None:
        ways = " or ".join(f"{from_excel(number, start):%Y-%m-%d}" for start in (WINDOWS_EPOCH, MAC_EPOCH))
        raise CellRefused(f"“{text}” is the day number of a spreadsheet, which may mean {ways}.", "Show the column as dates and save anew")
    return from_excel(number, epoch).date()


def _day(text: str, year: int, month: int, day: int) -> date:
    try:
        return date(year, month, day)
    except ValueError as trouble:
        raise CellRefused(f"There is no day “{text}”.", "A day of the calendar, such as 2025-03-14") from trouble


def clock_of(text: str) -> time:
    """Return the time of day of a cell; a workbook's fraction of a day counts as one."""
    text = text.strip()
    found = CLOCK.fullmatch(text)
    if re.fullmatch(r"0?\.\d+", text):
        return (datetime.min + timedelta(seconds=round(float(text) * 86_400))).time()
    if not found:
        raise CellRefused(f"“{text[:40]}” is no time of day.", "Hours and minutes, such as 13:09")
    hour, minute, second = int(found[1]), int(found[2]), int(found[3] or 0)
    half = (found[4] or "").lower()
    if half:
        hour = hour % 12 + (12 if half == "pm" else 0)
    try:
        return time(hour, minute, second)
    except ValueError as trouble:
        raise CellRefused(f"There is no time “{text}”.", "Hours and minutes, such as 13:09") from trouble


def moment_of(text: str, order: str, epoch: datetime | None = None) -> datetime:
    """Return the moment of a cell that holds day and time; without a zone it is the shop's own time, without a time noon."""
    text = text.strip()
    if re.match(r"\d{4}-\d{2}-\d{2}[T ]\d{2}:", text):
        return _standard_moment(text)
    day, _, clock = text.partition(" ") if not MONTH_NAMED.match(text) else (text, "", "")
    return local_moment(day_of(day, order, epoch), clock_of(clock) if clock.strip() else NOON)


def _standard_moment(text: str) -> datetime:
    try:
        found = datetime.fromisoformat(text)
    except ValueError as trouble:
        raise CellRefused(f"There is no moment “{text[:40]}”.", "Day and time, such as 2025-03-14T13:09") from trouble
    try:
        return found.astimezone(ZoneInfo("UTC")) if found.tzinfo else local_moment(found.date(), found.time())
    except (OverflowError, ValueError) as trouble:
        raise CellRefused(f"There is no moment “{text[:40]}”.", "Day and time, such as 2025-03-14T13:09") from trouble


def local_moment(day: date, clock: time) -> datetime:
    """Return a moment of the shop's own time; the hour that summer time takes or doubles is refused."""
    bare = datetime.combine(day, clock)
    zone = timezone.get_current_timezone()
    try:
        first, second = bare.replace(tzinfo=zone, fold=0), bare.replace(tzinfo=zone, fold=1)
        utc = first.astimezone(ZoneInfo("UTC"))
        is_clear = first.utcoffset() == second.utcoffset()
    except (OverflowError, ValueError) as trouble:
        raise CellRefused(f"There is no moment “{bare}”.", "Day and time, such as 2025-03-14T13:09") from trouble
    if not is_clear:
        there = "comes twice" if utc.astimezone(zone).replace(tzinfo=None) == bare else "does not exist"
        raise CellRefused(
            f"{bare:%Y-%m-%d %H:%M} {there}: the clock is changed in that hour.", "The time with its zone: 2025-10-26T02:30+01:00"
        )
    return utc

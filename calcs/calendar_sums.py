"""Sums with calendar days and months, one documented rule for month ends, for single days and whole arrays alike."""

from __future__ import annotations

import re
from datetime import date, datetime

import numpy as np

MONTH_NAMES = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
DAYS_PER_MONTH = 30.436875  # mean of the Gregorian calendar: 146,097 days in 4,800 months
QUARTER_CODE = re.compile(r"^\s*([1-4])\s*Q\s*(\d{2}|\d{4})\s*$", re.IGNORECASE)
YEAR_MONTH_CODE = re.compile(r"^\s*(\d{2}|\d{4})\s*[/.-]\s*(\d{1,2})\s*$")
NO_DAY = np.datetime64("NaT", "D")


def add_months(day, months):
    """Return the same day of the month so many months on, or the last day of that month where it is shorter.

    Law
    ---
    day + n months = min(day of month, last day of the month reached)

    Parameters
    ----------
    day : date or array of datetime64[D]
        Day to start from; a missing day stays missing [date]
    months : int or array
        Whole months to add, may be below zero; NaN gives a missing day [months]

    Returns
    -------
    day : date or array of datetime64[D]
        The day reached; a `date` where a `date` and a single number were given [date]

    Examples
    --------
    >>> add_months(date(2026, 1, 31), 1)
    datetime.date(2026, 2, 28)
    >>> add_months(date(2024, 2, 29), 12)
    datetime.date(2025, 2, 28)

    Source
    ------
    Common practice, no source. Sums start from the anchor each time, never from a shortened month, so a 31st comes back.
    """
    days, steps = np.asarray(day, "datetime64[D]"), np.asarray(months, float)
    known = ~np.isnan(steps)
    month = days.astype("datetime64[M]")
    place = (days - month.astype("datetime64[D]")).astype(int)
    target = month + np.where(known, steps, 0).astype(int)
    first = target.astype("datetime64[D]")
    length = ((target + 1).astype("datetime64[D]") - first).astype(int)
    reached = np.where(known, first + np.minimum(place, length - 1), NO_DAY)
    return as_date(reached) if isinstance(day, date) and np.ndim(months) == 0 else reached


def as_date(day) -> date | None:
    """Return a single day as a plain date, or None where it is missing.

    Parameters
    ----------
    day : datetime64, datetime, date or array of one
        The day [date]

    Returns
    -------
    day : date or None
        The same day [date]

    Examples
    --------
    >>> as_date(np.datetime64("2026-05-14"))
    datetime.date(2026, 5, 14)
    >>> as_date(np.datetime64("NaT")) is None
    True

    Source
    ------
    numpy datetime64 documentation.
    """
    if isinstance(day, np.ndarray):
        day = day.reshape(-1)[0]
    if day is None or day != day:  # a missing day differs from itself
        return None
    return day.date() if isinstance(day, datetime) else np.datetime64(day, "D").item()


def day_words(day, beside=None) -> str:
    """Return a day as a person says it, the year only where it is another than that of `beside`; empty where it is missing.

    Parameters
    ----------
    day : date or datetime64
        The day [date]
    beside : date or datetime64, optional
        Day whose year goes without saying, as a rule today; None never prints the year [date]

    Returns
    -------
    words : str
        Day and month, and the year where needed [-]

    Examples
    --------
    >>> day_words(date(2026, 8, 6))
    '6 Aug'
    >>> day_words(date(2027, 1, 2), beside=date(2026, 5, 1))
    '2 Jan 2027'

    Source
    ------
    Common practice, no source.
    """
    plain, near = as_date(day), as_date(beside)
    if plain is None:
        return ""
    year = f" {plain.year}" if near is not None and near.year != plain.year else ""
    return f"{plain.day} {MONTH_NAMES[plain.month - 1]}{year}"


def days_in_month(day):
    """Return the length of the month a day lies in.

    Parameters
    ----------
    day : date or array of datetime64[D]
        The day; must not be missing [date]

    Returns
    -------
    days : array of int
        28 to 31 [days]

    Examples
    --------
    >>> int(days_in_month(date(2028, 2, 3)))
    29

    Source
    ------
    Gregorian calendar, ISO 8601.
    """
    month = np.asarray(day, "datetime64[D]").astype("datetime64[M]")
    return ((month + 1).astype("datetime64[D]") - month.astype("datetime64[D]")).astype(int)


def next_on_grid(anchor, every_months, after, first_k=1):
    """Return the first day of a grid of months that lies after a given day.

    Law
    ---
    the smallest anchor + k x every with k >= first k that lies after the given day

    Parameters
    ----------
    anchor : array of datetime64[D]
        Day the grid starts from [date]
    every_months : array
        Mesh of the grid, above zero; NaN gives a missing day [months]
    after : array of datetime64[D]
        The day to be passed; missing gives the first day of the grid [date]
    first_k : int or array of int
        Smallest multiple allowed: 0 lets the anchor itself be the answer [-]

    Returns
    -------
    day : array of datetime64[D]
        Day on the grid [date]

    Examples
    --------
    >>> next_on_grid(date(2024, 2, 29), 12, date(2027, 2, 28))
    array('2028-02-29', dtype='datetime64[D]')

    Source
    ------
    Common practice, no source.
    """
    start, mesh, passed = np.broadcast_arrays(
        np.asarray(anchor, "datetime64[D]"), np.asarray(every_months, float), np.asarray(after, "datetime64[D]")
    )
    usable = ~(np.isnat(start) | np.isnat(passed) | np.isnan(mesh))
    apart = np.where(usable, (passed.astype("datetime64[M]") - start.astype("datetime64[M]")).astype(int), 0)
    k = np.maximum(np.where(usable, apart // np.where(usable, mesh, 1), 0) - 1, first_k)
    for _ in range(3):
        k = k + (usable & (add_months(start, k * mesh) <= passed))
    return add_months(start, k * mesh)


def hose_made_on(code: str) -> date:
    """Return the month a hose was made from the code printed on it, as the first day of the last month the code covers.

    Parameters
    ----------
    code : str
        Quarter and year such as 3Q20, or year and month such as 20/09 or 2020-09 [-]

    Returns
    -------
    day : date
        First day of the quarter's last month, or of the month [date]

    Examples
    --------
    >>> hose_made_on("3Q20")
    datetime.date(2020, 9, 1)
    >>> hose_made_on("20/09")
    datetime.date(2020, 9, 1)

    Source
    ------
    DIN 20066 marking as quoted in makers' manuals: quarter or month and year of manufacture. The last month of the quarter is our reading.
    """
    quarter, month = QUARTER_CODE.match(code), YEAR_MONTH_CODE.match(code)
    if quarter:
        return date(_full_year(quarter[2]), 3 * int(quarter[1]), 1)
    if month and 1 <= int(month[2]) <= 12:
        return date(_full_year(month[1]), int(month[2]), 1)
    raise ValueError(f"code must be a quarter and year or a year and month, got {code!r}")


def _full_year(text: str) -> int:
    return int(text) if len(text) == 4 else 2000 + int(text)

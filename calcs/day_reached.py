"""The day an hour figure is reached, from hours by month: hours left are turned into days before anything is compared.

One row a question, all at once. A reading stands at the end of its day.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from calcs.calendar_sums import NO_DAY, days_in_month
from calcs.usage import UsageTable

Z_80 = 1.2815515655446004  # standard normal at 90 %
MOST_YEARS = 20.0
LUMP_H = 6.0  # hours come in days of work; tried on made-up fleets in tests/bench, no source


@dataclass(frozen=True)
class DateBand:
    """Days on which an hour figure is reached: one in ten sooner than low, half by likely, nine in ten by high."""

    low: np.ndarray
    likely: np.ndarray
    high: np.ndarray


def hours_between(month_h, start, end):
    """Return the hours expected from the end of one day to the end of another.

    Law
    ---
    sum over months of (month's hours x share of the month inside)

    Parameters
    ----------
    month_h : array
        Hours by calendar month, one row for each question, n x 12 [h]
    start : array of datetime64[D]
        Day at whose end counting starts [date]
    end : array of datetime64[D]
        Day at whose end it stops; an earlier one gives hours below zero [date]

    Returns
    -------
    hours_h : array
        Hours expected; NaN where a day is missing [h]

    Examples
    --------
    >>> hours_between([[31] * 12], ["2026-07-10"], ["2026-07-31"]).tolist()
    [21.0]

    Source
    ------
    Common practice, no source.
    """
    month_h = np.atleast_2d(np.asarray(month_h, float))
    return _place(month_h, end) - _place(month_h, start)


def _place(month_h: np.ndarray, day) -> np.ndarray:
    """Return hours from the start of 1970 to the end of a day, each year alike; NaN where the day is missing."""
    day = np.atleast_1d(np.asarray(day, "datetime64[D]"))
    known = ~np.isnat(day)
    day = np.where(known, day, np.datetime64("1970-01-01"))
    month = day.astype("datetime64[M]")
    index = month.astype(int)
    inside = ((day - month.astype("datetime64[D]")).astype(int) + 1) / days_in_month(day)
    row = np.arange(len(month_h)) if len(month_h) == len(day) else np.zeros(len(day), int)
    before = np.cumsum(month_h, axis=1) - month_h
    in_year = before[row, index % 12] + month_h[row, index % 12] * inside
    return np.where(known, index // 12 * month_h.sum(axis=1)[row] + in_year, np.nan)


def day_reached(month_h, start, need_h):
    """Return the day within which so many more hours are run, counting from the end of a starting day.

    Law
    ---
    first day d with hours from start to the end of d >= hours needed

    Parameters
    ----------
    month_h : array
        Hours by calendar month, one row for each question, n x 12, or one row for all [h]
    start : array of datetime64[D]
        Day at whose end the counting starts [date]
    need_h : array
        Hours still to run; below zero gives the day in the past by the same months [h]

    Returns
    -------
    day : array of datetime64[D]
        Day reached; missing where something is missing or it takes more than twenty years [date]

    Examples
    --------
    166.9 h after 14 May, at a flat 480 h a year and by months (rest of May 12, June 30, July 95, August 160):

    >>> flat = [[480 * days / 365 for days in (31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)]]
    >>> day_reached(flat, ["2026-05-14"], [166.9])
    array(['2026-09-18'], dtype='datetime64[D]')
    >>> months = [[20, 20, 20, 20, 12 * 31 / 17, 30, 95, 160, 40, 20, 20, 13]]
    >>> day_reached(months, ["2026-05-14"], [166.9])
    array(['2026-08-06'], dtype='datetime64[D]')

    Source
    ------
    Common practice, no source; the worked case is invented.
    """
    month_h = np.atleast_2d(np.asarray(month_h, float))
    start, need_h = np.broadcast_arrays(np.atleast_1d(np.asarray(start, "datetime64[D]")), np.asarray(need_h, float))
    row = np.arange(len(month_h)) if len(month_h) == len(start) else np.zeros(len(start), int)
    month_h = month_h if len(month_h) == len(start) else month_h[row]
    year_h = month_h.sum(axis=1)
    usable = ~np.isnat(start) & (np.abs(need_h) <= MOST_YEARS * year_h) & (year_h > 0)
    aim = np.where(usable, _place(month_h, start) + need_h, 1.0)
    day = _day_of_place(month_h, np.where(year_h > 0, year_h, 1.0), aim)
    day = np.where(need_h > 0, np.maximum(day, start), np.minimum(day, start))
    passed = (need_h <= 0) & ~usable  # run already, nobody knows when: at the latest by the reading
    return np.where(usable | passed, np.where(usable, day, start), NO_DAY)


def _day_of_place(month_h: np.ndarray, year_h: np.ndarray, aim: np.ndarray) -> np.ndarray:
    slack = 1e-7  # a figure reached at midnight belongs to the day that ends
    years = np.floor((aim - slack) / year_h)
    rest = aim - slack - years * year_h
    ends = np.cumsum(month_h, axis=1)
    month = np.minimum((ends[:, :11] < rest[:, None]).sum(axis=1), 11)
    at = np.arange(len(aim))
    into, length_h = rest - (ends[at, month] - month_h[at, month]), month_h[at, month]
    first = (years.astype(int) * 12 + month).astype("datetime64[M]").astype("datetime64[D]")
    length = days_in_month(first)
    number = np.ceil(into / np.where(length_h > 0, length_h, 1) * length)
    return first + (np.clip(number, 1, length) - 1).astype(int)


def date_reached(table: UsageTable, machine, start, now_h, target_h) -> DateBand:
    """Return the days on which machines reach given life hours: low, likely and high.

    Law
    ---
    likely: hours needed; low and high: hours needed x exp(-/+ 1.28 x spread), spread^2 = machine^2 + 6 h / hours needed;
    a figure already passed has one day only

    Parameters
    ----------
    table : UsageTable
        Hours by month and spread of the fleet [-]
    machine : array of int
        Row of the machine for each question [-]
    start : array of datetime64[D]
        Day of the last reading [date]
    now_h : array
        Life hours at that reading [h]
    target_h : array
        Life hours asked about [h]

    Returns
    -------
    band : DateBand
        Days; missing where it cannot be said [date]

    Examples
    --------
    >>> table = UsageTable(np.full((1, 12), 30.0), np.array([0.2]), np.array([0]), np.array([365.0]))
    >>> band = date_reached(table, [0], ["2026-06-30"], [100], [190])
    >>> [str(day[0]) for day in (band.low, band.likely, band.high)]
    ['2026-08-31', '2026-09-30', '2026-11-17']

    Source
    ------
    Lognormal hours with a lump of one long working day; common practice, no source. Coverage is tried on made-up fleets.
    """
    machine = np.atleast_1d(np.asarray(machine, int))
    start = np.broadcast_to(np.asarray(start, "datetime64[D]"), machine.shape)
    need_h = np.broadcast_to(np.asarray(target_h, float) - np.asarray(now_h, float), machine.shape)
    month_h, spread = table.month_h[machine], table.spread[machine]
    step = np.where(need_h > 0, np.exp(Z_80 * np.sqrt(spread**2 + LUMP_H / np.maximum(need_h, 1.0))), 1.0)
    low, likely, high = (day_reached(month_h, start, need_h * factor) for factor in (1 / step, 1.0, step))
    return DateBand(low, likely, high)

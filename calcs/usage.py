"""Use of machines through the year: hours by calendar month from their readings.

A whole fleet is worked at once: one row a machine, twelve columns of hours. A reading stands at the end of its day.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

MONTH_DAYS = np.array([31, 28.25, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31])

# Shop defaults, editable: common practice, no source. Hours by month, temperate north.
KIND_MONTH_H = {
    "combine": (0, 0, 0, 0, 0, 10, 95, 130, 35, 25, 5, 0),
    "forage harvester": (0, 0, 0, 10, 70, 70, 60, 60, 110, 70, 5, 0),
    "windrower": (0, 0, 0, 5, 60, 90, 110, 90, 45, 5, 0, 0),
    "sprayer": (0, 5, 45, 95, 110, 80, 45, 30, 45, 45, 15, 0),
    "tractor": (30, 30, 55, 75, 75, 65, 75, 95, 85, 70, 40, 30),
    "loader": (60, 60, 75, 80, 75, 65, 65, 75, 80, 80, 65, 60),
    "mower": (0, 0, 10, 40, 70, 75, 70, 65, 50, 25, 5, 0),
    "other": (20, 20, 30, 40, 45, 45, 45, 45, 40, 35, 25, 20),
}
BASIS = ("own readings", "same kind, same customer", "same kind", "kind default")

# How fast records are believed over what is assumed; tried on made-up fleets in tests/bench, no source.
PRIOR_YEAR_H = 60.0
PRIOR_MONTH_DAYS = 30.0
PRIOR_GROUP_DAYS = 360.0
SPREAD_BETWEEN = 0.35
SPREAD_YEAR = 0.15
SPREAD_WEIGHT = 3.0


@dataclass(frozen=True)
class GapShares:
    """Hours and days of the gaps between readings, cut at month ends: one entry for each gap and month."""

    machine: np.ndarray
    month: np.ndarray  # months since January 1970
    hours: np.ndarray
    days: np.ndarray


@dataclass(frozen=True)
class UsageTable:
    """Hours expected of every machine in each calendar month (n x 12), how sure that is, and what it rests on."""

    month_h: np.ndarray
    spread: np.ndarray
    basis: np.ndarray
    days_seen: np.ndarray

    @property
    def year_h(self) -> np.ndarray:
        return self.month_h.sum(axis=1)


@dataclass(frozen=True)
class PooledRates:
    """Hours a day by month (rows x 12) and days seen, of each kind and of each group of machines alike."""

    kind_rate: np.ndarray
    kind_days: np.ndarray
    group_rate: np.ndarray
    group_days: np.ndarray


def split_gaps(machine, day, life_h, shape) -> GapShares:
    """Cut the hours between readings at month ends, each gap spread over its days with the shape of the year.

    Law
    ---
    hours in month = hours of gap x (days x weight of month) / sum over the gap of (days x weight)

    Parameters
    ----------
    machine : array of int
        Row of the machine for each reading [-]
    day : array of datetime64[D]
        Day of each reading [date]
    life_h : array
        Life hours at each reading, meter changes already joined [h]
    shape : array
        Weight of a day in each month, n machines x 12, above or equal zero [-]

    Returns
    -------
    shares : GapShares
        Hours and days by gap and month; gaps that run backwards are left out [h, days]

    Examples
    --------
    30 h between the ends of 21 April and 21 May, every day alike, are 9 h in April and 21 h in May:

    >>> shares = split_gaps([0, 0], ["2026-04-21", "2026-05-21"], [100, 130], np.ones((1, 12)))
    >>> shares.hours.tolist()
    [9.0, 21.0]

    Source
    ------
    Common practice, no source.
    """
    machine, day, life_h = np.asarray(machine, int), np.asarray(day, "datetime64[D]"), np.asarray(life_h, float)
    order = np.lexsort((life_h, day, machine))
    machine, day, life_h = machine[order], day[order], life_h[order]
    usable = (machine[1:] == machine[:-1]) & (day[1:] > day[:-1]) & (life_h[1:] >= life_h[:-1])
    at = np.flatnonzero(usable)
    first, last = (day[at] + 1).astype("datetime64[M]").astype(int), day[at + 1].astype("datetime64[M]").astype(int)
    count = last - first + 1
    gap = np.repeat(np.arange(at.size), count)
    month = first[gap] + np.arange(gap.size) - np.repeat(np.cumsum(count) - count, count)
    days = _days_of_gap_in_month(day[at][gap], day[at + 1][gap], month)
    weight = days * np.maximum(np.asarray(shape, float)[machine[at][gap], month % 12], 1e-9)
    share = weight / np.bincount(gap, weight, at.size)[gap]
    return GapShares(machine[at][gap], month, share * (life_h[at + 1] - life_h[at])[gap], days)


def _days_of_gap_in_month(start, end, month) -> np.ndarray:
    """Return how many days of (start, end] lie in each month."""
    eve = month.astype("datetime64[M]").astype("datetime64[D]") - 1
    close = (month + 1).astype("datetime64[M]").astype("datetime64[D]") - 1
    return (np.minimum(end, close) - np.maximum(start, eve)).astype(float)


def usage_table(machine, day, life_h, kind, customer, kind_month_h) -> UsageTable:
    """Return the hours expected of every machine in each month, from its own readings first, then its like, then its kind.

    Law
    ---
    rate = (hours seen + weight x rate of the next wider group) / (days seen + weight), group by group

    Parameters
    ----------
    machine : array of int
        Row of the machine for each reading [-]
    day : array of datetime64[D]
        Day of each reading [date]
    life_h : array
        Life hours at each reading [h]
    kind : array of int
        Kind of each machine, a row of `kind_month_h`; length n [-]
    customer : array of int
        Customer of each machine, from zero; length n [-]
    kind_month_h : array
        Hours by month assumed for each kind where nothing is known, kinds x 12 [h]

    Returns
    -------
    table : UsageTable
        Hours by month, relative spread, basis (index into BASIS) and days seen [h, -, -, days]

    Examples
    --------
    A machine nobody has read is expected to run as its kind does:

    >>> table = usage_table([], [], [], [0], [0], [[10] * 12])
    >>> float(table.year_h[0]), BASIS[table.basis[0]]
    (120.0, 'kind default')

    Source
    ------
    Gamma-Poisson shrinkage as in A. Gelman et al., Bayesian Data Analysis, 3rd ed., section 2.7 (from memory); weights are our own.
    """
    kind, customer = np.asarray(kind, int), np.asarray(customer, int)
    group = np.unique(kind * (customer.max(initial=0) + 1) + customer, return_inverse=True)[1]
    return usage_in_pool(machine, day, life_h, kind, group, pooled_rates(machine, day, life_h, kind, group, kind_month_h))


def pooled_rates(machine, day, life_h, kind, group, kind_month_h) -> PooledRates:
    """Return what machines of a kind, and of one customer's kind, run a day in each month.

    Law
    ---
    rate = (hours seen + weight x rate of the next wider group) / (days seen + weight)

    Parameters
    ----------
    machine : array of int
        Row of the machine for each reading [-]
    day : array of datetime64[D]
        Day of each reading [date]
    life_h : array
        Life hours at each reading [h]
    kind : array of int
        Kind of each machine, a row of `kind_month_h` [-]
    group : array of int
        Group of each machine, from zero; all of a group are of one kind [-]
    kind_month_h : array
        Hours by month assumed for each kind where nothing is known, kinds x 12 [h]

    Returns
    -------
    rates : PooledRates
        Hours a day by month and days seen, of kinds and of groups [h, days]

    Examples
    --------
    >>> rates = pooled_rates([], [], [], [0], [0], [[31] * 12])
    >>> float(rates.group_rate[0, 0]), float(rates.group_days[0])
    (1.0, 0.0)

    Source
    ------
    Gamma-Poisson shrinkage as in A. Gelman et al., Bayesian Data Analysis, 3rd ed., section 2.7 (from memory); weights are our own.
    """
    kind, group = np.asarray(kind, int), np.asarray(group, int)
    default = np.maximum(np.asarray(kind_month_h, float), 0) / MONTH_DAYS
    shares = split_gaps(machine, day, life_h, (default + 0.01 * default.mean(axis=1, keepdims=True))[kind])
    kind_rate, kind_days = _pooled(shares, kind, default)
    kind_of_group = np.zeros(group.max(initial=-1) + 1, int)
    kind_of_group[group] = kind
    return PooledRates(kind_rate, kind_days, *_pooled(shares, group, kind_rate[kind_of_group]))


def usage_in_pool(machine, day, life_h, kind, group, rates: PooledRates) -> UsageTable:
    """Return the hours expected of some machines in each month, leaning on rates learnt from the whole fleet.

    Law
    ---
    rate = (hours seen + weight x rate of the group) / (days seen + weight)

    Parameters
    ----------
    machine : array of int
        Row of the machine for each reading [-]
    day : array of datetime64[D]
        Day of each reading [date]
    life_h : array
        Life hours at each reading [h]
    kind : array of int
        Kind of each machine; length n [-]
    group : array of int
        Group of each machine in the rates; -1 leans on its kind alone [-]
    rates : PooledRates
        What the whole fleet taught [h, days]

    Returns
    -------
    table : UsageTable
        Hours by month, relative spread, basis and days seen [h, -, -, days]

    Examples
    --------
    >>> rates = pooled_rates([], [], [], [0], [0], [[10] * 12])
    >>> round(float(usage_in_pool([], [], [], [0], [-1], rates).year_h[0]), 9)
    120.0

    Source
    ------
    Gamma-Poisson shrinkage as in A. Gelman et al., Bayesian Data Analysis, 3rd ed., section 2.7 (from memory); weights are our own.
    """
    kind, group = np.asarray(kind, int), np.asarray(group, int)
    known = group >= 0
    like = np.where(known[:, None], rates.group_rate[group], rates.kind_rate[kind]) if len(rates.group_rate) else rates.kind_rate[kind]
    like_days = np.where(known, rates.group_days[group], 0.0) if len(rates.group_days) else np.zeros(kind.size)
    again = split_gaps(machine, day, life_h, like + 0.01 * like.mean(axis=1, keepdims=True))
    own_h, own_days = _by_month(again, np.arange(kind.size), kind.size)
    rate, expected_h = _own_rate(own_h, own_days, like)
    days_seen = own_days.sum(axis=1)
    basis = np.select([days_seen >= 60, like_days >= 180, rates.kind_days[kind] >= 360], [0, 1, 2], 3)
    return UsageTable(rate * MONTH_DAYS, _spread(again, rate, expected_h), basis, days_seen)


def _by_month(shares: GapShares, row_of_machine: np.ndarray, rows: int) -> tuple[np.ndarray, np.ndarray]:
    cell = row_of_machine[shares.machine] * 12 + shares.month % 12
    hours, days = (np.bincount(cell, weight, rows * 12).reshape(rows, 12) for weight in (shares.hours, shares.days))
    return hours, days


def _pooled(shares: GapShares, row_of_machine: np.ndarray, wider_rate: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Return the hours a day of each group by month, leaning on the wider rate where little was seen, and days seen."""
    hours, days = _by_month(shares, row_of_machine, len(wider_rate))
    weight = PRIOR_GROUP_DAYS / 12
    return (hours + weight * wider_rate) / (days + weight), days.sum(axis=1)


def _own_rate(own_h, own_days, like_rate) -> tuple[np.ndarray, np.ndarray]:
    """Return hours a day by machine and month: the level of its group moved to its own level, then its own months."""
    expected_h = (own_days * like_rate).sum(axis=1)
    level = (own_h.sum(axis=1) + PRIOR_YEAR_H) / (expected_h + PRIOR_YEAR_H)
    prior = like_rate * level[:, None]
    return (own_h + PRIOR_MONTH_DAYS * prior) / (own_days + PRIOR_MONTH_DAYS), expected_h


def _spread(shares: GapShares, rate: np.ndarray, expected_h: np.ndarray) -> np.ndarray:
    """Return the relative spread of a machine's hours: how its years differ, and how little of it was seen."""
    n = len(rate)
    between = SPREAD_BETWEEN**2 * PRIOR_YEAR_H / (PRIOR_YEAR_H + expected_h)
    if not shares.month.size:
        return np.sqrt(SPREAD_YEAR**2 + between)
    year = shares.month // 12 - shares.month.min() // 12
    years = int(year.max()) + 1
    cell = shares.machine * years + year
    seen, days = (np.bincount(cell, weight, n * years) for weight in (shares.hours, shares.days))
    fitted = np.bincount(cell, shares.days * rate[shares.machine, shares.month % 12], n * years)
    counts = (days >= 90) & (fitted >= 30)
    miss = np.where(counts, np.log((seen + 5) / (fitted + 5)), 0).reshape(n, years)
    number = counts.reshape(n, years).sum(axis=1)
    grown = number / np.maximum(number - 1, 1)  # the years fitted themselves
    own = np.where(number > 1, (miss**2).sum(axis=1) * grown, 0)
    weight = np.where(number > 1, number, 0)
    return np.sqrt((own + SPREAD_WEIGHT * SPREAD_YEAR**2) / (weight + SPREAD_WEIGHT) + between)

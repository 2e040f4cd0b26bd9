"""What a shop can hold week by week: technicians' hours by skill, bays by door height, less a reserve for breakdowns."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import combinations

import numpy as np

RESERVE = {"season": 0.40, "winter": 0.10}  # shop defaults: common practice, no source
MOST_SKILLS_IN_FULL = 6
DAYS_PER_WEEK = 5  # working days: common practice, no source


@dataclass(frozen=True)
class Technician:
    """A pair of hands: skills, hours free in each week after leave and what is booked already, and the days of leave."""

    name: str
    skills: frozenset[str]
    week_h: tuple[float, ...]
    away: frozenset[date] = frozenset()


@dataclass(frozen=True)
class Bay:
    """A place under the roof with its door, and the days on which a machine stands in it already."""

    name: str
    door_height_m: float
    taken: frozenset[date] = frozenset()


@dataclass(frozen=True)
class ShopWeeks:
    """The shop over a run of weeks; `mondays` are their first days, `reserve` the share held back for breakdowns in each."""

    mondays: tuple[date, ...]
    technicians: tuple[Technician, ...]
    bays: tuple[Bay, ...] = ()
    reserve: tuple[float, ...] = ()

    def __post_init__(self):
        for technician in self.technicians:
            if len(technician.week_h) != len(self.mondays):
                raise ValueError(f"week_h must have one figure for each of {len(self.mondays)} weeks, got {technician}")
        if self.reserve and (len(self.reserve) != len(self.mondays) or not all(0 <= share < 1 for share in self.reserve)):
            raise ValueError(f"reserve must be one share from 0 to below 1 for each week, got {self.reserve}")

    @property
    def fridays(self) -> tuple[date, ...]:
        return tuple(monday + timedelta(days=4) for monday in self.mondays)

    @property
    def skills(self) -> tuple[str, ...]:
        return tuple(sorted({skill for technician in self.technicians for skill in technician.skills}))


@dataclass(frozen=True)
class Limits:
    """Limits of every week: hours by group of skills, then bay days by door height. `room` is rows x weeks."""

    skill_groups: tuple[frozenset[str], ...]
    door_heights_m: tuple[float, ...]
    room: np.ndarray

    @property
    def names(self) -> tuple[str, ...]:
        hours = tuple("hours of " + " or ".join(sorted(group)) for group in self.skill_groups)
        return hours + tuple(f"bay days behind a door of {height:g} m or more" for height in self.door_heights_m)


def limits_of(shop: ShopWeeks) -> Limits:
    """Return the limits of every week, so that work of many skills fits technicians who have more than one.

    Law
    ---
    for every group of skills: hours of jobs that need one of them <= hours of technicians who have one of them

    Parameters
    ----------
    shop : ShopWeeks
        Technicians, bays, reserve [h, m]

    Returns
    -------
    limits : Limits
        One row a group of skills, the last of them all skills, then one row a door height [h, days]

    Examples
    --------
    >>> hands = (Technician("A", frozenset({"test"}), (40,)), Technician("B", frozenset({"test", "reseal"}), (30,)))
    >>> limits = limits_of(ShopWeeks((date(2026, 1, 5),), hands, (), (0.1,)))
    >>> dict(zip(limits.names, limits.room[:, 0].tolist()))
    {'hours of reseal': 27.0, 'hours of test': 63.0, 'hours of reseal or test': 63.0}

    Source
    ------
    P. Hall, On Representatives of Subsets, Journal of the London Mathematical Society 10 (1935), in the form for divisible hours.
    """
    weeks = len(shop.mondays)
    kept = 1 - np.array(shop.reserve or (0.0,) * weeks)
    groups = _skill_groups(shop.skills)
    hours = [sum((np.array(t.week_h) for t in shop.technicians if t.skills & group), np.zeros(weeks)) for group in groups]
    heights = tuple(sorted({bay.door_height_m for bay in shop.bays}))
    days = [sum((_free_days(bay, shop) for bay in shop.bays if bay.door_height_m >= height), np.zeros(weeks)) for height in heights]
    room = np.concatenate([np.array(hours).reshape(-1, weeks), np.array(days).reshape(-1, weeks)]) * kept
    return Limits(groups, heights, room)


def _free_days(bay: Bay, shop: ShopWeeks) -> np.ndarray:
    return np.array([sum(day not in bay.taken for day in days_of(monday)) for monday in shop.mondays], float)


def days_of(monday: date) -> list[date]:
    """Return the working days of a week.

    Parameters
    ----------
    monday : date
        First day of the week [-]

    Returns
    -------
    days : list of date
        Monday to Friday [-]

    Examples
    --------
    >>> [day.day for day in days_of(date(2026, 1, 5))]
    [5, 6, 7, 8, 9]

    Source
    ------
    Common practice, no source.
    """
    return [monday + timedelta(days=day) for day in range(DAYS_PER_WEEK)]


def _skill_groups(skills: Sequence[str]) -> tuple[frozenset[str], ...]:
    """Return all groups of skills, the whole one last; single skills and the whole one where there are very many."""
    sizes = range(1, len(skills)) if len(skills) <= MOST_SKILLS_IN_FULL else (1,)
    return tuple(frozenset(group) for size in sizes for group in combinations(skills, size)) + (frozenset(skills),)

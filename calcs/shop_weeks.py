"""What a shop can hold week by week: technicians' hours by skill, bays by door height, less a reserve for breakdowns."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import combinations

import numpy as np

RESERVE = {"season": 0.40, "winter": 0.10}  # shop defaults: common practice, no source
MOST_SKILLS_IN_FULL = 6
BAY_DAYS_PER_WEEK = 5.0


@dataclass(frozen=True)
class Technician:
    """A pair of hands: skills, and hours free in each week after leave and what is booked already."""

    name: str
    skills: frozenset[str]
    week_h: tuple[float, ...]


@dataclass(frozen=True)
class Bay:
    """A place under the roof with its door."""

    name: str
    door_height_m: float


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
    days = [BAY_DAYS_PER_WEEK * sum(bay.door_height_m >= height for bay in shop.bays) for height in heights]
    room = np.concatenate([np.array(hours).reshape(-1, weeks), np.outer(days, np.ones(weeks)).reshape(-1, weeks)]) * kept
    return Limits(groups, heights, room)


def _skill_groups(skills: Sequence[str]) -> tuple[frozenset[str], ...]:
    """Return all groups of skills, the whole one last; single skills and the whole one where there are very many."""
    sizes = range(1, len(skills)) if len(skills) <= MOST_SKILLS_IN_FULL else (1,)
    return tuple(frozenset(group) for size in sizes for group in combinations(skills, size)) + (frozenset(skills),)

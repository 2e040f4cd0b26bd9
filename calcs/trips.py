"""Trips: jobs of one place share a drive where the same hands do them; other skills drive for themselves."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from calcs.jobs import Job
from calcs.shop_weeks import Limits, ShopWeeks


def skills_by_rarity(shop: ShopWeeks) -> tuple[str, ...]:
    """Return the skills of a shop, those fewest technicians have first.

    Parameters
    ----------
    shop : ShopWeeks
        The technicians [-]

    Returns
    -------
    skills : tuple of str
        Rarest first, alike ones by name [-]

    Examples
    --------
    >>> from calcs.shop_weeks import Technician
    >>> hands = (Technician("A", frozenset({"test"}), ()), Technician("B", frozenset({"test", "reseal"}), ()))
    >>> skills_by_rarity(ShopWeeks((), hands))
    ('reseal', 'test')

    Source
    ------
    Common practice, no source.
    """
    return tuple(sorted(shop.skills, key=lambda skill: (sum(skill in t.skills for t in shop.technicians), skill)))


def trip_of_jobs(jobs: Sequence[Job], shop: ShopWeeks) -> dict[str, tuple[str, str]]:
    """Return the trip of each job: its place, and the skill or the skills that always come in the same pair of hands.

    Parameters
    ----------
    jobs : sequence of Job
        The jobs [-]
    shop : ShopWeeks
        The technicians [-]

    Returns
    -------
    trips : dict
        Place and first of the skills by name of the job [-]

    Examples
    --------
    Everyone who reseals also tests and the other way round, so both jobs are one trip; controls are another:

    >>> from datetime import date
    >>> from calcs.shop_weeks import Technician
    >>> hands = (Technician("A", frozenset({"test", "reseal"}), ()), Technician("B", frozenset({"controls"}), ()))
    >>> jobs = [Job(skill, "Hill Farm", skill, 2, date(2026, 1, 9)) for skill in ("test", "reseal", "controls")]
    >>> {name: skill for name, (_, skill) in trip_of_jobs(jobs, ShopWeeks((), hands)).items()}
    {'test': 'reseal', 'reseal': 'reseal', 'controls': 'controls'}

    Source
    ------
    Common practice, no source. Where only some hands have both skills two drives are reckoned with; sparing one is a gain of the day.
    """
    holders = {skill: frozenset(t.name for t in shop.technicians if skill in t.skills) for skill in shop.skills}
    first = {skill: min(other for other in holders if holders[other] == holders[skill]) for skill in holders}
    return {job.name: (job.place, first.get(job.skill, job.skill)) for job in jobs}


def visit_hours(jobs: Sequence[Job]) -> dict[str, float]:
    """Return the hours of one drive to each place and back: the most any of its jobs names.

    Parameters
    ----------
    jobs : sequence of Job
        The jobs [-]

    Returns
    -------
    hours : dict
        Hours by place [h]

    Examples
    --------
    >>> from datetime import date
    >>> visit_hours([Job("A", "Hill Farm", "test", 2, date(2026, 1, 9), visit_h=1.5), Job("B", "Hill Farm", "test", 2, date(2026, 1, 9))])
    {'Hill Farm': 1.5}

    Source
    ------
    Common practice, no source.
    """
    hours: dict[str, float] = {}
    for job in jobs:
        hours[job.place] = max(hours.get(job.place, 0.0), job.visit_h)
    return hours


def drive_needs(skills: Sequence[str], visit_h: Sequence[float], limits: Limits) -> np.ndarray:
    """Return what a drive takes of each row of limits: the hours of those who have the skill of its trip.

    Parameters
    ----------
    skills : sequence of str
        Skill of each trip [-]
    visit_h : sequence of float
        Hours of each drive [h]
    limits : Limits
        Rows of hours and bay days [-]

    Returns
    -------
    needs : array
        Trips x rows [h]

    Examples
    --------
    >>> drive_needs(["test"], [1.5], Limits((frozenset({"reseal"}), frozenset({"test", "reseal"})), (4.0,), np.ones((3, 1)))).tolist()
    [[0.0, 1.5, 0.0]]

    Source
    ------
    Common practice, no source.
    """
    rows = [[skill in group for group in limits.skill_groups] + [False] * len(limits.door_heights_m) for skill in skills]
    return np.array(rows, float) * np.array(visit_h, float)[:, None]

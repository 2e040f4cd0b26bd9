"""Weeks as they are booked, judged as a plan is: what is used, what there is, and which weeks hold too much."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from calcs.calendar_sums import day_words
from calcs.jobs import Job, needs
from calcs.plan import Plan
from calcs.shop_weeks import ShopWeeks, limits_of
from calcs.thousands import grouped
from calcs.trips import drive_needs, trip_of_jobs, visit_hours

ROUNDING = 1e-3


def plan_as_booked(jobs: Sequence[Job], week_of: Mapping[str, int], shop: ShopWeeks) -> Plan:
    """Return bookings as a plan without choosing anything: hours and bay days used, visits, overbooked weeks.

    Law
    ---
    used = work of the week's jobs + one drive for each place and pair of hands

    Parameters
    ----------
    jobs : sequence of Job
        The jobs booked [-]
    week_of : mapping
        Week of each job by name [-]
    shop : ShopWeeks
        Weeks, technicians, bays, reserve [-]

    Returns
    -------
    plan : Plan
        With no cost and no bound: nothing was chosen [h]

    Examples
    --------
    >>> from datetime import date
    >>> from calcs.shop_weeks import Technician
    >>> shop = ShopWeeks((date(2026, 1, 5),), (Technician("A", frozenset({"test"}), (4,)),))
    >>> plan_as_booked([Job("Filter", "Hill Farm", "test", 3, date(2026, 1, 9), visit_h=2)], {"Filter": 0}, shop).overbooked
    ('week of 5 Jan: 1 hours of test too many',)

    Source
    ------
    Common practice, no source.
    """
    limits = limits_of(shop)
    used, visits, driven = np.zeros_like(limits.room), {}, set()
    way_h, trips = visit_hours(jobs), trip_of_jobs(jobs, shop)
    for job, need in zip(jobs, needs(jobs, limits), strict=True) if jobs else ():
        used[:, week_of[job.name]] += need
        driven.add((trips[job.name], week_of[job.name]))
    for (place, skill), week in sorted(driven):
        used[:, week] += drive_needs([skill], [way_h[place]], limits)[0]
        visits[place, week] = visits.get((place, week), 0.0) + way_h[place]
    over = [
        f"week of {day_words(shop.mondays[week])}: {grouped(used[row, week] - limits.room[row, week])} {limits.names[row]} too many"
        for row, week in np.argwhere(used - limits.room > ROUNDING)
    ]
    return Plan(dict(week_of), {}, 0.0, 0.0, visits, tuple(over), used, limits.room, limits.names, "as booked")

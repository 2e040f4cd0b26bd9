"""Weeks as booked hold the same sums as a plan in which every job is pinned where it is."""

from dataclasses import replace
from datetime import date, timedelta

import numpy as np

from calcs.booked import plan_as_booked
from calcs.jobs import Job
from calcs.plan import make_plan
from calcs.shop_weeks import ShopWeeks, Technician

MONDAYS = tuple(date(2026, 1, 5) + timedelta(days=7 * k) for k in range(3))
SHOP = ShopWeeks(MONDAYS, (Technician("A", frozenset({"test"}), (10, 10, 10)), Technician("B", frozenset({"reseal"}), (8, 8, 8))))


def jobs() -> list[Job]:
    return [Job(f"J{k}", f"Farm {k % 3}", ("test", "reseal")[k % 2], 2 + k, date(2026, 1, 16), visit_h=1 + k % 3) for k in range(6)]


def test_what_is_used_and_driven_is_what_a_plan_of_pinned_jobs_says():
    week_of = {f"J{k}": k % 3 for k in range(6)}
    pinned = [replace(job, pinned_week=week_of[job.name]) for job in jobs()]
    planned, booked = make_plan(pinned, SHOP), plan_as_booked(jobs(), week_of, SHOP)
    np.testing.assert_allclose(booked.used, planned.used)
    assert (booked.visits, booked.overbooked, booked.limit_names) == (planned.visits, planned.overbooked, planned.limit_names)


def test_nothing_booked_uses_nothing():
    booked = plan_as_booked([], {}, SHOP)
    assert booked.used.sum() == 0
    assert booked.overbooked == ()

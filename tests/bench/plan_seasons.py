"""The plan against first come, first served and against earliest due first, on made-up seasons.

Run: python tests/bench/plan_seasons.py [seasons] [jobs] [load] [seconds]
The days on which tasks truly fall due differ from the forecast; all three ways are judged by the true days.
"""

import argparse
import sys
import time
from datetime import date, timedelta
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[2]))

from calcs.jobs import Job, needs, why_not
from calcs.plan import cost_of_plan, make_plan
from calcs.season import Block
from calcs.shop_weeks import Bay, ShopWeeks, Technician, limits_of
from calcs.trips import drive_needs, trip_of_jobs
from calcs.week_days import days_of_plan

START, WEEKS = date(2026, 3, 2), 12
SKILLS = ("test", "reseal", "controls")
HARVEST_DAYS = (50, 84)


def made_up_season(rng: np.random.Generator, number: int, load: float) -> tuple[list[Job], ShopWeeks, np.ndarray]:
    """Return jobs, shop and the true due days: a third of machines goes into its season within the twelve weeks."""
    places = max(number // 5, 2)
    visit_h = np.round(rng.uniform(0.5, 3.0, places), 1)
    season_start = rng.integers(*HARVEST_DAYS, places)
    has_season = rng.random(places) < 0.35
    jobs = [_made_up_job(rng, i, int(rng.integers(places)), visit_h, season_start, has_season) for i in range(number)]
    hands = [hand for skill in SKILLS for hand in _hands(skill, sum(job.hours for job in jobs if job.skill == skill), load)]
    bays = tuple(Bay(f"B{i}", height) for i, height in enumerate((3.8, 3.8, 4.2, 4.6)[: max(2, number // 125)]))
    shop = ShopWeeks(tuple(START + timedelta(weeks=w) for w in range(WEEKS)), tuple(hands), bays, (0.15,) * WEEKS)
    true = np.array([(job.due - START).days for job in jobs]) + np.round(rng.normal(0, 8, number)).astype(int)
    return jobs, shop, true


def _hands(skill: str, wanted_h: float, load: float) -> list[Technician]:
    """Return technicians whose hours, less a reserve of 15 %, are the hours wanted with a fifth for travel, divided by the load."""
    week_h = wanted_h * 1.2 / load / WEEKS / 0.85
    number = max(round(week_h / 38), 1)
    return [Technician(f"{skill} {i}", frozenset({skill, "test"}), (week_h / number,) * WEEKS) for i in range(number)]


def _made_up_job(rng, i, place, visit_h, season_start, has_season) -> Job:
    due_day = int(rng.integers(0, WEEKS * 7))
    indoors = rng.random() < 0.12
    start = START + timedelta(days=int(season_start[place]))
    blocks = (Block("harvest", start, start + timedelta(days=45)),) if has_season[place] else ()
    due = START + timedelta(days=due_day)
    return Job(
        name=f"job {i:04d}",
        place=f"place {place:03d}",
        skill=str(rng.choice(SKILLS, p=(0.5, 0.3, 0.2))),
        hours=float(np.round(rng.gamma(3, 1.2) + 0.5, 1)),
        due=min(due, start - timedelta(days=3)) if blocks else due,
        earliest=due - timedelta(days=45),
        late=due + timedelta(days=30),
        visit_h=float(visit_h[place]),
        overdue_h_per_day=float(rng.choice([0.1, 0.3, 0.8])),
        waste_h_per_day=float(rng.uniform(0.01, 0.05)),
        door_height_m=float(rng.choice([3.5, 4.0, 4.4])) if indoors else None,
        bay_days=float(rng.integers(1, 3)) if indoors else 0.0,
        parts_on=START + timedelta(days=int(rng.integers(0, 30))) if rng.random() < 0.2 else None,
        blocks=blocks,
    )


def in_order(jobs: list[Job], shop: ShopWeeks, key) -> dict[str, int]:
    """Return weeks by taking jobs one after another, each into the first week that has room."""
    limits, trips = limits_of(shop), trip_of_jobs(jobs, shop)
    left, week_of, visited = limits.room.copy(), {}, set()
    for job, need in sorted(zip(jobs, needs(jobs, limits), strict=True), key=lambda pair: key(pair[0])):
        for week in range(len(shop.mondays)):
            trip = trips[job.name]
            take = need + drive_needs([trip[1]], [job.visit_h], limits)[0] * ((trip, week) not in visited)
            if not why_not(job, shop, week) and (take <= left[:, week] + 1e-6).all():
                left[:, week] -= take
                visited.add((trip, week))
                week_of[job.name] = week
                break
    return week_of


def judged(jobs: list[Job], shop: ShopWeeks, true: np.ndarray, week_of: dict[str, int]) -> tuple[float, int, float, int]:
    """Return hours run overdue (at 4 h a day), machines stopped in harvest, travel hours, jobs left out."""
    overdue_h, stopped, visits, trips = 0.0, set(), {}, trip_of_jobs(jobs, shop)
    for job, due_day in zip(jobs, true, strict=True):
        week = week_of.get(job.name)
        done_day = (shop.fridays[week] - START).days if week is not None else WEEKS * 7 + 30
        overdue_h += 4.0 * max(0, done_day - due_day)
        if week is not None:
            visits[trips[job.name], week] = job.visit_h
        in_block = [b for b in job.blocks if (b.start - START).days <= due_day + 20 and done_day >= (b.start - START).days]
        if in_block and done_day - due_day > 10:
            stopped.add(job.place)
    return overdue_h, len(stopped), sum(visits.values()), len(jobs) - len(week_of)


if __name__ == "__main__":
    words = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    for name, usual in (("seasons", 3), ("jobs", 500), ("load", 0.9), ("seconds", 30)):
        words.add_argument(name, type=float, nargs="?", default=usual)
    seasons, number, load, seconds = vars(words.parse_args()).values()
    print("season way             overdue h  harvest stops  travel h  left out   cost h    gap      s  cpu s")
    for season in range(int(seasons)):
        jobs, shop, true = made_up_season(np.random.default_rng(season), int(number), load)
        start, worked = time.perf_counter(), time.process_time()
        ends = start + seconds - 7
        plan = make_plan(jobs, shop, lambda ends=ends: ends - time.perf_counter())
        spent, worked = time.perf_counter() - start, time.process_time() - worked
        ways = {
            "first come": in_order(jobs, shop, key=lambda job: (job.earliest, job.name)),
            "earliest due": in_order(jobs, shop, key=lambda job: (job.due, job.name)),
            "plan": plan.week_of,
        }
        for way, week_of in ways.items():
            told = f"{plan.cost_h:8.1f} {plan.gap:6.1%} {spent:6.1f} {worked:6.1f} {plan.stopped}" if way == "plan" else ""
            print("{:6d} {:14} {:10.0f} {:14d} {:9.0f} {:9d} {}".format(season, way, *judged(jobs, shop, true, week_of), told))
        start = time.perf_counter()
        days = days_of_plan(jobs, plan.week_of, shop)
        spent, cost_h = time.perf_counter() - start, cost_of_plan(jobs, shop, days.week_of)
        print(
            "{:6d} {:14} {:10.0f} {:14d} {:9.0f} {:9d} ".format(season, "plan by days", *judged(jobs, shop, true, days.week_of))
            + f"{cost_h:8.1f} {1 - plan.bound_h / cost_h:6.1%} {spent:6.1f}  {len(days.moved)} of {len(jobs)} jobs in another week"
        )

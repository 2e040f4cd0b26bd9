"""Jobs to be planned: what each asks of a week, what each week costs it, and why a job fits in none."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from calcs.calendar_sums import day_words
from calcs.season import Block
from calcs.shop_weeks import Limits, ShopWeeks
from calcs.thousands import grouped

NEVER = np.inf
LATE_TIMES = 3.0  # a day over the late limit weighs three days overdue: common practice, no source
FEWEST_FREE_DAYS = 3


@dataclass(frozen=True)
class Job:
    """Work on one machine at one place. Costs are in hours of labour, so that they can be set against travel."""

    name: str
    place: str
    skill: str
    hours: float
    due: date
    earliest: date | None = None
    late: date | None = None
    visit_h: float = 0.0
    overdue_h_per_day: float = 0.1
    waste_h_per_day: float = 0.01
    door_height_m: float | None = None
    bay_days: float = 0.0
    parts_on: date | None = None
    blocks: tuple[Block, ...] = ()
    pinned_week: int | None = None


def week_costs(jobs: Sequence[Job], shop: ShopWeeks) -> np.ndarray:
    """Return what doing each job in each week costs, in hours of labour, done by the Friday; infinite where it cannot be.

    Law
    ---
    cost = overdue rate x (days overdue + 2 x days over the late limit) + waste rate x days before due

    Parameters
    ----------
    jobs : sequence of Job
        The jobs [-]
    shop : ShopWeeks
        The weeks [-]

    Returns
    -------
    cost_h : array
        Jobs x weeks; a pinned job has its own week only [h]

    Examples
    --------
    >>> shop = ShopWeeks((date(2026, 1, 5), date(2026, 1, 12)), ())
    >>> week_costs([Job("Filter", "Hill Farm", "test", 2, due=date(2026, 1, 9))], shop).round(2).tolist()
    [[0.0, 0.7]]

    Source
    ------
    Common practice, no source.
    """
    fridays = np.array(shop.fridays, "datetime64[D]")
    due = np.array([job.due for job in jobs], "datetime64[D]")[:, None]
    late = np.array([job.late or date.max for job in jobs], "datetime64[D]")[:, None]
    past = np.maximum((fridays - due).astype(float), 0)
    before = np.maximum((due - fridays).astype(float), 0)
    over = np.maximum((fridays - np.maximum(late, due)).astype(float), 0)
    overdue_rate, waste_rate = (np.array([getattr(job, n) for job in jobs])[:, None] for n in ("overdue_h_per_day", "waste_h_per_day"))
    cost = overdue_rate * (past + (LATE_TIMES - 1) * over) + waste_rate * before
    return np.where(np.array([[_allowed(job, shop, week) for week in range(len(fridays))] for job in jobs]), cost, NEVER)


def _allowed(job: Job, shop: ShopWeeks, week: int) -> bool:
    if job.pinned_week is not None:
        return week == job.pinned_week
    return not why_not(job, shop, week)


def why_not(job: Job, shop: ShopWeeks, week: int) -> list[str]:
    """Return what forbids a job in a week, capacity left aside; empty where nothing does.

    Parameters
    ----------
    job : Job
        The job [-]
    shop : ShopWeeks
        The weeks [-]
    week : int
        Number of the week, from zero [-]

    Returns
    -------
    reasons : list of str
        In words [-]

    Examples
    --------
    >>> from calcs.shop_weeks import Technician, limits_of
    >>> shop = ShopWeeks((date(2026, 1, 5),), (Technician("A", frozenset({"test"}), (40,)),))
    >>> why_not(Job("Filter", "Hill Farm", "test", 2, due=date(2026, 1, 9), parts_on=date(2026, 1, 8)), shop, 0)
    ['parts come on 8 Jan']

    Source
    ------
    Common practice, no source.
    """
    monday, friday = shop.mondays[week], shop.fridays[week]
    reasons = [f"season block {block.name}" for block in job.blocks if _free_days(monday, block) < FEWEST_FREE_DAYS]
    if job.parts_on is not None and job.parts_on > monday:
        reasons.append(f"parts come on {day_words(job.parts_on)}")
    if job.earliest is not None and job.earliest > friday:
        reasons.append(f"not before {day_words(job.earliest)}")
    return reasons + _never_fits(job, shop)


def _free_days(monday: date, block: Block) -> int:
    return sum(not block.start <= monday + timedelta(days=day) <= block.end for day in range(5))


def _never_fits(job: Job, shop: ShopWeeks) -> list[str]:
    reasons = []
    if shop.technicians and job.skill not in shop.skills:
        reasons.append(f"nobody has the skill {job.skill}")
    tallest = max((bay.door_height_m for bay in shop.bays), default=0.0)
    if job.bay_days and (job.door_height_m or 0.0) > tallest:
        reasons.append(f"needs a door of {job.door_height_m:g} m, the tallest is {tallest:g} m")
    return reasons


def needs(jobs: Sequence[Job], limits: Limits) -> np.ndarray:
    """Return how much of each row of limits each job takes up in the week it is done.

    Parameters
    ----------
    jobs : sequence of Job
        The jobs [-]
    limits : Limits
        Rows of hours and bay days [-]

    Returns
    -------
    needs : array
        Jobs x rows [h, days]

    Examples
    --------
    >>> limits = Limits((frozenset({"test"}),), (4.0, 5.0), np.ones((3, 1)))
    >>> needs([Job("Pump", "shop", "test", 6, date(2026, 1, 9), door_height_m=4.2, bay_days=2)], limits).tolist()
    [[6.0, 2.0, 2.0]]

    Source
    ------
    A job behind a tall door takes room from every limit for lower doors too: common practice, no source.
    """
    hours = [[job.hours * (job.skill in group) for group in limits.skill_groups] for job in jobs]
    below = (-np.inf, *limits.door_heights_m)[: len(limits.door_heights_m)]
    days = [[job.bay_days * ((job.door_height_m or 0.0) > height) for height in below] for job in jobs]
    return np.concatenate([np.array(hours, float).reshape(len(jobs), -1), np.array(days, float).reshape(len(jobs), -1)], axis=1)


def why_unplaced(job: Job, shop: ShopWeeks, limits: Limits, room_left: np.ndarray, drive: np.ndarray | float = 0.0) -> str:
    """Return in words why a job found no week.

    Parameters
    ----------
    job : Job
        The job [-]
    shop : ShopWeeks
        The weeks [-]
    limits : Limits
        Rows of limits [h, days]
    room_left : array
        What the plan leaves of them, rows x weeks [h, days]
    drive : array
        What the drive to the place takes of them, rows x weeks [h]

    Returns
    -------
    reason : str
        What forbids every week, or what is short in the best of those allowed [-]

    Examples
    --------
    >>> from calcs.shop_weeks import Technician, limits_of
    >>> shop = ShopWeeks((date(2026, 1, 5),), (Technician("A", frozenset({"test"}), (40,)),))
    >>> limits = limits_of(shop)
    >>> why_unplaced(Job("Pump", "Hill Farm", "test", 6, date(2026, 1, 9)), shop, limits, limits.room - 38)
    'every week allowed is full: week of 5 Jan is short of 4 hours of test'

    Source
    ------
    Our own wording.
    """
    forbidden = [why_not(job, shop, week) for week in range(len(shop.mondays))]
    allowed = [week for week, reasons in enumerate(forbidden) if not reasons]
    if not allowed:
        return "; ".join(dict.fromkeys(reason for reasons in forbidden for reason in reasons))
    short = (needs([job], limits)[0][:, None] + drive - room_left)[:, allowed]
    worst = short.max(axis=0)
    best = int(worst.argmin())
    if worst[best] <= 1e-6:
        return "there is room, but a visit would cost more than the delay"
    row = int(short[:, best].argmax())
    week = day_words(shop.mondays[allowed[best]])
    return f"every week allowed is full: week of {week} is short of {grouped(worst[best])} {limits.names[row]}"

"""Work to be planned: due tasks of a machine gathered into jobs, with kindred tasks pulled together and parts waited for."""

from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from datetime import date, timedelta

import numpy as np

from calcs.calendar_sums import DAYS_PER_MONTH, as_date
from calcs.day_reached import date_reached
from calcs.jobs import Job
from calcs.kindred import NearTask, Pull, pull_together
from calcs.season import AS_DUE
from shop.due.fleet_due import FleetDue
from shop.due.rows import DueRow, due_rows, intervals_days
from shop.due.shop_figures import shop_figures
from shop.models import Booking, SeasonBlock
from shop.plan.kits import Kits
from shop.plan.weeks import ANY_WORK, HOURS_A_DAY, monday_of

SAFETY_TIMES = 3.0  # a safety task overdue weighs three others: common practice, no source


@dataclass
class Work:
    """A job with the tasks it holds, why they are together, and the booking it stands for, if any."""

    rows: list[DueRow]
    job: Job
    words: list[str] = field(default_factory=list)
    booking: Booking | None = None

    @property
    def machine(self):
        return self.rows[0].machine if self.rows else self.booking.machine

    @property
    def tasks(self) -> list[dict]:
        return [{"task": row.task.code, "unit": row.unit.tag if row.unit else ""} for row in self.rows]


def work_to_plan(due: FleetDue, first: date, weeks: int, booked: Iterable[Booking] = ()) -> list[Work]:
    """Return the jobs of the tasks that fall due up to the end of the weeks, those that are booked already left out."""
    until = monday_of(first) + timedelta(days=7 * weeks - 3)
    covered = {(b.machine_id, entry.get("task"), entry.get("unit", "")) for b in booked for entry in b.tasks}
    near = due_rows(due, _near_places(due, until + timedelta(days=120)))
    near = [row for row in near if _key(row) not in covered]
    near.sort(key=lambda row: (row.machine.number, target_of(row) or date.max, row.task.name, row.key))
    kits, call_cost, soft = Kits(near), shop_figures()["call_cost"], soft_blocks()
    out: list[Work] = []
    by_machine: dict[int, list[DueRow]] = {}
    for row in near:
        by_machine.setdefault(row.machine.pk, []).append(row)
    for rows in by_machine.values():
        out += _jobs_of_machine(due, rows, until, kits, call_cost, soft)
    _wait_for_parts(out, kits, due.today)
    return out


def _key(row: DueRow) -> tuple:
    return row.machine.pk, row.task.code, row.unit.tag if row.unit else ""


def _near_places(due: FleetDue, until: date) -> list[int]:
    rows = due.rows
    day = (
        np.fmin(rows.due_day.to_numpy().astype("datetime64[D]"), rows.slot_day.to_numpy().astype("datetime64[D]"))
        if len(rows)
        else np.array([])
    )
    return [int(k) for k in np.flatnonzero(~np.isnat(day) & (day <= np.datetime64(until)))] if len(rows) else []


def target_of(row: DueRow) -> date | None:
    """Return the day a task should be done by: its deferral, else its place before or after the season, else its due day."""
    if row.state == "deferred" and row.deferred_day:
        return row.deferred_day
    return row.slot_day if row.move and row.slot_day else row.due_day


def _jobs_of_machine(due: FleetDue, rows: list[DueRow], until: date, kits: Kits, call_cost: float, soft) -> list[Work]:
    """Return the jobs of one machine: each due task opens one, kindred tasks near it are pulled in where that pays."""
    waiting, out = list(rows), []
    while waiting:
        first = waiting.pop(0)
        if target_of(first) > until:
            break
        mine, words = [first], []
        alike = [row for row in waiting if _may_go_with(first, row)]
        for pull, row in _pulls(due, first, alike, kits, call_cost):
            words.append(f"{row.task.name}: {pull.reason}")
            if pull.pulled:
                mine.append(row)
                waiting.remove(row)
        out.append(Work(mine, job_of(due, mine, soft), words))
    return out


def _may_go_with(first: DueRow, row: DueRow) -> bool:
    same_hands = row.task.skill_id == first.task.skill_id and row.task.needs_bay == first.task.needs_bay
    return bool(first.task.group) and row.task.group == first.task.group and same_hands


def _pulls(due: FleetDue, first: DueRow, alike: list[DueRow], kits: Kits, call_cost: float) -> list[tuple[Pull, DueRow]]:
    near = {row.key: row for row in alike}
    tasks = [NearTask(row.key, row.task.group, target_of(row), interval_days(due, row), kits.cost(row)) for row in alike]
    opened = max(target_of(first), due.today)
    blocks = [block for block in due.blocks[_machine_place(due, first)] if block.end >= opened]
    pulls = pull_together(opened, first.task.group, tasks, call_cost, min((block.end for block in blocks), default=None))
    return [(pull, near[pull.task]) for pull in pulls]


def _machine_place(due: FleetDue, row: DueRow) -> int:
    return int(due.rows.machine[row.place])


def interval_days(due: FleetDue, row: DueRow) -> float:
    """Return an interval in days, as for many rows at once."""
    return float(intervals_days(due, [row.place], [row.rule.every_months])[0])


def job_of(due: FleetDue, rows: list[DueRow], soft: set[str]) -> Job:
    """Return the job of some tasks of one machine as the sums take it."""
    machine = rows[0].machine
    hours = sum(float(row.task.work_h) for row in rows) or 0.5
    in_bay = any(row.task.needs_bay for row in rows)
    skill = rows[0].task.skill.code if rows[0].task.skill else ANY_WORK
    place = _machine_place(due, rows[0])
    return Job(
        name=name_of(machine, rows),
        place=f"shop, {machine.number}" if in_bay else place_of(machine),
        skill=skill,
        hours=hours,
        due=min(target_of(row) for row in rows),
        late=min((day for day in (late_day(due, row) for row in rows) if day), default=None),
        visit_h=0.0 if in_bay else drive_h(machine),
        overdue_h_per_day=0.1 * (SAFETY_TIMES if any(row.task.is_safety for row in rows) else 1.0),
        door_height_m=machine.height_m if in_bay else None,
        bay_days=float(np.ceil(hours / HOURS_A_DAY)) if in_bay else 0.0,
        blocks=tuple(block for block in due.blocks[place] if block.name not in soft),
    )


def soft_blocks() -> set[str]:
    """Names of blocks in which planned work may still be done if the plan needs the weeks."""
    return set(SeasonBlock.objects.filter(is_retired=False, is_hard=False).values_list("name", flat=True))


def name_of(machine, rows: list[DueRow]) -> str:
    tasks = ", ".join(f"{row.task.name} {row.unit.tag}" if row.unit else row.task.name for row in rows)
    return f"{machine.number}: {tasks}"


def place_of(machine) -> str:
    return f"{machine.site.name}, {machine.customer.name}" if machine.site else machine.customer.name


def drive_h(machine) -> float:
    return round(2 * machine.site.drive_minutes / 60, 2) if machine.site else 1.0


def late_day(due: FleetDue, row: DueRow) -> date | None:
    """Return the day on which a task passes its late limit, by hours or calendar; None where that cannot be said."""
    found, given = due.rows.loc[row.place], due.inputs.loc[row.place]
    days = []
    if row.due_h is not None and given.reading_h == given.reading_h:
        target = row.due_h + row.rule.late_share * float(found.interval_h)
        band = date_reached(due.hours.usage, [int(found.machine)], [given.reading_day], [given.reading_h], [target])
        days.append(as_date(band.likely[0]))
    calendar = as_date(found.calendar_day)
    if calendar and row.rule.every_months:
        days.append(calendar + timedelta(days=min(30, int(0.10 * DAYS_PER_MONTH * row.rule.every_months))))
    known = [day for day in days if day]
    return min(known) if known else None


def _wait_for_parts(works: list[Work], kits: Kits, today: date) -> None:
    """Let each job wait for the parts that stock does not hold, those due first served first."""
    for work in sorted(works, key=lambda work: (work.job.due, work.job.name)):
        days = kits.take(work.rows)
        if days:
            work.job = replace(work.job, parts_on=today + timedelta(days=days))
            work.words.append(f"parts are not all here; they take {days} days")


def moved_words(row: DueRow) -> str:
    return row.reason.split("; ")[-1] if row.move != AS_DUE else ""

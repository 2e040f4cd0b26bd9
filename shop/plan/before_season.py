"""What must be done before each season: hours per week against what there is, and what has found no place yet."""

from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
import pandas as pd

from calcs.calendar_sums import as_date
from fleet.models import Customer, DriveUnit
from shop.due.fleet_due import FleetDue
from shop.due.rows import DueRow, due_rows
from shop.models import Booking, ServiceTask
from shop.plan.board import Week, weeks_of_board
from shop.plan.weeks import monday_of

AHEAD_DAYS = 250
MOST_WEEKS = 30


@dataclass(frozen=True)
class CustomersShare:
    """Tasks of one customer's machines that have no week yet, with the season start each must be done before."""

    customer: Customer
    tasks: list[tuple[DueRow, date]]

    @property
    def hours(self) -> float:
        return sum(float(row.task.work_h) for row, _ in self.tasks)

    @property
    def first_start(self) -> date:
        return min(start for _, start in self.tasks)


@dataclass(frozen=True)
class SeasonPlan:
    """The weeks up to the last season start ahead, and the tasks that fall due before their machine's season and are booked nowhere; of those
    the first ones in words, and how many and how long they are in all."""

    weeks: list[Week]
    unbooked: list[tuple[DueRow, date]]
    unbooked_count: int
    unbooked_h: float
    booked: int

    @property
    def whole(self) -> int:
        return self.booked + self.unbooked_count

    @property
    def share(self) -> float | None:
        return 100 * self.booked / self.whole if self.whole else None

    @property
    def by_customer(self) -> list[CustomersShare]:
        """Return the tasks in words by customer, whose season comes first before the others."""
        of_customer: dict[int, list] = {}
        for row, start in self.unbooked:
            of_customer.setdefault(row.machine.customer_id, []).append((row, start))
        shares = [CustomersShare(tasks[0][0].machine.customer, tasks) for tasks in of_customer.values()]
        return sorted(shares, key=lambda share: (share.first_start, share.customer.name))

    @property
    def full_weeks(self) -> int:
        return sum(bool(week.is_full or week.over) for week in self.weeks)


def season_plan(due: FleetDue, most: int | None = None) -> SeasonPlan:
    """Return the plan up to the season starts of the coming months; at most `most` of the tasks in words."""
    before = _due_before(due)
    mine = before[~before.index.isin(_covered(due))].sort_values(["start", "number", "task"], kind="stable")
    shown = mine.head(most) if most is not None else mine
    start_of = dict(zip(shown.place, shown.start, strict=True))
    unbooked = [(row, as_date(start_of[row.place])) for row in due_rows(due, shown.place)]
    last = as_date(before.start.max()) if len(before) else due.today + timedelta(days=56)
    first = monday_of(due.today)
    weeks, _ = weeks_of_board(first, min(MOST_WEEKS, max(1, (monday_of(last) - first).days // 7)))
    return SeasonPlan(weeks, unbooked, len(mine), float(mine.work_h.sum()), len(before) - len(mine))


def _due_before(due: FleetDue) -> pd.DataFrame:
    """Return places of tasks to be done before their machine's next season start, by machine, task and unit, with that start."""
    rows = due.rows
    starts = np.array([_next_start(blocks, due.today) for blocks in due.blocks] or [None], "datetime64[D]")
    start = starts[rows.machine.to_numpy(int)] if len(rows) else starts[:0]
    day = pd.Series(rows.slot_day).fillna(rows.due_day).to_numpy().astype("datetime64[D]") if len(rows) else starts[:0]
    places = np.flatnonzero(day < start)
    part = rows.iloc[places]
    tasks = ServiceTask.objects.in_bulk(part.task_id.unique().tolist())
    return pd.DataFrame(
        {
            "place": places,
            "start": start[places],
            "number": due.hours.machines.number.to_numpy()[part.machine.to_numpy(int)],
            "task": [tasks[pk].name for pk in part.task_id],
            "work_h": [float(tasks[pk].work_h) for pk in part.task_id],
        },
        index=pd.MultiIndex.from_frame(part[["machine_id", "task_id", "unit_id"]]),
    )


def _next_start(blocks, today: date) -> date | None:
    return min((block.start for block in blocks if today < block.start <= today + timedelta(days=AHEAD_DAYS)), default=None)


def _covered(due: FleetDue) -> list[tuple[int, int, int]]:
    """Return machine, task and unit (0: the whole machine) of everything that is booked from this week on."""
    live = Booking.objects.filter(is_cancelled=False, week_start__gte=monday_of(due.today)).values_list("machine_id", "tasks")
    named = [(machine_id, entry.get("task"), entry.get("unit", "")) for machine_id, tasks in live for entry in tasks]
    task_of = dict(ServiceTask.objects.values_list("code", "pk"))
    unit_of = dict(DriveUnit.objects.filter(tag__in={unit for *_, unit in named}).values_list("tag", "pk")) | {"": 0}
    return [(machine_id, task_of[task], unit_of[unit]) for machine_id, task, unit in named if task in task_of and unit in unit_of]

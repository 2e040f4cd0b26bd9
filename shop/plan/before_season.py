"""What must be done before each season: hours per week against what there is, and what has found no place yet."""

from dataclasses import dataclass
from datetime import date, timedelta

from shop.due.fleet_due import FleetDue
from shop.due.rows import DueRow, due_rows
from shop.models import Booking
from shop.plan.board import Week, weeks_of_board
from shop.plan.weeks import monday_of

AHEAD_DAYS = 250
MOST_WEEKS = 30


@dataclass(frozen=True)
class SeasonPlan:
    """The weeks up to the last season start ahead, and the tasks that fall due before their machine's season and are booked nowhere."""

    weeks: list[Week]
    unbooked: list[tuple[DueRow, date]]
    booked: int

    @property
    def unbooked_h(self) -> float:
        return sum(float(row.task.work_h) for row, _ in self.unbooked)

    @property
    def whole(self) -> int:
        return self.booked + len(self.unbooked)

    @property
    def share(self) -> float | None:
        return 100 * self.booked / self.whole if self.whole else None


def season_plan(due: FleetDue) -> SeasonPlan:
    """Return the plan up to the season starts of the coming months."""
    starts = [_next_start(blocks, due.today) for blocks in due.blocks]
    before = _due_before(due, starts)
    rows = due_rows(due, [place for place, _ in before])
    covered = _covered(due.today)
    start_of = dict(before)
    unbooked = [
        (row, start_of[row.place]) for row in rows if (row.machine.pk, row.task.code, row.unit.tag if row.unit else "") not in covered
    ]
    last = max((start for _, start in before), default=due.today + timedelta(days=56))
    first = monday_of(due.today)
    count = min(MOST_WEEKS, max(1, (monday_of(last) - first).days // 7))
    weeks, _ = weeks_of_board(first, count)
    return SeasonPlan(
        weeks, sorted(unbooked, key=lambda pair: (pair[1], pair[0].machine.number, pair[0].task.name)), len(rows) - len(unbooked)
    )


def _next_start(blocks, today: date) -> date | None:
    return min((block.start for block in blocks if today < block.start <= today + timedelta(days=AHEAD_DAYS)), default=None)


def _due_before(due: FleetDue, starts) -> list[tuple[int, date]]:
    """Return places of tasks to be done before their machine's next season start, with that start."""
    out = []
    for place in due.order:
        row = due.rows.loc[place]
        start = starts[int(row.machine)]
        day = row.slot_day if row.slot_day == row.slot_day else row.due_day
        if start is not None and day == day and day is not None and day.date() < start:
            out.append((int(place), start))
    return out


def _covered(today: date) -> set[tuple]:
    live = Booking.objects.filter(is_cancelled=False, week_start__gte=monday_of(today)).values_list("machine_id", "tasks")
    return {(machine_id, entry.get("task"), entry.get("unit", "")) for machine_id, tasks in live for entry in tasks}

"""How many tasks were done inside their window: numerator and denominator shown, a deferral never counted as done on time."""

from dataclasses import dataclass
from datetime import date

from shop.due.fleet_due import FleetDue
from shop.models import Deferral, TaskDone

WINDOW_SHARE, WINDOW_DAYS = 0.10, 15  # common practice, no source


@dataclass(frozen=True)
class Compliance:
    """Tasks that fell due in a period: done in the window, done late, open past their window, put off; and tasks whose due was not kept."""

    inside: int
    late: int
    still_open: int
    put_off: int
    not_known: int

    @property
    def due(self) -> int:
        return self.inside + self.late + self.still_open + self.put_off

    @property
    def percent(self) -> float | None:
        return 100 * self.inside / self.due if self.due else None


def compliance(due: FleetDue, since: date, until: date) -> Compliance:
    """Return what became of the tasks that fell due between two days."""
    done = list(
        TaskDone.objects.standing().filter(was_done=True, done_on__gte=since, done_on__lte=until)
        .values_list("task_id", "machine_id", "done_on", "life_h", "due_h", "due_on")
    )  # fmt: skip
    deferred = _deferred_until(since)
    rows = due.rows
    known = rows[rows.interval_h.notna()] if len(rows) else rows
    interval_h = dict(zip(zip(known.machine_id, known.task_id, strict=True), known.interval_h, strict=True)) if len(rows) else {}
    counts = {"inside": 0, "late": 0, "put_off": 0, "not_known": 0}
    for task_id, machine_id, done_on, life_h, due_h, due_on in done:
        was_put_off = any(day <= done_on for day in deferred.get((task_id, machine_id), ()))
        window_h = WINDOW_SHARE * interval_h.get((machine_id, task_id), 0.0)
        counts[_kind(was_put_off, done_on, life_h, due_h, due_on, window_h)] += 1
    waiting = int((rows.state_word == "deferred").sum()) if len(rows) else 0
    late_now = int(rows.state_word.isin(["overdue", "over late limit"]).sum()) if len(rows) else 0
    counts["put_off"] += waiting
    return Compliance(still_open=late_now, **counts)


def _kind(was_put_off: bool, done_on, life_h, due_h, due_on, window_h: float) -> str:
    if was_put_off:
        return "put_off"
    if due_h is None and due_on is None:
        return "not_known"
    late_h = due_h is not None and float(life_h) > float(due_h) + window_h + 1e-6
    late_d = due_on is not None and (done_on - due_on).days > WINDOW_DAYS
    return "late" if late_h or late_d else "inside"


def _deferred_until(since: date) -> dict[tuple[int, int], list[date]]:
    out: dict[tuple[int, int], list[date]] = {}
    for task_id, machine_id, at in Deferral.objects.filter(approved_at__date__gte=since).values_list(
        "task_id", "machine_id", "approved_at"
    ):
        out.setdefault((task_id, machine_id), []).append(at.date())
    return out

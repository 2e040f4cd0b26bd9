"""Release: what is still open is said in sentences; when nothing is, everything is written in one go and the order is kept as it stands."""

from dataclasses import dataclass, field
from decimal import Decimal

from django.utils import timezone

from fleet.judged_hours import believed_hours, judge_hours
from fleet.models import DriveTest, FluidFill, UnitEvent
from fleet.unit_hours import component_h
from shop.acts import act
from shop.machines.actions import fit_drive, read_hours, remove_drive
from shop.models import Counter, OrderLine, OrderMove, TaskDone, Visit, WorkOrder
from shop.refusals import Refused
from shop.workorders.comebacks import is_unanswered
from shop.workorders.frozen import frozen_of
from shop.workorders.next_due import next_due_rows
from shop.workorders.reading_rows import rows_of_test
from shop.workorders.snapshot import snapshot_of

Line = OrderLine.State


@dataclass
class ReleaseEntry:
    """What is said at the release."""

    fitness: str
    meter_h: Decimal | None = None
    hours_are_kept: bool = False
    cautions_read: bool = False
    next_due_told: bool = False
    test_waiver: str = ""
    fills: list[dict] = field(default_factory=list)  # kind, product, fill_l, drained_l, batch
    taken_out: object = None  # installation
    keeping: str = ""
    fitted: object = None  # unit
    position: str = ""
    baseline: str = ""  # repaired or rebuilt
    remark: str = ""


def open_points(order: WorkOrder, said: ReleaseEntry | None = None) -> list[str]:
    """Every reason why an order cannot be released yet, each with how to put it right."""
    points = [*story_points(order), *line_points(order), *work_points(order)]
    if order.state != WorkOrder.State.FINAL_TEST:
        points.insert(0, f"The order stands at “{order.get_state_display().lower()}”: bring it to final test first.")
    return points + (said_points(order, said) if said else [])


def story_points(order) -> list[str]:
    points = []
    for name in ("cause", "correction"):
        words = getattr(order, name).strip()
        if not words:
            points.append(f"{name.capitalize()} is empty: write it, or “not found, because …”.")
        elif words.lower().rstrip(" .") in ("not found", "not found, because", "unknown", "not known", "-", "–"):
            points.append(f"{name.capitalize()} says “{words}” without a reason: write “not found, because …”.")
    if is_unanswered(order):
        points.append("The same drive was here with the same symptom not long ago: say whether this is a comeback, and why.")
    return points


def line_points(order) -> list[str]:
    still = list(order.lines.filter(state=Line.OPEN).values_list("words", flat=True)[:6])
    return [f"“{words[:80]}” is open: done, or not done and why." for words in still]


def work_points(order) -> list[str]:
    running = order.labour.filter(ended_at=None).select_related("technician")
    return [f"The clock of {entry.technician} is running: stop it." for entry in running]


def said_points(order, said: ReleaseEntry) -> list[str]:
    points = []
    if not said.cautions_read:
        points.append("Read the cautions and say so.")
    if not said.next_due_told:
        points.append("Look at what is due next, tell the customer, and say so.")
    if not final_test_of(order) and not said.test_waiver.strip():
        points.append("No test after the repair is on record: test it, or write why there is none; your name stands under it.")
    if said.meter_h is None and not hours_since(order):
        points.append("Hours were not read since the machine was taken in: read the meter.")
    if not said.fitness:
        points.append("Say whether the machine is safe to work.")
    return points


def final_test_of(order) -> DriveTest | None:
    """The latest test after repair of the order's drive since it was taken in."""
    if order.unit is None:
        return None
    tests = DriveTest.objects.filter(unit=order.unit, moment=DriveTest.Moment.AFTER, tested_at__gte=order.taken_in_at)
    return tests.filter(readings__isnull=False).order_by("-tested_at").first()


def hours_since(order):
    reading = believed_hours(order.machine)
    return reading if reading and reading.read_at >= order.taken_in_at else None


def release_order(*, by, order: WorkOrder, version: int, said: ReleaseEntry, token: str = "") -> WorkOrder:
    """Write everything that the order did, in one transaction, and freeze it with what is due next from here on."""
    with act("release an order", by=by, token=token) as frame:
        WorkOrder.objects.select_for_update().get(pk=order.pk)
        points = open_points(order, said)
        if points:
            raise Refused(*points)
        life_h = write_hours_and_oil(order, said, by)
        write_units(order, said, by)
        write_tasks(order, life_h, by)
        write_baseline(order, said, life_h, by)
        close_findings(order)
        set_released(order, said, by)
        tests = rows_of_test(order.unit, order.machine, by, order) if order.unit else {}
        order.frozen = frozen_of(snapshot_of(order, tests, next_due_rows(order.machine)))
        OrderMove.objects.create(
            order=order, from_state=WorkOrder.State.FINAL_TEST, to_state=order.state, reason=order.get_fitness_display(), recorded_by=by
        )
        order.save_over(version)
        frame.made = order
    return order


def write_hours_and_oil(order, said, by) -> Decimal:
    """Keep the reading and the fills as a visit; return the life hours of the release."""
    if said.meter_h is None:
        if said.fills:
            raise Refused("Oil was filled: read the meter too, so that the fill has its hours.")
        return hours_since(order).life_h
    now, reading = timezone.now(), believable_reading(order.machine, said, by)
    visit = Visit.objects.create(
        number=Counter.next_number("visit", "V"), machine=order.machine, visited_at=now, visited_by=by, order=order, hour_reading=reading,
        life_h=reading.life_h, note=said.remark, recorded_by=by,
    )  # fmt: skip
    visit.fills.set(
        [
            FluidFill.objects.create(machine=order.machine, filled_at=now, life_h=reading.life_h, recorded_by=by, **fill)
            for fill in said.fills
        ]
    )
    return reading.life_h


def believable_reading(machine, said, by):
    """Keep the meter reading of the release; one that cannot be is not taken, one that is odd only if it is said to stand there so."""
    judged = judge_hours(machine, said.meter_h, timezone.now())
    if judged.meter is None:
        raise Refused(f"{machine} has no hour meter on record for today: add it on the machine's page first.")
    if judged.state == "impossible" or not (judged.is_plausible or said.hours_are_kept):
        raise Refused(f"{said.meter_h} h: {judged.question}. Look at the meter again.")
    return read_hours(meter=judged.meter, meter_h=said.meter_h, on=timezone.localdate(), by=by)


def write_units(order, said, by) -> None:
    """Take a drive out and fit one, at the hours just read."""
    if (said.taken_out or said.fitted) and said.meter_h is None:
        raise Refused("A drive was taken out or fitted: read the meter too, so that its hours stay exact.")
    today, reason = timezone.localdate(), f"Order {order.number}"
    if said.taken_out:
        remove_drive(installation=said.taken_out, on=today, meter_h=said.meter_h, reason=reason, keeping=said.keeping or "in_store", by=by)
    if said.fitted:
        fit_drive(
            unit=said.fitted, machine=order.machine, position=said.position or "main", on=today, meter_h=said.meter_h, reason=reason, by=by
        )


def write_tasks(order, life_h, by) -> None:
    """Write every task line as done or not done; on an order that takes another's place, put that one's rows right."""
    before = {(row.task_id, row.unit_id): row for row in earlier_tasks(order)}
    for line in order.lines.filter(task__isnull=False).select_related("task"):
        old = before.pop((line.task_id, line.unit_id), None)
        put_right = (
            {"supersedes": old, "correction_reason": order.supersede_reason, "done_on": old.done_on, "life_h": old.life_h} if old else {}
        )
        TaskDone.objects.create(
            **{"done_on": timezone.localdate(), "life_h": life_h} | put_right,
            task=line.task,
            machine=order.machine,
            unit=line.unit,
            order_line=line,
            was_done=line.state == Line.DONE,
            why_not=line.why_not,
            part_number=line.part.number if line.part else "",
            recorded_by=by,
        )


def earlier_tasks(order):
    return TaskDone.objects.standing().filter(order_line__order=order.supersedes) if order.supersedes_id else []


def write_baseline(order, said, life_h, by) -> None:
    """A repair or rebuild of the drive begins a new baseline at its hours."""
    unit = said.fitted or order.unit
    if said.baseline and unit:
        hours = component_h(unit, order.machine, life_h)
        UnitEvent.objects.create(
            unit=unit, kind=said.baseline, happened_on=timezone.localdate(), component_h=hours, note=f"Order {order.number}", recorded_by=by
        )


def close_findings(order) -> None:
    for line in order.lines.filter(finding__isnull=False, finding__closed_at=None, state=Line.DONE).select_related("finding"):
        line.finding.closed_at, line.finding.closing_words = timezone.now(), f"Done on order {order.number}"
        line.finding.save(update_fields=["closed_at", "closing_words"])


def set_released(order, said, by) -> None:
    now = timezone.now()
    order.state, order.fitness = WorkOrder.State.RELEASED, said.fitness
    order.released_at, order.released_by = now, by
    order.cautions_seen_at, order.cautions_seen_by = now, by
    if said.test_waiver.strip() and not final_test_of(order):
        order.test_waiver, order.waived_by = said.test_waiver.strip()[:200], by

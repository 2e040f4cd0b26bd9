"""What stands on the pages of a visit: lines to begin with, tasks that apply, and what was recorded with its verdicts."""

from __future__ import annotations

from dataclasses import dataclass

from django.db.models import Q

from calcs.quantities import QUANTITIES
from fleet.models import ConditionAssessment, DriveModel, DriveUnit, Machine, Reading
from shop.models import IntervalRule, ServiceTask, TaskDone, Visit, WorkOrder

State = ConditionAssessment.State
ROUND = (  # the order of walking: low pressure before high, standing before rolling
    ("charge_neutral_idle", ""),
    ("charge_neutral", ""),
    ("charge_stroked", "forward"),
    ("charge_stroked", "reverse"),
    ("pump_case_flow", ""),
    ("motor_case_flow", ""),
    ("case_pressure", ""),
    ("main_relief", "forward"),
    ("main_relief", "reverse"),
    ("top_speed", "forward"),
    ("top_speed", "reverse"),
    ("neutral_creep", "forward"),
    ("neutral_creep", "reverse"),
)
SERIES_ROUND = {"pump_case_flow": "total_case_return", "motor_case_flow": None}  # drains in series cannot be read apart
CALLS_FOR_WORK = (State.OUTSIDE_LOW, State.OUTSIDE_HIGH, State.IMPOSSIBLE)


def fitted_units(machine: Machine) -> list[DriveUnit]:
    """Return the drives in a machine now, left before right, with model and ports."""
    stays = machine.installations.running().select_related("unit__drive_model").prefetch_related("unit__drive_model__ports")
    return [stay.unit for stay in stays.order_by("position", "pk")]


def starting_readings(units: list[DriveUnit], machine: Machine) -> list[dict]:
    """Return the lines that a round of tests begins with, drive by drive, each with the port to put the gauge on."""
    return [
        {"preset": "1", "unit": str(unit.pk), "quantity": quantity, "direction": direction, "port": port_for(unit.drive_model, quantity)}
        for unit in units
        for quantity, direction in round_of(unit.drive_model, machine)
    ]


def round_of(model: DriveModel, machine: Machine) -> list[tuple[str, str]]:
    lines = []
    for quantity, direction in ROUND:
        if model.drains == DriveModel.Drains.SERIES:
            quantity = SERIES_ROUND.get(quantity, quantity)
        if quantity == "top_speed" and not (machine.final_ratio and machine.rolling_radius_m):
            quantity = "output_speed"
        if quantity:
            lines.append((quantity, direction))
    return lines


def port_for(model: DriveModel, quantity: str) -> str:
    wanted = {quantity, quantity.removesuffix("_idle")}
    return next((port.code for port in model.ports.all() if port.quantity in wanted), "")


@dataclass(frozen=True)
class TaskToDo:
    """A task that applies to a machine, or to one drive in it."""

    task: ServiceTask
    unit: DriveUnit | None

    @property
    def key(self) -> str:
        return f"{self.task.pk}-{self.unit.pk if self.unit else ''}"

    @property
    def words(self) -> str:
        return f"{self.task} ({self.unit.tag})" if self.unit else str(self.task)


def tasks_that_apply(machine: Machine, units: list[DriveUnit]) -> list[TaskToDo]:
    """Return the tasks that some rule in force asks of a machine or of a drive in it, each once."""
    scope = Q(machine=machine) | Q(unit__in=units) | Q(drive_model__in={unit.drive_model_id for unit in units})
    rules = IntervalRule.objects.filter(scope, is_retired=False, task__is_retired=False).select_related("task")
    found: dict[str, TaskToDo] = {}
    rules = list(rules.order_by("task__name", "pk"))
    of_machine = {rule.task_id for rule in rules if rule.machine_id}
    for rule in rules:
        if rule.drive_model_id and rule.task_id in of_machine:
            continue  # the narrower rule stands for it
        for unit in units_under(rule, units):
            line = TaskToDo(rule.task, unit)
            found.setdefault(line.key, line)
    return list(found.values())


def units_under(rule: IntervalRule, units: list[DriveUnit]) -> list[DriveUnit | None]:
    """Return the drives that a rule speaks of; none, as one entry, where it speaks of the machine."""
    if rule.machine_id:
        return [None]
    return [unit for unit in units if unit.pk == rule.unit_id or unit.drive_model_id == rule.drive_model_id]


@dataclass(frozen=True)
class ReadLine:
    """A reading on the page of its visit."""

    reading: Reading
    verdict: ConditionAssessment | None
    label: str
    kind: str
    earlier: list[Reading]

    @property
    def calls_for_work(self) -> bool:
        return self.verdict is not None and self.verdict.state in CALLS_FOR_WORK

    @property
    def typed_differs(self) -> bool:
        return self.reading.typed_unit != self.reading.unit


def label_of(reading: Reading) -> str:
    """Return what was read, with its direction, in words."""
    quantity = QUANTITIES.get(reading.quantity)
    label = quantity.label if quantity else reading.quantity.replace("_", " ")
    return f"{label}, {reading.direction}" if reading.direction else label


def read_line(reading: Reading, chain: dict[int, Reading]) -> ReadLine:
    quantity = QUANTITIES.get(reading.quantity)
    verdict = reading.verdicts[0] if reading.verdicts else None
    earlier, before = [], chain.get(reading.supersedes_id)
    while before is not None:
        earlier.append(before)
        before = chain.get(before.supersedes_id)
    return ReadLine(reading, verdict, label_of(reading), quantity.kind if quantity else "", earlier)


def read_lines(tests) -> dict[int, list[ReadLine]]:
    """Return the standing readings of tests with their verdicts, and what each one put right."""
    rows = list(Reading.objects.filter(drive_test__in=tests).with_verdicts().select_related("recorded_by").order_by("pk"))
    chain = {row.pk: row for row in rows}
    replaced = {row.supersedes_id for row in rows}
    lines: dict[int, list[ReadLine]] = {test.pk: [] for test in tests}
    for row in rows:
        if row.pk not in replaced:
            lines[row.drive_test_id].append(read_line(row, chain))
    return lines


def visit_page(visit: Visit) -> dict:
    """Return what stands on the page of a visit."""
    tests = list(visit.tests.select_related("unit__drive_model", "fluid").order_by("unit__tag", "pk"))
    lines = read_lines(tests)
    fills = list(visit.fills.select_related("product", "supersedes__product", "superseded_by").order_by("pk"))
    findings = list(visit.findings.select_related("unit", "calls_task").order_by("pk"))
    tasks = TaskDone.objects.standing().filter(visit=visit).select_related("task", "unit").order_by("task__name", "pk")
    outside = [line for test in tests for line in lines[test.pk] if line.calls_for_work]
    return {
        "visit": visit,
        "rounds": [(test, lines[test.pk]) for test in tests],
        "fills": [fill for fill in fills if fill.stands],
        "tasks": list(tasks),
        "findings": findings,
        "outside": outside,
        "papers": list(visit.papers.all()),
        "orders": list(WorkOrder.objects.filter(lines__finding__visit=visit).distinct()),
    }

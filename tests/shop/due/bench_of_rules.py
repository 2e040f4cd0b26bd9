"""A task with its rule, what was done, and the row of the due list, for tests."""

from datetime import UTC, date, datetime
from decimal import Decimal

from fleet.models import HourReading
from shop.due.fleet_due import fleet_due
from shop.due.rows import chosen, due_rows
from shop.models import IntervalRule, ServiceTask, TaskDone


def task(code="FILTER", **fields) -> ServiceTask:
    fields = {"name": "Charge filter", "kind": "filter"} | fields
    return ServiceTask.objects.create(code=code, **fields)


def rule_for(floor, the_task=None, **fields) -> IntervalRule:
    """Return a rule for the floor's drive model unless the fields name another scope."""
    if not {"machine", "unit", "drive_model"} & set(fields):
        fields["drive_model"] = floor.drive_model
    return IntervalRule.objects.create(task=the_task or task(), **fields)


def done(floor, the_task, life_h=None, on=date(2026, 2, 1), **fields) -> TaskDone:
    fields = {"machine": floor.machine} | fields
    return TaskDone.objects.create(task=the_task, life_h=life_h or 0, done_on=on, **fields)


def read(floor, life_h, on=datetime(2026, 3, 2, 9, tzinfo=UTC), meter=None, meter_h=None) -> HourReading:
    life_h = Decimal(str(life_h))
    return HourReading.objects.create(
        meter=meter or floor.meter, read_at=on, meter_h=meter_h if meter_h is not None else life_h, life_h=life_h, typed=str(life_h)
    )


def rows_of(machine, today=date(2026, 3, 3), the_task=None) -> list:
    due = fleet_due(today)
    return due_rows(due, chosen(due, machine_id=machine.pk, task_id=the_task.pk if the_task else None))


def only_row(machine, today=date(2026, 3, 3), the_task=None):
    rows = rows_of(machine, today, the_task)
    assert len(rows) == 1
    return rows[0]

"""An order on the bench, ready for what a test wants of it."""

from dataclasses import dataclass
from datetime import UTC, datetime
from decimal import Decimal

import pytest
from django.utils import timezone

from fleet.models import DriveTest, Reading
from shop.models import ServiceTask, Technician, WorkOrder
from shop.workorders.actions import move_order, open_order, write_story
from shop.workorders.lines import change_line


@dataclass
class Bench:
    order: WorkOrder
    task: ServiceTask
    by: object

    def fresh(self) -> WorkOrder:
        self.order = WorkOrder.objects.get(pk=self.order.pk)
        return self.order

    def go(self, *states):
        for state in states:
            move_order(by=self.by, order=self.fresh(), to=state, version=self.order.version)
        return self.fresh()

    def finish_lines(self):
        for line in self.order.lines.all():
            change_line(by=self.by, line=line, version=line.version, state="done")

    def tell(self, cause="Worn charge pump", correction="Charge pump replaced"):
        write_story(by=self.by, order=self.fresh(), version=self.order.version, cause=cause, correction=correction)
        return self.fresh()

    def ready(self):
        self.go("diagnosing", "in_work", "final_test")
        self.finish_lines()
        return self.tell()


@pytest.fixture
def task(db):
    return ServiceTask.objects.create(code="F1", name="Charge filter", kind="filter", cautions=["C2", "C3", "C4"])


@pytest.fixture
def hands(technician):
    return Technician.objects.create(name="Tilde Invented", user=technician)


@pytest.fixture
def bench(floor, manager, task) -> Bench:
    order = open_order(by=manager, machine=floor.machine, complaint="slow when hot", tasks=[task], symptom="slow_hot")
    return Bench(order, task, manager)


@pytest.fixture
def tested(floor, technician):
    """Take a test after repair on the floor's drive, now."""

    def take(value=21.8):
        test = DriveTest.objects.create(
            number=f"T-{DriveTest.objects.count() + 1:05d}", unit=floor.unit, machine=floor.machine, tested_at=timezone.now(), tested_by=technician,
            life_h=Decimal("1210.0"), component_h=Decimal("1210.0"), oil_temp_c=60, engine_speed_rpm=2300, fluid=floor.oil, moment="after",
        )  # fmt: skip
        Reading.objects.create(
            drive_test=test,
            quantity="charge_neutral",
            typed=str(value),
            typed_unit="bar",
            value=value,
            unit="bar",
            instrument=floor.charge_gauge,
        )
        return test

    return take


SOME_DAY = datetime(2026, 3, 2, 9, tzinfo=UTC)

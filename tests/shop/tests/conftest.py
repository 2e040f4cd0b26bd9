import json
from itertools import count

import pytest

from fleet.models import Port
from shop.models import OpenTest
from shop.tests.actions import open_test
from shop.tests.procedures import in_force, load_procedures

KEYS = count(1)


@pytest.fixture
def procedures(db):
    load_procedures()
    return {row.code: row for row in in_force()}


@pytest.fixture
def ports(floor):
    rows = (
        ("CH", "charge_neutral", 1), ("CH", "charge_neutral_idle", 1), ("CH", "charge_stroked", 2), ("MA", "main_relief", 5),
        ("PD", "pump_case_flow", 7), ("PD", "case_pressure", 7), ("MD", "motor_case_flow", 8),
    )  # fmt: skip
    Port.objects.bulk_create(
        Port(drive_model=floor.drive_model, code=code, name=f"Plug {code}", thread="G 1/4", quantity=quantity, walk_order=order)
        for code, quantity, order in rows
    )


@pytest.fixture
def in_progress(floor, ports, procedures, technician):
    """Open a test on the floor's drive."""

    def opened(*codes, columns="one") -> OpenTest:
        picked = [procedures[code] for code in codes or ("T03", "T05", "T08")]
        return open_test(by=technician, unit=floor.unit, machine=floor.machine, procedures=picked, columns=columns)

    return opened


@pytest.fixture
def write(as_technician):
    """Write fields of an open test as its page does; a figure takes its unit after a space."""

    def written(test, client=None, **fields):
        marks = []
        for name, value in fields.items():
            step, column, field = name.split("__")
            full = f"{step}-{column}-{field}"
            figure, _, unit = str(value).partition(" ") if field in WITH_UNIT else (str(value), "", "")
            marks.append({"key": f"key-{next(KEYS):08d}", "name": full, "value": figure})
            if unit:
                marks.append({"key": f"key-{next(KEYS):08d}", "name": f"{full}_unit", "value": unit})
        return send(client or as_technician, test, marks)

    return written


WITH_UNIT = ("value", "oil_temp", "engine_speed", "idle_speed", "loop_pressure", "case_pressure", "ambient")


def send(client, test, marks, now=None):
    body = json.dumps({"now": now, "marks": marks})
    return client.post(f"/tests/{test.pk}/marks/", body, content_type="application/json")

"""An invented fleet of drives with judged readings: most as new, some wearing, by a rule that the test states."""

from datetime import UTC, datetime, timedelta

import numpy as np

from fleet.models import ConditionAssessment, DriveTest, DriveUnit, Installation, Machine, Reading

FIRST_DAY = datetime(2023, 3, 1, 9, tzinfo=UTC)
NOISE = 0.02


def put_unit(floor, number: int, with_machine: bool = False) -> DriveUnit:
    unit = DriveUnit.objects.create(tag=f"D-{number:05d}", serial=f"H75-{number:04d}", drive_model=floor.drive_model)
    if with_machine:
        machine = Machine.objects.create(
            number=f"M-{number:05d}", kind="windrower", maker="Hollowick", model="W180", serial=f"WX9-{number:05d}", customer=floor.customer,
            engine_rated_speed_rpm=2300, engine_idle_speed_rpm=1000, rolling_radius_m=0.75, final_ratio=24,
        )  # fmt: skip
        Installation.objects.create(unit=unit, machine=machine, from_date=FIRST_DAY.date(), from_life_h=0)
    return unit


def put_readings(
    floor, by, unit, ratios, *, quantity="pump_case_flow", first_h=300.0, every_h=300.0, gauge=None, first_day=FIRST_DAY, **more
):
    """Keep one judged reading a test, at even hours and dates; `more` goes to the reading."""
    machine = unit.installations.first().machine if unit.installations.exists() else floor.machine
    done = DriveTest.objects.count()
    tests = DriveTest.objects.bulk_create(
        DriveTest(
            number=f"T-{done + k + 1:06d}", unit=unit, machine=machine, tested_at=first_day + timedelta(days=110 * k), tested_by=by,
            life_h=first_h + every_h * k, component_h=first_h + every_h * k, oil_temp_c=60, engine_speed_rpm=2300,
        )
        for k in range(len(ratios))
    )  # fmt: skip
    readings = Reading.objects.bulk_create(
        Reading(
            drive_test=test, quantity=quantity, typed=f"{4 * ratio:.2f}", typed_unit="L/min", value=4 * ratio, unit="L/min",
            instrument=gauge or floor.flow_meter, **more,
        )
        for test, ratio in zip(tests, ratios, strict=True)
    )  # fmt: skip
    judge(readings, ratios)
    return readings


def judge(readings, ratios, state="inside"):
    return ConditionAssessment.objects.bulk_create(
        ConditionAssessment(reading=reading, state=state, reason="put", expected=4.0, uncertainty=0.16, ratio=ratio, edition="test")
        for reading, ratio in zip(readings, ratios, strict=True)
    )


def worn(share_per_kh: float, tests: int, seed: int, first_h=300.0, every_h=300.0) -> list[float]:
    """Leakage of gaps that open in a straight line, with noise."""
    hours = first_h + every_h * np.arange(tests)
    return ((1 + share_per_kh * hours / 1000) ** 3 * np.exp(np.random.default_rng(seed).normal(0, NOISE, tests))).tolist()


def lay_wear_fleet(floor, by, units: int = 16, tests: int = 8, wearing: int = 3, with_machines: bool = False) -> list[DriveUnit]:
    """Lay a fleet; the first `wearing` of it wear at 9 % of the gap in 1000 h."""
    made = [put_unit(floor, 100 + number, with_machines) for number in range(units)]
    for number, unit in enumerate(made):
        put_readings(floor, by, unit, worn(0.09 if number < wearing else 0.0, tests, seed=number))
    return made

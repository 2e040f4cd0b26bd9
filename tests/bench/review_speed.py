"""Time of a whole review beside a bare read and a bare write of the same rows, and of one drive judged anew, in one run.

Run: OMP_NUM_THREADS=1 python tests/bench/review_speed.py [1000 10000 100000]
"""

import argparse
import os
import resource
import sys
import tempfile
import time
from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np

sys.path[:0] = [str(Path(__file__).parents[2])]
FOLDER = tempfile.TemporaryDirectory()
os.environ.pop("DATABASE_URL", None)
os.environ |= {"SHOP_VAR": FOLDER.name, "DJANGO_SETTINGS_MODULE": "shop.settings"}

import django  # noqa: E402

django.setup()

from django.core.management import call_command  # noqa: E402
from django.db import connection, transaction  # noqa: E402

from fleet.models import ConditionAssessment, Customer, DriveModel, DriveTest, DriveUnit, Instrument, Machine, Reading, WearState  # noqa: E402
from fleet.wear import review_fleet, review_unit  # noqa: E402
from fleet.wear_series import FIELDS, taking_part  # noqa: E402
from shop.changes.triggers import uninstall  # noqa: E402

QUANTITIES = (
    ("charge_neutral", ""), ("charge_neutral_idle", ""), ("charge_stroked", "forward"), ("charge_stroked", "reverse"), ("main_relief", "forward"),
    ("main_relief", "reverse"), ("pump_case_flow", ""), ("motor_case_flow", ""), ("top_speed", "forward"), ("top_speed", "reverse"),
)  # fmt: skip
TESTS, MODELS, BATCH = 8, 12, 5000
BEGUN = datetime(2022, 3, 1, 9, tzinfo=UTC)


def lay(series: int) -> None:
    """Fill the empty book with that many records of eight readings, most drives as new, some wearing, one reading in fifty wild."""
    dice, units = np.random.default_rng(1), series // len(QUANTITIES)
    from django.contrib.auth import get_user_model

    by = get_user_model().objects.create_user("bench")
    customer = Customer.objects.create(number="C-1", name="Bench")
    machine = Machine.objects.create(
        number="M-1", kind="windrower", maker="Bench", model="B", serial="B-1", customer=customer, engine_rated_speed_rpm=2300,
        engine_idle_speed_rpm=1000, rolling_radius_m=0.75, final_ratio=24,
    )  # fmt: skip
    gauges = [Instrument.objects.create(tag=f"G-{k}", kind="pressure", span_high=60, unit="bar") for k in range(6)]
    models = [
        DriveModel.objects.create(
            code=f"B{k}", maker="Bench", pump_displacement_cc=75, motor_displacement_max_cc=75, motor_displacement_min_cc=40
        )
        for k in range(MODELS)
    ]
    drives = DriveUnit.objects.bulk_create(
        [DriveUnit(tag=f"U-{k}", serial=f"U-{k}", serial_key=f"u{k}", drive_model=models[k % MODELS]) for k in range(units)],
        batch_size=BATCH,
    )
    hours = np.cumsum(dice.uniform(150, 500, (units, TESTS)), axis=1).round(1)
    tests = DriveTest.objects.bulk_create(
        [
            DriveTest(
                number=f"T-{u}-{k}", unit=drives[u], machine=machine, tested_at=BEGUN + timedelta(days=100 * k + u % 90), tested_by=by, life_h=h,
                component_h=h, oil_temp_c=60, engine_speed_rpm=2300,
            )
            for u in range(units)
            for k, h in enumerate(hours[u])
        ],
        batch_size=BATCH,
    )  # fmt: skip
    slope = np.where(dice.random((units, len(QUANTITIES))) < 0.5, dice.gamma(3, 0.015, (units, len(QUANTITIES))), 0.0)
    for place, (quantity, direction) in enumerate(QUANTITIES):
        ratio = (1 + slope[:, place, None] * hours / 1000) ** 3 * np.exp(dice.normal(0, 0.03, hours.shape))
        ratio = np.where(dice.random(hours.shape) < 0.02, ratio * 1.3, ratio).ravel()
        gauge = dice.integers(0, len(gauges), len(tests))
        readings = Reading.objects.bulk_create(
            [
                Reading(
                    drive_test=test,
                    quantity=quantity,
                    direction=direction,
                    typed="1",
                    typed_unit="bar",
                    value=20 * r,
                    unit="bar",
                    instrument=gauges[g],
                )
                for test, r, g in zip(tests, ratio, gauge, strict=True)
            ],
            batch_size=BATCH,
        )
        ConditionAssessment.objects.bulk_create(
            [
                ConditionAssessment(reading=reading, state="inside", reason="bench", uncertainty=1.2 * r, ratio=r, edition="bench")
                for reading, r in zip(readings, ratio, strict=True)
            ],
            batch_size=BATCH,
        )


def timed(work) -> tuple[float, object]:
    began = time.perf_counter()
    result = work()
    return time.perf_counter() - began, result


def bare_write(states: list[WearState]) -> None:
    with transaction.atomic():
        WearState.objects.all().delete()
        for state in states:
            state.pk = None
        WearState.objects.bulk_create(states, batch_size=2000)


def measure(series: int) -> None:
    call_command("flush", interactive=False, verbosity=0)
    uninstall()
    lay(series)
    whole, kept = timed(review_fleet)
    read, rows = timed(lambda: list(taking_part().order_by("reading_id").values_list(*FIELDS.values())))
    write, _ = timed(lambda: bare_write(list(WearState.objects.all())))
    one, _ = timed(lambda: [review_unit(unit) for unit in DriveUnit.objects.all()[:20]])
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(
        f"{series:8,d} series {len(rows):9,d} readings | review {whole:7.2f} s | bare read {read:6.2f} s + bare write {write:6.2f} s | ratio "
        f"{whole / (read + write):5.2f} | one drive {one / 20 * 1000:6.1f} ms | peak {peak:6.0f} MB | {kept} states",
        flush=True,
    )


def main() -> None:
    words = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    words.add_argument("series", type=int, nargs="*", default=[1000, 10_000])
    asked = words.parse_args()
    call_command("migrate", verbosity=0)
    print(f"{connection.vendor}, one process")
    for series in asked.series:
        measure(series)


if __name__ == "__main__":
    main()

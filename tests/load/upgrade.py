"""An upgrade of a shop with 200,000 readings: every row is there afterwards, and how long it takes.

Run: python tests/load/upgrade.py [--readings 200000]
On PostgreSQL: FAULTS_DATABASE_URL=postgres://... with an empty database of its own.

The program has one edition so far, so a made-up later one is taken: a column, an index and a limit on readings, then one change of every reading.
Counts of all tables and the sums of all columns of readings are compared with those before; then a restart of the migrations must find nothing to do.
"""

import argparse
import sys
import time
from datetime import UTC, datetime, timedelta
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))
from tests.faults import throwaway  # noqa: E402  isort: skip  # first of all: it says where the shop lies

from django.core.management import call_command  # noqa: E402
from django.db import connection, transaction  # noqa: E402

from fleet.models import DriveTest, Reading  # noqa: E402
from shop.changes import triggers  # noqa: E402
from shop.keeping.tables import counts, sums  # noqa: E402
from tests.faults.later_edition import later_edition  # noqa: E402

A_TEST = 20
BATCH = 5_000
LONGEST_S = 300


def fill(floor, by, readings: int) -> None:
    """Lay so many readings, twenty to a test; nobody watches, as where a shop is filled from a copy."""
    triggers.uninstall()
    begun = datetime(2016, 3, 1, 9, tzinfo=UTC)
    with transaction.atomic():
        tests = DriveTest.objects.bulk_create(
            (
                DriveTest(
                    number=f"T-{k}", unit=floor.unit, machine=floor.machine, tested_at=begun + timedelta(hours=8 * k), tested_by=by,
                    life_h=k, component_h=k, oil_temp_c=60,
                )
                for k in range(readings // A_TEST)
            ),
            batch_size=BATCH,
        )  # fmt: skip
        Reading.objects.bulk_create(
            (
                Reading(
                    drive_test=test, quantity="main_relief", direction="forward", port=f"p{n}", typed=f"{390 + n / 7:.4f}", typed_unit="bar",
                    value=390 + n / 7, unit="bar", recorded_by=by,
                )
                for test in tests
                for n in range(A_TEST)
            ),
            batch_size=BATCH,
        )  # fmt: skip
    triggers.install()


def what_stands() -> tuple[dict, dict]:
    counted = {
        table: count for table, count in counts().items() if table not in ("fleet_document", "django_content_type", "auth_permission")
    }
    return counted, sums()["fleet_reading"]


def main() -> int:
    words = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    words.add_argument("--readings", type=int, default=200_000)
    asked = words.parse_args()
    floor, chief = throwaway.lay_shop()
    fill(floor, chief, asked.readings)
    before = what_stands()
    with later_edition(throwaway.PLACE / "later"):
        begun = time.perf_counter()
        call_command("migrate", verbosity=0)
        spent_s = time.perf_counter() - begun
        call_command("migrate", check_unapplied=True, verbosity=0)
    after = what_stands()
    with connection.cursor() as cursor:
        cursor.execute("SELECT count(*) FROM fleet_reading WHERE made_up = quantity")
        moved = cursor.fetchone()[0]
    same = before == after
    print(f"{connection.vendor}: {Reading.objects.count()} readings upgraded in {spent_s:.1f} s; counts and sums the same {same}, readings changed as meant {moved}, "
          f"tables not watched afterwards {triggers.unwatched()}")  # fmt: skip
    return 0 if same and moved == asked.readings and spent_s <= LONGEST_S and not triggers.unwatched() else 1


if __name__ == "__main__":
    sys.exit(main())

"""Five hundred lives of an hour meter, thirty steps each, with wrong, late, doubted and corrected readings and new meters, against a plain second book.

Run: python tests/faults/meters.py [--sequences 500] [--steps 30]
"""

import argparse
import sys
from collections import Counter
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))
from tests.faults import throwaway  # noqa: E402  isort: skip  # first of all: it says where the shop lies

from django.db import transaction  # noqa: E402

from fleet.models import Machine  # noqa: E402
from tests.records.meter_book import live_through  # noqa: E402


def main() -> int:
    words = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    words.add_argument("--sequences", type=int, default=500)
    words.add_argument("--steps", type=int, default=30)
    asked = words.parse_args()
    floor, chief = throwaway.lay_shop()
    told, wrong = Counter(), []
    for seed in range(asked.sequences):
        with transaction.atomic():
            machine = Machine.objects.create(
                number=f"M-9{seed:04d}", kind="loader", maker="Hollowick", model="L90", serial=f"L-9{seed}", customer=floor.customer,
                engine_rated_speed_rpm=2200,
            )  # fmt: skip
            try:
                told.update(live_through(1000 + seed, machine, chief, asked.steps))
            except AssertionError as difference:
                wrong.append(str(difference))
            transaction.set_rollback(True)
    print(f"{asked.sequences} lives of {asked.steps} steps: {len(wrong)} differ from the plain book; {dict(told)}")
    for line in wrong[:5]:
        print("differs:", line)
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())

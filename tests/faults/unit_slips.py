"""Units mixed up: each reading of the invented shop is typed again as if its unit had been mistaken; how many are asked about, and how many true ones?

Run: python tests/faults/unit_slips.py [--keep]

A slip counts as caught if the visit form would ask (or refuse): by the plausible span of the quantity, by the scale of the gauge, or by the last reading of the
same drive. A false alarm is a true reading of a drive asked about. With --keep the table is written to unit_slips.csv beside this file.
"""

import argparse
import csv
import sys
from collections import Counter
from datetime import date
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))
from tests.faults import throwaway  # noqa: E402, F401  isort: skip  # first of all: it says where the shop lies


from django.core.management import call_command  # noqa: E402

from calcs.quantities import QUANTITIES, unit_question  # noqa: E402
from calcs.units import from_house, to_house  # noqa: E402
from fleet.models import Reading  # noqa: E402
from shop.demo.fill import fill  # noqa: E402
from shop.visits.reading_lines import HARD_LIMITS  # noqa: E402
from shop.visits.shelf import unlike_last  # noqa: E402

SLIPS = {  # kind of measure: slips as (words, unit the gauge showed, unit it was kept as), or a factor
    "pressure": [
        ("psi kept as bar", "psi", "bar"),
        ("bar kept as psi", "bar", "psi"),
        ("MPa kept as bar", "MPa", "bar"),
        ("kPa kept as bar", "kPa", "bar"),
    ],
    "flow": [("gpm kept as L/min", "gpm", "L/min"), ("L/min kept as gpm", "L/min", "gpm")],
    "ground speed": [("mph kept as km/h", "mph", "km/h"), ("km/h kept as mph", "km/h", "mph")],
    "temperature difference": [("degF kept as K", "degF", "K")],
}
PLACES = [("point one place right, x10", 10.0), ("point one place left, x0.1", 0.1)]


def is_asked(quantity, number: float, unit: str, last: float | None, gauge) -> bool:
    house = to_house(number, unit, quantity.kind)
    low, high = HARD_LIMITS.get(quantity.kind, (-1e6, 1e6))
    beyond = gauge is not None and gauge.unit and house > to_house(gauge.span_high, gauge.unit, quantity.kind) * 1.0001
    return (
        not low <= house <= high
        or beyond
        or bool(unit_question(quantity.code, number, unit))
        or bool(unlike_last(last, number, unit, quantity.kind))
    )


def tried() -> tuple[Counter, Counter]:
    caught, of, last = Counter(), Counter(), {}
    rows = Reading.objects.standing().select_related("drive_test", "instrument").order_by("drive_test__tested_at", "pk")
    for row in rows:
        quantity, key = QUANTITIES[row.quantity], (row.drive_test.unit_id, row.quantity, row.direction)
        before, gauge = last.get(key), row.instrument if row.instrument and row.value > 0 else None
        last[key] = row.value
        gauge = (
            gauge
            if gauge and gauge.unit in ("bar", "psi", "MPa", "kPa", "L/min", "gpm") and quantity.kind in ("pressure", "flow")
            else None
        )
        attempts = [("true reading", row.value, row.unit)]
        attempts += [(words, from_house(row.value, shown, quantity.kind), kept) for words, shown, kept in SLIPS.get(quantity.kind, ())]
        attempts += [(words, row.value * factor, row.unit) for words, factor in PLACES]
        for words, number, unit in attempts:
            for name in (words, f"{words}: {row.quantity}", f"{words} {'(first of its kind)' if before is None else '(not the first)'}"):
                of[name] += 1
                caught[name] += is_asked(quantity, number, unit, before, gauge)
    return caught, of


def main() -> int:
    words = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    words.add_argument("--keep", action="store_true", help="write the table beside this file")
    keep = words.parse_args().keep
    call_command("migrate", verbosity=0)
    fill(date(2026, 11, 25))
    caught, of = tried()
    for name in sorted(of):
        print(f"{name}: {caught[name]} of {of[name]} asked about, {100 * caught[name] / of[name]:.1f} %")
    if keep:
        with Path(__file__).with_suffix(".csv").open("w", newline="", encoding="utf-8") as file:
            rows = [[name, of[name], caught[name], f"{100 * caught[name] / of[name]:.1f}"] for name in sorted(of)]
            csv.writer(file, lineterminator="\n").writerows([["what was typed", "readings", "asked about", "percent"], *rows])
    well = caught["psi kept as bar"] >= 0.99 * of["psi kept as bar"] and caught["true reading"] <= 0.01 * of["true reading"]
    print("psi kept as bar is asked about in 99 of 100, true readings in 1 of 100 at most:", "holds" if well else "does NOT hold")
    return 0 if well else 1


if __name__ == "__main__":
    sys.exit(main())

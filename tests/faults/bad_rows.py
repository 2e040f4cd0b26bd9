"""Sheets of 200 rows with none to twenty of them spoilt: the refused rows must be exactly those, each named by sheet line, column, value and reason.

Run: python tests/faults/bad_rows.py [--files 500] [--seed 1]

Sheets come as text and as workbooks, with remarks above the headings and blank rows in between, so that a line is not a count. Recall is the share of spoilt
rows that were found, precision the share of refused rows that were spoilt.
"""

import argparse
import random
import sys
from collections import Counter
from datetime import datetime, timedelta
from pathlib import Path

if __name__ == "__main__":
    sys.path.insert(0, str(Path(__file__).parents[2]))
    from tests.faults import throwaway
from tests.shop.exchange.sheets_of_floor import FAULTS, LONG, READS, as_csv, as_workbook

ROWS, MOST_SPOILT = 200, 20
REMARK = ["taken over from the bench laptop"]


def good_rows(dice: random.Random) -> list[list[str]]:
    """Rows of forty tests with five readings each."""
    rows = []
    for place in range(ROWS):
        what, way, value, unit, gauge = READS[place % len(READS)]
        test = place // len(READS)
        at = datetime(2026, 3, 10, 8) + timedelta(hours=6 * test)
        typed = f"{float(value) * dice.uniform(0.98, 1.02):.1f}"
        rows.append(
            ["H75-0188", "H75", f"{at:%Y-%m-%dT%H:%M}", f"{1211 + test / 10:.1f}", what, way, typed, unit, "61", "2290", "", gauge, ""]
        )
    return rows


def spoil(row: list[str], dice: random.Random) -> tuple[str, str]:
    """Spoil one cell; return its column and what stands there now."""
    is_flow = row[LONG.index("quantity")] == "pump_case_flow"
    column = dice.choice(sorted(FAULTS))
    fair = [text for text, _ in FAULTS[column] if (column, text, is_flow) not in (("gauge", "F-01", True), ("unit", "L/min", True))]
    row[LONG.index(column)] = text = dice.choice(fair)
    return column, text.strip()[:200]


def made_sheet(dice: random.Random) -> tuple[bytes, dict[int, tuple[str, str]], int]:
    """Return a sheet, its spoilt cells by the line that a spreadsheet shows, and how many rows are good."""
    rows, spoilt = good_rows(dice), {}
    for at in dice.sample(range(ROWS), dice.randint(0, MOST_SPOILT)):
        spoilt[at] = spoil(rows[at], dice)
    lines = [REMARK] * dice.randrange(3) + [list(LONG)]
    where = {}
    for at, row in enumerate(rows):
        lines += [[""] * len(LONG)] * (dice.random() < 0.02)
        lines.append(row)
        where[at] = len(lines)
    body = (
        as_workbook(lines)
        if dice.random() < 0.5
        else as_csv(lines, dice.choice(",;\t"), dice.choice(["utf-8", "utf-16"]), dice.choice(["\n", "\r\n"]))
    )
    return body, {where[at]: cell for at, cell in spoilt.items()}, ROWS - len(spoilt)


def tried(files: int, seed: int, by) -> Counter:
    """Look at so many sheets and count what was told of them."""
    from shop.exchange.plans import Choices
    from shop.exchange.reading_plan import plan_readings

    dice, told = random.Random(seed), Counter()
    for _ in range(files):
        body, spoilt, good = made_sheet(dice)
        plan = plan_readings(body, by, Choices())
        refused = {line for _, line in plan.refused_lines}
        told["spoilt"] += len(spoilt)
        told["missed"] += len(set(spoilt) - refused)
        told["refused and not spoilt"] += len(refused - set(spoilt))
        told["found at their cell, with value, reason and what to write"] += sum(
            is_named(plan, line, *cell) for line, cell in spoilt.items()
        )
        told["good rows not taken"] += good - len(plan.fresh)
    return told


def is_named(plan, line: int, column: str, text: str) -> bool:
    """Say whether a refusal names this cell: its letter and heading, what stands there, why not, and what to write instead."""
    letter = chr(65 + LONG.index(column))
    return any(
        (each.line, each.column, each.value) == (line, f"{letter} {column}", text) and each.reason and each.instead for each in plan.refused
    )


def main() -> int:
    words = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    words.add_argument("--files", type=int, default=500)
    words.add_argument("--seed", type=int, default=1)
    asked = words.parse_args()
    _, chief = throwaway.lay_shop()
    told = tried(asked.files, asked.seed, chief)
    found = told["spoilt"] - told["missed"]
    recall, precision = found / max(told["spoilt"], 1), found / max(found + told["refused and not spoilt"], 1)
    print(f"{asked.files} sheets of {ROWS} rows: {dict(told)}; recall {recall:.2%}, precision {precision:.2%}")
    named = told["found at their cell, with value, reason and what to write"]
    return 0 if recall == precision == 1 and named == told["spoilt"] and not told["good rows not taken"] else 1


if __name__ == "__main__":
    sys.exit(main())

"""How long the due list of a large fleet takes: 10,000 machines, 60,000 tasks.

Run: python tests/bench/due_speed.py [--profile]
"""

import argparse
import cProfile
import pstats
import sys
import time
from datetime import date
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[2]))

from calcs.due import due_table
from calcs.rules import Rule, rule_columns
from calcs.season import block_table, yearly_blocks
from calcs.usage import KIND_MONTH_H, usage_table

MACHINES, TASKS = 10_000, 60_000
RULES = [
    Rule("Charge filter", "filter", steps_h=(50,), every_h=500, every_months=12),
    Rule("Fluid", "fluid", every_h=1000, every_mixed_h=800, every_months=24),
    Rule("Oil sample", "sample", every_h=250, reset="window"),
    Rule("Hose", "hose", every_months=72, reset="item_date", anchor="hose manufacture"),
    Rule("Before-season test", every_months=12, anchor="season start", reset="grid"),
    Rule("Interlock", "interlock", every_months=12, safety=True, reset="grid"),
]


def fleet(rng: np.random.Generator) -> dict:
    kinds = rng.integers(0, len(KIND_MONTH_H), MACHINES)
    machine = np.repeat(np.arange(MACHINES), 30)
    day = np.datetime64("2023-06-10") + np.tile(np.arange(30) * 35, MACHINES)
    life_h = rng.uniform(0, 4000, MACHINES)[machine] + np.cumsum(rng.gamma(1.2, 35, (MACHINES, 30)), axis=1).ravel()
    at = np.arange(TASKS) % MACHINES
    last_h = life_h.reshape(MACHINES, 30)[:, -1][at]
    rows = {
        "rule": np.arange(TASKS) // MACHINES,
        "machine": at,
        "anchor_h": np.zeros(TASKS),
        "anchor_day": np.datetime64("2019-03-01") + rng.integers(0, 900, TASKS),
        "done_h": last_h - rng.uniform(0, 600, TASKS),
        "done_day": np.datetime64("2025-01-01") + rng.integers(0, 450, TASKS),
        "factor": rng.choice([1, 0.75, 0.6], TASKS),
        "reading_h": last_h,
        "reading_day": np.full(TASKS, np.datetime64("2026-03-21")),
    }
    blocks = [yearly_blocks("Harvest", (7, 1 + i % 20), (8, 20), [2025, 2026, 2027]) for i in range(MACHINES)]
    return {"readings": (machine, day, life_h), "kinds": kinds, "customers": rng.integers(0, 900, MACHINES), "rows": rows, "blocks": blocks}


def timed(what: str, act, times: int = 1):
    spent = []
    for _ in range(times):
        start = time.perf_counter()
        result = act()
        spent.append(time.perf_counter() - start)
    print(f"{what:45} median {np.median(spent) * 1000:7.1f} ms   95 % {np.quantile(spent, 0.95) * 1000:7.1f} ms")
    return result


if __name__ == "__main__":
    words = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    words.add_argument("--profile", action="store_true", help="where the time of the table goes")
    asked = words.parse_args()
    made = fleet(np.random.default_rng(7))
    months = list(KIND_MONTH_H.values())
    usage = timed("usage table, 300,000 readings", lambda: usage_table(*made["readings"], made["kinds"], made["customers"], months), 3)
    blocks = timed("season blocks as columns", lambda: block_table(made["blocks"]))
    columns = rule_columns(RULES)
    table = timed("due table, 60,000 tasks", lambda: due_table(columns, made["rows"], usage, date(2026, 4, 15), blocks), 20)
    timed("the page: first 100 of the list in order", lambda: table.nsmallest(100, "left_days"), 20)
    print(table.state.value_counts().to_dict(), table.move.value_counts().to_dict())
    if asked.profile:
        profile = cProfile.Profile()
        profile.runcall(due_table, columns, made["rows"], usage, date(2026, 4, 15), blocks)
        pstats.Stats(profile).sort_stats("cumtime").print_stats(30)

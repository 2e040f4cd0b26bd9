"""How often the true day lies inside the band: made-up fleets with years, seasons and weather of their own.

Run: python tests/bench/usage_bands.py
"""

import argparse
import sys
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[2]))

from calcs.day_reached import date_reached
from calcs.usage import KIND_MONTH_H, MONTH_DAYS, usage_table

KINDS = ("combine", "windrower", "tractor", "loader")
START = np.datetime64("2022-01-01")
DAYS = 5 * 365


def made_up_hours(rng: np.random.Generator, kind: str) -> np.ndarray:
    """Return hours a day over five years: a machine's level, a year's level, a season shifted by weather, days of work or none."""
    days = START + np.arange(DAYS)
    month = days.astype("datetime64[M]").astype(int) % 12
    year = (np.arange(DAYS) / 365.25).astype(int)
    rate = (np.array(KIND_MONTH_H[kind]) / MONTH_DAYS)[month] * rng.lognormal(0, 0.4)
    shifted = np.array([np.roll(rate, rng.integers(-10, 11))[i] for i in range(5) for i in np.flatnonzero(year == i)])
    level = rng.lognormal(0, 0.18, 6)[year]
    worked = rng.random(DAYS) < 0.55
    return worked * np.minimum(shifted * level / 0.55, 20) * rng.uniform(0.6, 1.4, DAYS)


def coverage(rng: np.random.Generator, kind: str, fleet: int = 250) -> tuple[float, float, float, float]:
    """Return share of true days below low, inside, above high, and the mean miss of the likely day."""
    hours = np.array([made_up_hours(rng, kind) for _ in range(fleet)])
    life_h = np.cumsum(hours, axis=1)
    seen = np.array([np.sort(rng.choice(3 * 365, rng.integers(4, 30), replace=False)) for _ in range(fleet)], dtype=object)
    machine = np.concatenate([np.full(len(at), i) for i, at in enumerate(seen)])
    at = np.concatenate(list(seen)).astype(int)
    kind_row = np.full(fleet, KINDS.index(kind))
    table = usage_table(machine, START + at, life_h[machine, at], kind_row, np.arange(fleet) % 40, [KIND_MONTH_H[k] for k in KINDS])
    last = np.array([int(a[-1]) for a in seen])
    now_h = life_h[np.arange(fleet), last]
    target_h = now_h + rng.uniform(30, 500, fleet)
    reached = (life_h >= target_h[:, None]).argmax(axis=1)
    fair = (life_h[:, -1] >= target_h) & (reached > last)
    band = date_reached(table, np.arange(fleet), START + last, now_h, target_h)
    true = START + reached
    low, high = (true < band.low)[fair].mean(), (true > band.high)[fair].mean()
    return low, 1 - low - high, high, np.abs((true - band.likely)[fair].astype(int)).mean()


if __name__ == "__main__":
    argparse.ArgumentParser(description=__doc__.splitlines()[0]).parse_args()
    rng = np.random.default_rng(20)
    print(f"{'kind':12} {'below':>6} {'inside':>7} {'above':>6} {'mean miss of likely, days':>26}")
    for kind in KINDS:
        print("{:12} {:6.2f} {:7.2f} {:6.2f} {:26.1f}".format(kind, *coverage(rng, kind)))

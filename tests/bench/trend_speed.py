"""Time of trends and forecasts beside one numpy.lexsort of the same rows and beside loops that give less, all in one run.

Run: OMP_NUM_THREADS=1 python tests/bench/trend_speed.py [--big]
"""

from __future__ import annotations

import argparse
import sys
import time
import tracemalloc
import warnings
from pathlib import Path

import numpy as np
import pandas as pd
import pymannkendall
import statsmodels.api as sm
from scipy import stats

sys.path[:0] = [str(Path(__file__).parents[2]), str(Path(__file__).parents[1])]

from simulated_fleet import draw_fleet, draw_truth  # noqa: E402

from calcs.forecast import hours_to_limit  # noqa: E402
from calcs.trend import fit_fleet, refresh, trend_flags  # noqa: E402

CHANCES = (0.05, 0.1, 0.25, 0.5, 0.75, 0.9, 0.95)
READINGS = 8
LOOPED = 400


def timed(work, times: int = 3) -> float:
    """Least seconds of processor time of some tries."""
    found = []
    for _ in range(times):
        began = time.process_time()
        work()
        found.append(time.process_time() - began)
    return min(found)


def loops(frame: pd.DataFrame) -> dict[str, float]:
    """Seconds a series of the ways that go series by series."""
    hours = frame["life_h"].to_numpy().reshape(-1, READINGS)[:LOOPED]
    ratio = frame["ratio"].to_numpy().reshape(-1, READINGS)[:LOOPED]
    ways = {
        "scipy theilslopes": lambda h, r: stats.theilslopes(r, h),
        "pymannkendall": lambda h, r: pymannkendall.original_test(r),
        "statsmodels OLS + band": lambda h, r: sm.OLS(r, sm.add_constant(h)).fit().get_prediction([1.0, h[-1]]).conf_int(),
    }
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        return {name: timed(lambda way=way: list(map(way, hours, ratio)), 1) / len(hours) for name, way in ways.items()}


def one_size(units: int) -> dict:
    """Times at one number of series, sorted rows and shuffled."""
    frame = draw_fleet(draw_truth(np.random.default_rng(3)), np.full(units, READINGS), np.random.default_rng(3)).readings
    shuffled = frame.sample(frac=1, random_state=1)
    fit = fit_fleet(frame)
    one = frame[frame["series"] == units // 2]
    stored = fit.group_rows()
    series, hours = frame["series"].to_numpy(), frame["life_h"].to_numpy()
    mixed_series, mixed_hours = shuffled["series"].to_numpy(), shuffled["life_h"].to_numpy()
    values = frame["ratio"].to_numpy()
    return {
        "rows": len(frame),
        "trend flags alone": timed(lambda: trend_flags(frame)),
        "fit": timed(lambda: fit_fleet(frame)),
        "forecast, 7 points": timed(lambda: hours_to_limit(fit, 2.0, CHANCES)),
        "fit, rows shuffled": timed(lambda: fit_fleet(shuffled)),
        "one series anew": timed(lambda: [hours_to_limit(refresh(stored, one), 2.0) for _ in range(20)]) / 20,
        "lexsort": timed(lambda: np.lexsort((hours, series))),
        "lexsort, shuffled": timed(lambda: np.lexsort((mixed_hours, mixed_series))),
        "sort of one array": timed(lambda: np.sort(values)),
    } | {f"loop {name}": each * units for name, each in loops(frame).items()}


def peak_mb(units: int) -> tuple[float, float]:
    """Most memory beyond the input while fitting and while foretelling."""
    frame = draw_fleet(draw_truth(np.random.default_rng(3)), np.full(units, READINGS), np.random.default_rng(3)).readings
    tracemalloc.start()
    fit = fit_fleet(frame)
    first = tracemalloc.get_traced_memory()[1] / 1e6
    tracemalloc.reset_peak()
    hours_to_limit(fit, 2.0, CHANCES)
    second = tracemalloc.get_traced_memory()[1] / 1e6
    tracemalloc.stop()
    return first, second


def many_groups(groups: int = 400, units: int = 300) -> float:
    """Seconds for many groups at once."""
    parts = []
    for group in range(groups):
        rng = np.random.default_rng(group)
        parts.append(draw_fleet(draw_truth(rng), rng.choice([2, 3, 4, 5, 6, 8, 10, 15], units), rng, group, group * units).readings)
    frame = pd.concat(parts, ignore_index=True)
    frame["scale"] = frame["scale"].astype("category")
    return timed(lambda: fit_fleet(frame), 2)


def main() -> None:
    """Print the table."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--big", action="store_true", help="a million readings, many groups and memory too")
    big = asked.parse_args().big
    sizes = [1_000, 10_000, 100_000] + [125_000] * big
    table = pd.DataFrame({units: one_size(units) for units in sizes})
    both = table.loc["fit"] + table.loc["forecast, 7 points"]
    table.loc["all / lexsort shuffled"] = both / table.loc["lexsort, shuffled"]
    table.loc["all / sorts of one array"] = both / table.loc["sort of one array"]
    table.loc["fit / lexsort shuffled"] = table.loc["fit"] / table.loc["lexsort, shuffled"]
    table.loc["three loops / all"] = table.loc[[name for name in table.index if name.startswith("loop")]].sum() / both
    table.loc["flags alone / lexsort shuffled"] = table.loc["trend flags alone"] / table.loc["lexsort, shuffled"]
    table.loc["Mann-Kendall loop / flags alone"] = table.loc["loop pymannkendall"] / table.loc["trend flags alone"]
    print(table.round(4).to_string())
    if big:
        print(f"most memory beyond the input at 1 M readings: fit {peak_mb(125_000)[0]:.0f} MB, forecast {peak_mb(125_000)[1]:.0f} MB")
        print(f"400 groups of 300 series: {many_groups():.1f} s")


if __name__ == "__main__":
    main()

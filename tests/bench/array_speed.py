"""Array calls of calcs against the same law called number by number: `python tests/bench/array_speed.py`.

Prints, for each law, the time of both ways for the same numbers and their ratio; both answers are compared first.
"""

from __future__ import annotations

import argparse
import sys
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[2]))

from calcs.cooling import stream_rise_k
from calcs.dilution import old_share_after, settled_by_top_up
from calcs.fluid import density_at, viscosity_at, viscosity_sensitivity
from calcs.heat import throttled_rise_k
from calcs.oil_analysis import wear_rate
from calcs.orifice import orifice_flow_lpm
from calcs.slipper_film import film_um
from calcs.traction import net_traction

NUMBERS = 50_000
REPEATS = 5


def spread(low: float, high: float) -> np.ndarray:
    return np.random.default_rng(1).uniform(low, high, NUMBERS)


CASES: dict[str, tuple[Callable, tuple]] = {
    "viscosity over temperature": (viscosity_at, (spread(-10, 100), 46.0, 6.8)),
    "sensitivity of viscosity": (viscosity_sensitivity, (spread(-10, 100), 46.0, 6.8)),
    "density over temperature": (density_at, (spread(-10, 120), 870.0)),
    "old oil after changes": (old_share_after, (spread(1, 30), 45.0, spread(0, 9))),
    "wear metal under top-up": (settled_by_top_up, (0.1, spread(0.01, 0.1), 45.0, spread(1, 2000))),
    "wear rate": (wear_rate, (spread(1, 20), spread(20, 60), spread(50, 500), spread(0, 9), 45.0)),
    "warming by throttling": (throttled_rise_k, (spread(0, 420),)),
    "warming of a stream": (stream_rise_k, (spread(1, 50), spread(10, 200))),
    "orifice flow": (orifice_flow_lpm, (spread(0.3, 2), spread(1, 400))),
    "film under a slipper": (film_um, (spread(0.01, 1), spread(10, 400), 20.0, 12.5, 8.5)),
    "net traction": (net_traction, (spread(15, 80), spread(0, 0.4))),
}


def in_a_loop(law: Callable, given: tuple) -> list[float]:
    rows = zip(*(number.tolist() if np.ndim(number) else [number] * NUMBERS for number in given), strict=True)
    return [law(*row) for row in rows]


def seconds(act: Callable[[], object], repeats: int) -> float:
    times = []
    for _ in range(repeats):
        began = time.perf_counter()
        act()
        times.append(time.perf_counter() - began)
    return min(times)


def compare(name: str, law: Callable, given: tuple) -> float:
    np.testing.assert_allclose(law(*given), in_a_loop(law, given), rtol=1e-9)
    array_s = seconds(lambda: law(*given), REPEATS)
    loop_s = seconds(lambda: in_a_loop(law, given), 1)
    print(f"{name:<28} loop {loop_s * 1e3:8.1f} ms   array {array_s * 1e3:7.2f} ms   {loop_s / array_s:6.0f} times")
    return loop_s / array_s


def main() -> None:
    argparse.ArgumentParser(description=__doc__).parse_args()
    print(f"{NUMBERS:,} numbers each, best of {REPEATS} for the array")
    ratios = [compare(name, law, given) for name, (law, given) in CASES.items()]
    print(f"least {min(ratios):.0f} times, median {np.median(ratios):.0f} times")


if __name__ == "__main__":
    main()

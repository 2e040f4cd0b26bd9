"""Laws of the drive as array calls against a loop, and how long it takes to judge 3,000 readings: `python tests/bench/drive_speed.py`."""

from __future__ import annotations

import argparse
import random
import sys
import time
from dataclasses import replace
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[2]))

from calcs.baselines import expected_reading
from calcs.charge import charge_efficiency_at, charge_pressure
from calcs.drive import ground_speed, motor_displacement, motor_speed
from calcs.gaps import piston_leakage
from calcs.leakage import leakage_coefficient, predicted_leakage
from calcs.losses import torque_loss
from calcs.piston_unit import swash_displacement
from calcs.pull import pull_at_speed
from calcs.uncertainty import Instrument, coefficient_uncertainty
from calcs.units import to_house
from calcs.verdicts import judge_reading
from tests.bench.array_speed import compare, spread
from tests.calcs.reference_drive import LOADED, R1, VG46


def torque_lost(speed_rpm, pressure_bar):
    return torque_loss(107.0, speed_rpm, pressure_bar, 27.84, 870.0, (23.5e3, 0.0537, 53.6))


CASES = {
    "psi to bar": (to_house, (spread(0, 6000), "psi")),
    "swash-plate displacement": (swash_displacement, (9, 15.0, 125.0, spread(-17, 17))),
    "leakage past a piston": (piston_leakage, (20.0, spread(5, 40), 35.0, 300.0, 20.0, 0.5)),
    "torque loss": (torque_lost, (spread(500, 3000), spread(20, 400))),
    "leakage coefficient": (leakage_coefficient, (spread(0.1, 20), spread(20, 400), spread(5, 60))),
    "leakage elsewhere": (predicted_leakage, (4.5e-14, spread(20, 400), spread(5, 60))),
    "motor displacement": (motor_displacement, (spread(-2, 2), 160.0, 80.0)),
    "motor speed": (motor_speed, (spread(-1, 1), 100.0, 2200.0, 160.0, spread(0, 20))),
    "ground speed": (ground_speed, (spread(-2500, 2500), 24.0, 0.75)),
    "pull over speed": (pull_at_speed, (spread(0, 30), 30237.5, 75.0, 0.741545)),
    "charge pump efficiency": (charge_efficiency_at, (0.9, spread(500, 3000), 2200.0, spread(5, 60), 17.5)),
    "charge pressure": (charge_pressure, (22.0, spread(0, 50), 30.0, 0.1)),
    "uncertainty of leakage": (coefficient_uncertainty, (spread(0.001, 0.05), 0.015, 1.0, -0.035)),
}
CODES = ("charge_neutral", "charge_stroked", "main_relief", "pump_case_flow", "motor_case_flow", "top_speed")
READINGS = 3000


def seconds_to_judge() -> float:
    """Time the judgement of readings near what they should be, each at an oil temperature of its own."""
    chance, new = random.Random(1), {code: expected_reading(code, R1, VG46, LOADED).value for code in CODES}
    meter = Instrument("M", reading_percent=1.0, resolution=0.1)
    began = time.perf_counter()
    for count in range(READINGS):
        code = CODES[count % len(CODES)]
        conditions = replace(LOADED, oil_temp_c=chance.uniform(50, 80))
        judge_reading(code, new[code] * chance.gauss(1, 0.03), spec=R1, oil=VG46, conditions=conditions, instrument=meter)
    return time.perf_counter() - began


def main() -> None:
    argparse.ArgumentParser(description=__doc__).parse_args()
    ratios = [compare(name, law, given) for name, (law, given) in CASES.items()]
    print(f"least {min(ratios):.0f} times, median {np.median(ratios):.0f} times")
    print(f"{READINGS:,} readings judged with their working in {seconds_to_judge():.2f} s")


if __name__ == "__main__":
    main()

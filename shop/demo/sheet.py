"""The lines of the demo's test sheet: what is read where, how often, under which load, with which gauge."""

from collections.abc import Callable
from dataclasses import dataclass

from shop.demo.stories import GAUGE_DROPPED_AGO, HIGH_GAUGE, machine_of

LOAD_BAR = 200.0
PULL_BAR = 150.0
KITS = {  # who carries what: charge gauge, system gauge, flow meter
    "tilde": ("G-01", "G-11", "F-01"),
    "kaisa": ("G-02", "G-12", "F-02"),
    "walt": ("G-03", "G-13", "F-03"),
}
HIGH_GAUGE_SHARE = 0.28
BAD_GAUGE_DAYS = range(50, 130)  # the gauge that failed its calibration was in use then


@dataclass(frozen=True)
class Line:
    """One reading of the sheet. `truth` gives the true value where the laws of the drive have none."""

    quantity: str
    direction: str
    port: str
    share: float
    minute: int
    loop_bar: float | None = None
    kit: int | None = None
    gauge: str = ""
    is_idle: bool = False
    is_repeated: bool = False
    truth: Callable | None = None

    def rpm(self, machine) -> float | None:
        return machine.engine_idle_speed_rpm if self.is_idle else machine.engine_rated_speed_rpm


def case_pressure(one, drive) -> float:
    return drive.conditions.case_pressure_bar


def inlet_pressure(one, drive) -> float:
    return 0.88 + float(one.throw.normal(0, 0.015))


def filter_difference(one, drive) -> float:
    """A clean element takes a third of a bar; the one that was never changed takes most of what it may."""
    late = one.test.machine.number == machine_of("overdue_filter") and one.days_ago < 330
    return 2.6 + (330 - one.days_ago) / 400 if late else 0.35 + float(one.throw.uniform(0, 0.8))


def no_motion(one, drive) -> float:
    return 0.0


SHEET = (
    Line("charge_inlet_pressure", "", "IN", 0.2, 2, gauge="G-22", truth=inlet_pressure),
    Line("filter_differential", "", "FD", 0.35, 4, gauge="G-21", truth=filter_difference),
    Line("charge_neutral_idle", "", "CH", 0.7, 6, kit=0, is_idle=True),
    Line("charge_neutral", "", "CH", 1.0, 8, kit=0),
    Line("charge_stroked", "forward", "CH", 1.0, 11, PULL_BAR, kit=0),
    Line("charge_stroked", "reverse", "CH", 0.7, 13, PULL_BAR, kit=0),
    Line("main_relief", "forward", "MA", 0.95, 16, kit=1),
    Line("main_relief", "reverse", "MA", 0.8, 18, kit=1),
    Line("case_pressure", "", "PD", 0.35, 21, LOAD_BAR, gauge="G-21", truth=case_pressure),
    Line("pump_case_flow", "", "PD", 0.97, 24, LOAD_BAR, kit=2, is_repeated=True),
    Line("motor_case_flow", "", "MD", 0.9, 28, LOAD_BAR, kit=2, is_repeated=True),
    Line("total_case_return", "", "TR", 0.12, 31, LOAD_BAR, kit=2),
    Line("flushing_flow", "", "MD", 0.12, 33, kit=2),
    Line("top_speed", "forward", "", 0.75, 38, gauge="V-01"),
    Line("top_speed", "reverse", "", 0.45, 41, gauge="V-01"),
    Line("neutral_creep", "forward", "", 0.3, 44, gauge="N-01", truth=no_motion),
)


def gauge_for(line: Line, one) -> str:
    """Return the tag of the gauge that was at hand: mostly one's own, now and then the spare one that was dropped."""
    if line.gauge:
        return line.gauge
    spare = one.days_ago <= GAUGE_DROPPED_AGO and 37 * int(one.test.number[-5:]) % 100 < 100 * HIGH_GAUGE_SHARE
    if line.kit == 0 and spare and not one.is_us:
        return HIGH_GAUGE
    if line.kit == 1 and one.days_ago in BAD_GAUGE_DAYS and int(one.test.number[-5:]) % 5 == 0:
        return "G-14"
    return KITS[one.test.tested_by.username][line.kit]

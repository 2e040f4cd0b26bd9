"""Readings held against each other: after a repair against before, forward against reverse, each difference with its own uncertainty."""

from __future__ import annotations

from dataclasses import dataclass

from calcs.baselines import expected_reading
from calcs.healthy import NotComparable
from calcs.paired import Difference, paired_difference
from calcs.quantities import QUANTITIES
from calcs.uncertainty import Instrument as Gauge
from calcs.uncertainty import class_uncertainty, combined_uncertainty
from fleet.judging_facts import Facts
from fleet.models import DriveTest, Reading

REPEAT_SHARE = {
    "pressure": 0.005,
    "flow": 0.015,
    "speed": 0.005,
    "ground speed": 0.01,
}  # from one try to the next; common practice, no source
FAR_APART_K = 3.0  # two tests whose oil differs by more are not alike; common practice, no source


@dataclass(frozen=True)
class Compared:
    """Two readings of one quantity and their difference."""

    what: str
    kind: str
    first: Reading
    second: Reading
    difference: Difference
    is_referred: bool
    same_gauge: bool
    remark: str = ""

    @property
    def words(self) -> str:
        if not self.difference.is_real:
            return "within its uncertainty"
        return "higher" if self.difference.value > 0 else "lower"

    @property
    def state(self) -> str:
        return "undecided" if not self.difference.is_real else "outside high" if self.difference.value > 0 else "outside low"


def readings_of(test: DriveTest | None) -> list[Reading]:
    if test is None:
        return []
    return list(Reading.objects.standing().filter(drive_test=test, is_valid=True).with_verdicts().order_by("pk"))


def before_and_after(before: DriveTest | None, after: DriveTest | None) -> list[Compared]:
    """Return what changed from one test to the other, quantity by quantity, at standard conditions where both can be referred to them."""
    first, second = readings_of(before), readings_of(after)
    if not first or not second:
        return []
    facts, then = Facts([*first, *second]), {(row.quantity, row.direction): row for row in first}
    pairs = [(then[row.quantity, row.direction], row) for row in second if (row.quantity, row.direction) in then]
    return [compared(one, other, facts) for one, other in pairs if one.quantity in QUANTITIES]


def forward_and_reverse(test: DriveTest | None) -> list[Compared]:
    """Return reverse less forward of one test: what one gauge and one oil do to both falls out."""
    rows = readings_of(test)
    if not rows:
        return []
    facts, forward = Facts(rows), {row.quantity: row for row in rows if row.direction == Reading.Direction.FORWARD}
    pairs = [(forward[row.quantity], row) for row in rows if row.direction == Reading.Direction.REVERSE and row.quantity in forward]
    return [compared(one, other, facts, same_test=True) for one, other in pairs if one.quantity in QUANTITIES]


def compared(one: Reading, other: Reading, facts: Facts, same_test: bool = False) -> Compared:
    quantity = QUANTITIES[one.quantity]
    referred = [row.verdicts[0].referred if row.verdicts else None for row in (one, other)]
    is_referred = None not in referred and not same_test and 0 not in (one.value, other.value)
    values = referred if is_referred else [one.value, other.value]
    scales = [value / row.value if is_referred else 1.0 for value, row in zip(values, (one, other), strict=True)]
    same_gauge = one.instrument_id is not None and one.instrument_id == other.instrument_id
    parts = [parts_of(row, scale, facts, same_test) for row, scale in zip((one, other), scales, strict=True)]
    shared = min(part[1] for part in parts) if same_gauge else 0.0
    found = paired_difference(*values, *(part[0] for part in parts), shared)
    direction = f", {other.direction}" if other.direction and not same_test else ""
    return Compared(
        f"{quantity.label}{direction}", quantity.kind, one, other, found, is_referred, same_gauge, remark_of(one, other, is_referred)
    )


def parts_of(row: Reading, scale: float, facts: Facts, same_test: bool) -> tuple[float, float]:
    """Return the whole standard uncertainty of a reading and the part that comes from its gauge's class, both scaled alike."""
    whole, kind = facts.uncertainty(row) * scale, QUANTITIES[row.quantity].kind
    doubt = 0.0 if same_test else conditions_uncertainty(row, facts) * scale
    again = REPEAT_SHARE.get(kind, 0.02) * abs(row.value) * scale / max(len(row.repeats), 1) ** 0.5
    return float(combined_uncertainty(whole, doubt, again)), min(class_part(facts.gauge(row), row.value) * scale, whole)


def class_part(gauge: Gauge | None, value: float) -> float:
    """Return what the class of a gauge adds: the same, and of the same sign, whenever it is used."""
    if gauge is None:
        return 0.0
    if gauge.class_percent and gauge.span:
        return float(class_uncertainty(gauge.class_percent, gauge.span))
    return float(class_uncertainty(gauge.reading_percent, abs(value))) if gauge.reading_percent and value else 0.0


def conditions_uncertainty(row: Reading, facts: Facts) -> float:
    """Return what the doubt of oil temperature, speed and load adds; nothing where no value can be expected."""
    test = row.drive_test
    try:
        return expected_reading(row.quantity, facts.spec(test), facts.oil(test).oil, facts.conditions(row)).uncertainty
    except (NotComparable, ValueError):
        return 0.0


def remark_of(one: Reading, other: Reading, is_referred: bool) -> str:
    told = []
    temps = [row.at_oil_temp_c for row in (one, other)]
    if not is_referred and None not in temps and abs(temps[0] - temps[1]) > FAR_APART_K:
        told.append(f"oil {abs(temps[0] - temps[1]):.0f} K apart and not referred: hard to compare")
    if one.instrument_id != other.instrument_id:
        told.append("another instrument")
    if Reading.Stability.HUNTING in (one.stability, other.stability):
        told.append("needle hunting")
    return "; ".join(told)

"""Gauges and people held against the whole fleet: how far each reads from the middle of the others, with its uncertainty."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass

import numpy as np

from calcs.bias import Bias, label_biases
from calcs.quantities import QUANTITIES
from calcs.units import UNITS, step_of
from fleet.models import Calibration, ConditionAssessment, Instrument, Reading
from shop.kept import keep, latest_hashes

State = ConditionAssessment.State
NOT_HELD = (State.NOT_COMPARABLE, State.IMPOSSIBLE)
ONLY_A_LIMIT = ("case_pressure", "charge_inlet_pressure", "filter_differential", "neutral_creep", "stroke_time", "loop_pressure")
FEWEST_READINGS = 8
NAME = "gauges against the fleet"


@dataclass(frozen=True)
class Held:
    """One gauge or person at one quantity; `allowed` is what its class lets a gauge be off."""

    quantity: str
    label: str
    bias: Bias
    allowed: float | None
    instrument_pk: int | None = None

    @property
    def kind(self) -> str:
        return QUANTITIES[self.quantity].kind

    @property
    def what(self) -> str:
        return QUANTITIES[self.quantity].label

    @property
    def expanded(self) -> float:
        return 2 * self.bias.standard

    @property
    def is_beyond(self) -> bool:
        """Whether it is found to read off, and by more than its class allows, beyond doubt."""
        return self.bias.is_found and abs(self.bias.bias) - self.expanded > (self.allowed or 0.0)

    @property
    def state(self) -> str:
        if self.is_beyond:
            return "outside high" if self.bias.bias > 0 else "outside low"
        if self.bias.readings < FEWEST_READINGS:
            return "too few"
        return "undecided" if self.allowed is not None and self.expanded > self.allowed else "inside"

    @property
    def words(self) -> str:
        if self.is_beyond:
            return "reads high" if self.bias.bias > 0 else "reads low"
        if self.state in ("too few", "undecided"):
            return "too few readings" if self.state == "too few" else "cannot be told"
        return "within its class" if self.allowed is not None else "no different"


@dataclass(frozen=True)
class AgainstFleet:
    gauges: list[Held]
    people: list[Held]

    @property
    def found(self) -> list[Held]:
        return [held for held in self.gauges if held.is_beyond]

    @property
    def not_found(self) -> list[Held]:
        return [held for held in self.gauges if not held.is_beyond]

    @property
    def found_people(self) -> list[Held]:
        return [held for held in self.people if held.is_beyond]


def against_the_fleet() -> AgainstFleet:
    """Return every gauge and person held against the fleet; kept until a reading, a verdict or a gauge changes."""
    return keep(NAME, latest_hashes([Reading, ConditionAssessment, Instrument, Calibration]), worked_out)


def worked_out() -> AgainstFleet:
    fields = (
        "reading__quantity",
        "reading__value",
        "expected",
        "reading__drive_test__unit",
        "reading__instrument",
        "reading__drive_test__tested_by",
    )
    rows = (
        ConditionAssessment.objects.in_force()
        .filter(expected__isnull=False, reading__is_valid=True, reading__superseded_by=None, reading__instrument__isnull=False)
        .exclude(state__in=NOT_HELD)
        .exclude(reading__stability=Reading.Stability.HUNTING)
        .exclude(reading__quantity__in=ONLY_A_LIMIT)
        .order_by("pk")
        .values_list(*fields, "reading__drive_test__tested_by__first_name", "reading__drive_test__tested_by__username")
    )
    by_quantity = defaultdict(list)
    for row in rows:
        by_quantity[row[0]].append(row)
    instruments = Instrument.objects.in_bulk()
    gauges = [held for code, found in by_quantity.items() for held in gauges_held(code, found, instruments)]
    people = [held for code, found in by_quantity.items() for held in people_held(code, found)]
    order = list(QUANTITIES)
    return AgainstFleet(
        *(sorted(part, key=lambda one: (not one.is_beyond, order.index(one.quantity), one.label)) for part in (gauges, people))
    )


def held_against(rows, label: int, beside: int) -> list[Bias]:
    residual = np.array([row[1] - row[2] for row in rows])
    labels, others = [str(row[label]) for row in rows], [str(row[beside]) for row in rows]
    if len(set(labels)) < 2 or not np.ptp(residual) > 0:
        return []
    return label_biases(residual, [row[3] for row in rows], labels, others)


def gauges_held(code: str, rows, instruments: dict[int, Instrument]) -> list[Held]:
    middle = float(np.median([row[1] for row in rows]))
    kind, held = QUANTITIES[code].kind, []
    for bias in held_against(rows, 4, 5):
        gauge = instruments[int(bias.label)]
        held.append(Held(code, gauge.tag, bias, allowed_error(gauge, middle, kind), gauge.pk))
    return held


def people_held(code: str, rows) -> list[Held]:
    names = {str(row[5]): row[6] or row[7] for row in rows}
    return [Held(code, names[bias.label], bias, None) for bias in held_against(rows, 5, 4)]


def allowed_error(gauge: Instrument, value: float, kind: str) -> float | None:
    """Return what the class of a gauge lets it be off at a value, in the house unit; None where the class is not known."""
    if gauge.accuracy_class_pct is None or gauge.unit not in UNITS or UNITS[gauge.unit].kind != kind:
        return None
    if gauge.accuracy_basis == Instrument.Basis.READING:
        return gauge.accuracy_class_pct / 100 * abs(value)
    return gauge.accuracy_class_pct / 100 * (gauge.span_high - gauge.span_low) * step_of(gauge.unit, kind)[0]


def held_of(instrument: Instrument) -> list[Held]:
    return [held for held in against_the_fleet().gauges if held.instrument_pk == instrument.pk]

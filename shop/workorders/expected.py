"""What one drive with its oil should show at each step and at four oil temperatures, with the limit, the working and what a gauge can decide."""

from dataclasses import dataclass, field
from functools import lru_cache

from calcs.baselines import TEST_TEMPS_C, Expectation, expected_at_temperatures
from calcs.drive_spec import Conditions, DriveSpec, Oil
from calcs.healthy import NotComparable
from calcs.quantities import QUANTITIES
from calcs.uncertainty import class_that_decides, expanded_uncertainty, fitting_span, reading_uncertainty
from fleet.fluid_in_use import oil_in
from fleet.judging_facts import gauge_of, spec_of
from fleet.models import AcceptanceRule, Instrument
from shop.workorders.steps import Step

SHOWN_AT = TEST_TEMPS_C.index(60.0)


@dataclass
class DriveFacts:
    """The facts that a sheet for one unit in one machine is worked out from."""

    unit: object
    machine: object
    oil: Oil | None
    oil_reason: str
    spec: DriveSpec
    rules: dict
    ports: dict
    gauges: list = field(default_factory=list)

    def rule(self, step: Step) -> AcceptanceRule | None:
        return self.rules.get((step.quantity, step.direction)) or self.rules.get((step.quantity, ""))


def facts_of(unit, machine, day) -> DriveFacts:
    model, found = unit.drive_model, oil_in(machine)
    rules = AcceptanceRule.objects.filter(drive_model=model, is_retired=False).select_related("document")
    gauges = list(Instrument.objects.in_service().prefetch_related("calibrations"))
    return DriveFacts(
        unit, machine, found.oil, found.reason, spec_of(model, machine), {(row.quantity, row.direction): row for row in rules},
        {port.quantity: port for port in model.ports.all()}, [(gauge, day) for gauge in gauges],
    )  # fmt: skip


def conditions_of(step: Step, facts: DriveFacts) -> Conditions:
    """The conditions that the sheet asks for at a step."""
    machine, model = facts.machine, facts.unit.drive_model
    speed = machine.engine_idle_speed_rpm if step.at == "low idle" else machine.engine_rated_speed_rpm
    return Conditions(
        engine_speed_rpm=speed,
        loop_pressure_bar=loaded_bar(step, facts),
        direction=step.direction,
        drain_in_series=model.drains == model.Drains.SERIES,
    )


def loaded_bar(step: Step, facts: DriveFacts) -> float | None:
    """The loop pressure of a loaded step: the maker's rule states one, else where the model's efficiencies are stated."""
    rule = facts.rule(step)
    if rule and rule.pressure_bar:
        return rule.pressure_bar
    return facts.unit.drive_model.efficiency_at_pressure_bar if step.is_loaded else None


@lru_cache(maxsize=4_000)
def expectations(quantity: str, spec: DriveSpec, oil: Oil | None, conditions: Conditions) -> tuple[Expectation, ...] | str:
    """Expectations at the four temperatures, or the reason why there are none."""
    try:
        return tuple(expected_at_temperatures(quantity, spec, oil, conditions))
    except NotComparable as reason:
        return str(reason)


def expected_of(step: Step, facts: DriveFacts) -> tuple[Expectation, ...] | str:
    return expectations(step.quantity, facts.spec, facts.oil, conditions_of(step, facts))


def limits_of_step(step: Step, facts: DriveFacts, found) -> tuple[float | None, float | None]:
    """Lower and upper limit of the maker's rule, as far as it states figures, else of the calculated expectation at 60 degrees."""
    rule = facts.rule(step)
    if rule and rule.has_source:
        return figures_of(rule)
    return (found[SHOWN_AT].low, found[SHOWN_AT].high) if not isinstance(found, str) else (None, None)


def figures_of(rule: AcceptanceRule) -> tuple[float | None, float | None]:
    if rule.form == AcceptanceRule.Form.NOMINAL:
        return rule.nominal - rule.tolerance, rule.nominal + rule.tolerance
    if rule.form == AcceptanceRule.Form.THREE_CLASSES:
        return None, rule.high
    if rule.form == AcceptanceRule.Form.GREATEST_DROP:
        return None, None
    return rule.low, rule.high


def gauge_for(step: Step, facts: DriveFacts, value: float | None):
    """The gauge in service whose scale suits the value best: the smallest that keeps it in the lower two thirds."""
    kind = QUANTITIES[step.quantity].kind.replace(" ", "_")
    fitting = [gauge for gauge, _ in facts.gauges if gauge.kind == kind and (value is None or gauge.span_high >= 1.4 * value)]
    return min(fitting, key=lambda gauge: gauge.span_high, default=None)


def what_the_gauge_cannot_decide(step: Step, facts: DriveFacts, found, gauge) -> str:
    """One sentence where the gauge's own uncertainty is wider than the gap to the limit; empty where it can decide."""
    if isinstance(found, str) or gauge is None:
        return ""
    quantity, value = QUANTITIES[step.quantity], found[SHOWN_AT].value
    gaps = [abs(value - limit) for limit in limits_of_step(step, facts, found) if limit is not None and limit != value]
    wide = expanded_uncertainty(reading_uncertainty(gauge_of(gauge, dict(facts.gauges)[gauge], quantity.kind), value, quantity.kind))
    if not gaps or wide < min(gaps):
        return ""
    finer = class_that_decides(min(gaps), fitting_span(value) or gauge.span_high) if quantity.kind == "pressure" else None
    better = f"use a class {finer:g} gauge" if finer else "use a finer instrument or repeat"
    return f"±{wide:.2g} {quantity.unit} with {gauge.tag}: a reading near the limit stays undecided, {better}"

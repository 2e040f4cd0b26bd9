"""What stands beside a blank while it is written: what a healthy drive shows under the conditions said so far, and what the reading would be judged."""

from __future__ import annotations

from dataclasses import dataclass, field
from statistics import fmean

from calcs.acceptance import Related
from calcs.baselines import expected_reading
from calcs.drive_spec import Conditions
from calcs.healthy import NotComparable
from calcs.quantities import QUANTITIES
from calcs.uncertainty import reading_uncertainty
from calcs.verdicts import judge_reading
from fleet.assess import held_back
from fleet.judging_facts import OTHER_DRAIN, gauge_of, rule_of
from fleet.models import DriveModel, DriveTest, Reading
from shop.measures import shown, shown_with_unit
from shop.tests.sheet import OpenSheet, StepColumn
from shop.workorders.expected import what_the_gauge_cannot_decide
from shop.workorders.reading_rows import rule_words, span_words


@dataclass
class Live:
    """Words beside one blank."""

    expected: str
    accepted: str = ""
    conditions: str = ""
    state: str = ""
    reason: str = ""
    repeats: str = ""
    gauge: str = ""
    refused: list[str] = field(default_factory=list)
    asks: bool = False


def live_of(sheet: OpenSheet, line: StepColumn) -> Live:
    """Return what stands beside one blank now."""
    here, quantity, facts = conditions_of(sheet, line), QUANTITIES[line.step.told["quantity"]], sheet.facts
    units = sheet.shelf.in_units
    try:
        found = expected_reading(quantity.code, facts.spec, facts.oil, here)
        live = Live(f"{'limit' if found.is_limit else 'expected'} {shown_with_unit(found.value, quantity.kind, units)}")
    except NotComparable as nothing:
        found, live = None, Live(nothing.reason)
    live.accepted = accepted_words(sheet, line, found)
    live.conditions = conditions_words(line, here, units)
    live.refused = [str(one) for all_ in line.judged.errors.values() for one in all_]
    live.asks = bool(line.judged.is_bound and getattr(line.judged, "asks", False))
    if line.entry:
        judge_into(live, sheet, line, here)
    return live


def conditions_of(sheet: OpenSheet, line: StepColumn) -> Conditions:
    own, column = line.conditions.house(), line.column
    neutral, case = value_of(sheet, column, "charge_neutral"), value_of(sheet, column, "case_pressure")
    charge = value_of(sheet, column, "charge_stroked", line.step.direction)
    form = sheet.conditions[column]
    form.is_valid()
    drains = form.cleaned_data.get("drains") or sheet.unit.drive_model.drains
    return Conditions(
        oil_temp_c=own["oil_temp"],
        engine_speed_rpm=own["engine_speed"],
        loop_pressure_bar=own["loop_pressure"],
        charge_pressure_bar=charge if charge is not None else neutral,
        case_pressure_bar=own["case_pressure"] if own["case_pressure"] is not None else case,
        direction=line.step.direction,
        drain_in_series=drains == DriveModel.Drains.SERIES,
    )


def line_reading(sheet: OpenSheet, column: str, code: str, direction: str = "") -> StepColumn | None:
    for line in sheet.in_column(column):
        if (
            line.step.is_reading
            and line.step.told["quantity"] == code
            and (not direction or line.step.direction == direction)
            and line.entry
        ):
            return line
    return None


def value_of(sheet: OpenSheet, column: str, code: str, direction: str = "") -> float | None:
    line = line_reading(sheet, column, code, direction)
    return line.entry.value if line else None


def accepted_words(sheet: OpenSheet, line: StepColumn, found) -> str:
    kind, units = QUANTITIES[line.step.told["quantity"]].kind, sheet.shelf.in_units
    rule = sheet.facts.rule(line.step.as_read)
    if rule and rule.has_source:
        return f"accepted {rule_words(rule, kind, units)} [{rule.source}]"
    if found is None or (found.low is None and found.high is None):
        return ""
    return f"accepted {span_words(found.low, found.high, kind, units)} [calculated, shop tolerance]"


def conditions_words(line: StepColumn, here: Conditions, units) -> str:
    """The conditions in force at a step, and from where they were carried."""
    told = line.carried or {}
    parts = [
        ("oil_temp", "temperature", here.oil_temp_c, "oil"),
        ("engine_speed", "speed", here.engine_speed_rpm, "engine"),
        ("loop_pressure", "pressure", here.loop_pressure_bar, "loop"),
    ]
    words = [
        f"{name} {shown_with_unit(value, kind, units)}{carried(told.get(key))}" for key, kind, value, name in parts if value is not None
    ]
    gauge = line.judged.shelf.instruments.get(line.judged.data.get(line.judged.add_prefix("instrument")) or "")
    return " · ".join([*words, f"{gauge.tag}{carried(told.get('instrument'))}"] if gauge else words)


def carried(source: str | None) -> str:
    return f" (from {source})" if source else ""


def judge_into(live: Live, sheet: OpenSheet, line: StepColumn, here: Conditions) -> None:
    """Say what the reading would be judged with what is written so far; it is judged again when the test is closed."""
    entry, facts, quantity = line.entry, sheet.facts, QUANTITIES[line.step.told["quantity"]]
    gauge = gauge_of(entry.instrument, sheet.day, quantity.kind) if entry.instrument else None
    row = facts.rule(line.step.as_read)
    judged = judge_reading(
        quantity.code, fmean(entry.repeats) if entry.repeats else entry.value, spec=facts.spec, oil=facts.oil, conditions=here, instrument=gauge,
        rule=rule_of(row) if row else None, related=related_of(sheet, line),
    )  # fmt: skip
    figures = {"oil_temp_c": here.oil_temp_c, "engine_speed_rpm": here.engine_speed_rpm}
    verdict = held_back(Reading(drive_test=DriveTest(**figures), instrument=entry.instrument), judged.verdict)
    live.state, live.reason = verdict.state.value, verdict.reason
    if entry.repeats:
        live.repeats = repeats_words(entry.repeats, quantity.kind, sheet.shelf.in_units)
    if judged.expectation is not None and entry.instrument:
        live.gauge = what_the_gauge_cannot_decide(line.step.as_read, facts, [judged.expectation] * 4, entry.instrument)


def related_of(sheet: OpenSheet, line: StepColumn) -> Related:
    neutral = line_reading(sheet, line.column, "charge_neutral")
    other = line_reading(sheet, line.column, OTHER_DRAIN.get(line.step.told["quantity"], ""))
    same = other and other.entry.loop_pressure_bar == line.entry.loop_pressure_bar and not line_is_series(sheet, line)
    return Related(
        neutral_bar=neutral.entry.value if neutral else None,
        neutral_uncertainty_bar=uncertainty_of(sheet, neutral),
        positions=line.entry.repeats,
        other_case_lpm=other.entry.value if same else None,
        other_case_uncertainty_lpm=uncertainty_of(sheet, other) if same else 0.0,
    )


def line_is_series(sheet: OpenSheet, line: StepColumn) -> bool:
    return conditions_of(sheet, line).drain_in_series


def uncertainty_of(sheet: OpenSheet, line: StepColumn | None) -> float:
    if line is None:
        return 0.0
    kind, instrument = QUANTITIES[line.step.told["quantity"]].kind, line.entry.instrument
    return reading_uncertainty(gauge_of(instrument, sheet.day, kind) if instrument else None, line.entry.value, kind)


def repeats_words(values, kind: str, units) -> str:
    spread = max(values) - min(values)
    span = f"range {shown(min(values), kind, units)} to {shown(max(values), kind, units)}" if spread else "all alike"
    return f"{len(values)} values, mean {shown_with_unit(fmean(values), kind, units)}, {span}"

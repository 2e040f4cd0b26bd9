"""Rows of a test sheet for one unit with its oil: port, gauge, expected values, what is accepted and where that stands, the last reading."""

from django.db.models import F, Window
from django.db.models.functions import RowNumber
from django.utils import timezone

from calcs.baselines import TEST_TEMPS_C
from calcs.quantities import QUANTITIES
from fleet.models import AcceptanceRule, Reading
from shop.measures import shown, shown_with_unit, units_of
from shop.workorders.evidence import verdict_of
from shop.workorders.expected import SHOWN_AT, DriveFacts, conditions_of, expected_of, facts_of, gauge_for, what_the_gauge_cannot_decide
from shop.workorders.steps import CAUTIONS_OF_TEST, Step, steps_of

Form = AcceptanceRule.Form


def rows_of_test(unit, machine, user=None, order=None, picked=None) -> dict:
    """Return the test sheet of a unit in a machine as plain words, ready to print or to keep; `picked` are steps with their cautions."""
    units = units_of(user) if user else None
    facts = facts_of(unit, machine, timezone.localdate())
    steps, cautions = picked or steps_of(order)
    last = last_readings(unit)
    rows, working, remarks = [], [], []
    for step in steps:
        found = expected_of(step, facts)
        number = None if isinstance(found, str) else len(working) + 1
        if number:
            working.append([f"Calc {number}: {name_of(step)} at 60 °C", found[SHOWN_AT].working])
        row, remark = row_of(step, facts, found, units, last, number)
        rows.append(row)
        remarks += [remark] if remark else []
    title = f"Test sheet: {unit.tag}, serial {unit.serial}, {unit.drive_model}, in {machine.number}"
    return {
        "title": title,
        "unit": unit.tag,
        "machine": machine.number,
        "rows": rows,
        "remarks": head_remarks(facts) + remarks,
        "working": working,
        "cautions": sorted(cautions),
    }


def head_remarks(facts: DriveFacts) -> list[str]:
    """What holds for the whole sheet: the oil that the expected values are for, and the temperatures in between."""
    if facts.oil is None:
        return [f"Fluid unknown: no expected value ({facts.oil_reason})."]
    low, high = facts.unit.drive_model.test_oil_low_c, facts.unit.drive_model.test_oil_high_c
    band = f" The maker tests between {low:g} and {high:g} °C." if low and high else ""
    thick = f"{facts.oil.nu40_mm2s:.3g} mm²/s at 40 °C, {facts.oil.nu100_mm2s:.3g} at 100 °C"
    return [f"Expected values are worked out for this drive with {facts.oil.name} ({thick}).{band}"]


def name_of(step: Step) -> str:
    quantity = QUANTITIES.get(step.quantity)
    name = quantity.label if quantity else step.quantity.replace("_", " ")
    return f"{name}, {step.direction}" if step.direction else name


def row_of(step, facts, found, units, last, number) -> tuple[list[str], str]:
    kind = QUANTITIES[step.quantity].kind
    value = None if isinstance(found, str) else found[SHOWN_AT].value
    gauge = gauge_for(step, facts, value)
    expected = ["–"] * len(TEST_TEMPS_C) if isinstance(found, str) else [shown(e.value, kind, units) for e in found]
    conditions = conditions_of(step, facts)
    name = f"{step.test} {name_of(step)} [{unit_of(kind, units)}]"
    if conditions.loop_pressure_bar and step.is_loaded:
        name += f" at {shown_with_unit(conditions.loop_pressure_bar, 'pressure', units)}"
    name += f" · {' '.join(CAUTIONS_OF_TEST.get(step.test, ()))}"
    row = [
        name, port_of(step, facts), f"{gauge.tag}, 0–{gauge.span_high:g} {gauge.unit}" if gauge else "–", speed_of(conditions, step), *expected,
        accepted(step, facts, found, units, number), last_words(last.get((step.quantity, step.direction)), kind, units),
    ]  # fmt: skip
    remark = (
        f"{name_of(step)}: {found}." if isinstance(found, str) and facts.oil else what_the_gauge_cannot_decide(step, facts, found, gauge)
    )
    return row, remark if isinstance(found, str) or not remark else f"{name_of(step)}: {remark}."


def unit_of(kind: str, units) -> str:
    return shown_with_unit(0.0, kind, units).split("\u00a0")[1]


def port_of(step: Step, facts: DriveFacts) -> str:
    port = facts.ports.get(step.quantity)
    if port:
        return " ".join(part for part in (port.code, port.thread) if part)
    return step.port or "–"


def speed_of(conditions, step: Step) -> str:
    return f"{conditions.engine_speed_rpm:.0f}" if conditions.engine_speed_rpm else step.at


def accepted(step: Step, facts: DriveFacts, found, units, number) -> str:
    """The maker's rule with document and page, else the calculated span with the number of its working."""
    rule, kind = facts.rule(step), QUANTITIES[step.quantity].kind
    if rule and rule.has_source:
        return f"{rule_words(rule, kind, units)} [{rule.source}]"
    if isinstance(found, str):
        return "no rule on record"
    low, high = found[SHOWN_AT].low, found[SHOWN_AT].high
    return f"{span_words(low, high, kind, units)} at 60 °C [calc {number}, shop tolerance]"


def span_words(low, high, kind: str, units) -> str:
    if low is not None and high is not None:
        return f"{shown(low, kind, units)} to {shown_with_unit(high, kind, units)}"
    if low is not None:
        return f"{shown_with_unit(low, kind, units)} or more"
    return f"{shown_with_unit(high, kind, units)} or less" if high is not None else "–"


def rule_words(rule: AcceptanceRule, kind: str, units) -> str:
    """A maker's rule in words, with its conditions."""
    words = {
        Form.BAND: lambda: span_words(rule.low, rule.high, kind, units),
        Form.NOMINAL: lambda: f"{shown(rule.nominal, kind, units)} ± {shown_with_unit(rule.tolerance, kind, units)}",
        Form.MAXIMUM: lambda: span_words(None, rule.high, kind, units),
        Form.MINIMUM: lambda: span_words(rule.low, None, kind, units),
        Form.SHARE_OF_NEUTRAL: lambda: f"{rule.share:.0%} of the neutral reading or more",
        Form.GREATEST_DROP: lambda: f"drop of {shown_with_unit(rule.high, kind, units)} or less",
        Form.THREE_CLASSES: lambda: f"good below {shown(rule.low, kind, units)}, faulty from {shown_with_unit(rule.high, kind, units)}",
        Form.MEAN_OVER_POSITIONS: lambda: f"mean of three positions {span_words(None, rule.high, kind, units)}",
        Form.LOADED_RATIO: lambda: f"rise under load {rule.share:.0%} or less",
        Form.NO_MOTION: lambda: "no motion",
    }[rule.form]()
    if rule.oil_low_c is not None and rule.oil_high_c is not None:
        words += f", oil {shown(rule.oil_low_c, 'temperature', units)} to {shown_with_unit(rule.oil_high_c, 'temperature', units)}"
    return words


def last_readings(unit) -> dict:
    """The latest valid standing reading of each quantity and direction; only these are loaded whole."""
    newest_first = Window(RowNumber(), [F("quantity"), F("direction")], [F("drive_test__tested_at").desc(), F("pk").desc()])
    valid = Reading.objects.standing().filter(drive_test__unit=unit, is_valid=True).annotate(place=newest_first)
    rows = Reading.objects.filter(pk__in=valid.filter(place=1).values("pk")).with_verdicts()
    return {(row.quantity, row.direction): row for row in rows}


def last_words(reading, kind: str, units) -> str:
    if reading is None:
        return "none"
    warm = f" at {shown_with_unit(reading.at_oil_temp_c, 'temperature', units)}" if reading.at_oil_temp_c is not None else ""
    verdict = verdict_of(reading)
    return f"{shown(reading.value, kind, units)}{warm}, {f'{verdict.state} ' if verdict else ''}{reading.drive_test.tested_at:%Y-%m-%d}"

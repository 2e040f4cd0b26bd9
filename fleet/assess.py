"""The one door to the calculation for judging: stored readings in, kept assessments out. Judged again, the old one stays."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace
from statistics import fmean

import numpy as np
from django.db import transaction

from calcs import EDITION
from calcs.baselines import Expectation
from calcs.healthy import NotComparable
from calcs.quantities import QUANTITIES
from calcs.referral import condition_ratio, refer_reading
from calcs.verdicts import State, Verdict, judge_reading
from calcs.wear_limits import wears_down
from calcs.working import Working
from fleet.judging_facts import BESIDE_A_READING, Facts
from fleet.models import ConditionAssessment, DriveTest, Reading

BATCH = 500
KEPT = ("state", "reason", "expected", "low", "high", "uncertainty", "ratio", "limit_ratio", "referred", "decided_by", "working", "edition")
REASON_LENGTH = ConditionAssessment._meta.get_field("reason").max_length
DECIDER_LENGTH = ConditionAssessment._meta.get_field("decided_by").max_length


def assess_reading(reading: Reading) -> ConditionAssessment:
    """Judge one reading as it stands and return its assessment in force."""
    assess_all(Reading.objects.filter(pk=reading.pk))
    return reading.assessments.in_force().get()


def assess_drive_test(test: DriveTest) -> list[ConditionAssessment]:
    """Judge every standing reading of a test and return their assessments in force."""
    assess_all(Reading.objects.standing().filter(drive_test=test))
    return list(ConditionAssessment.objects.in_force().filter(reading__drive_test=test, reading__superseded_by=None))


def assess_all(readings) -> int:
    """Judge the readings of a query and return how many assessments are new; what says the same as before is left alone."""
    ids = list(readings.order_by("drive_test_id", "pk").values_list("pk", flat=True))
    return sum(_assess_batch(ids[start : start + BATCH]) for start in range(0, len(ids), BATCH))


@transaction.atomic
def _assess_batch(ids: list[int]) -> int:
    rows = list(Reading.objects.filter(pk__in=ids).prefetch_related(*BESIDE_A_READING))
    facts = Facts(rows)
    before = {kept.reading_id: kept for kept in ConditionAssessment.objects.in_force().filter(reading__in=ids)}
    fresh = [found for found in _assessed(rows, facts) if _differs(found, before.get(found.reading_id))]
    outdated = [before[found.reading_id].pk for found in fresh if found.reading_id in before]
    ConditionAssessment.objects.filter(pk__in=outdated).update(is_in_force=False)
    ConditionAssessment.objects.bulk_create(fresh)
    return len(fresh)


def _assessed(rows: list[Reading], facts: Facts) -> Iterator[ConditionAssessment]:
    for reading in rows:
        yield assessment_of(reading, facts)


def _differs(found: ConditionAssessment, kept: ConditionAssessment | None) -> bool:
    return kept is None or any(getattr(found, name) != getattr(kept, name) for name in KEPT)


def assessment_of(reading: Reading, facts: Facts) -> ConditionAssessment:
    """Return what the calculation says of a reading, not kept yet."""
    if reading.quantity not in QUANTITIES:
        return _unjudged(reading, f"{reading.quantity} is not a quantity that this book can judge.")
    given = {"spec": facts.spec(reading.drive_test), "oil": facts.oil(reading.drive_test).oil, "conditions": facts.conditions(reading)}
    value = figure_of(reading)
    judged = judge_reading(
        reading.quantity, value, instrument=facts.gauge(reading), rule=facts.rule(reading), related=facts.related(reading), **given
    )
    verdict, expectation = held_back(reading, judged.verdict), judged.expectation
    found = _unjudged(reading, with_oil(verdict, facts.oil(reading.drive_test)).reason)
    found.state, found.uncertainty = verdict.state.value, _rounded(verdict.expanded)
    found.low, found.high = _rounded(verdict.low), _rounded(verdict.high)
    found.decided_by = (verdict.source or verdict.decided_by)[:DECIDER_LENGTH]
    found.working = oil_rows(facts.oil(reading.drive_test)) + mean_rows(reading) + [plain_row(row) for row in judged.working]
    if expectation is not None:
        found.expected, found.low, found.high = _rounded(expectation.value), *limits_shown(verdict, expectation)
        found.ratio = _rounded(condition_ratio(reading.quantity, value, expectation))
        found.limit_ratio = _rounded(_limit_ratio(reading, verdict, expectation))
        found.referred = _rounded(_referred(reading, given))
    return found


def figure_of(reading: Reading) -> float:
    """Return the figure that is judged: the mean of a reading taken several times."""
    return fmean(reading.repeats) if len(reading.repeats) > 1 else reading.value


def mean_rows(reading: Reading) -> list[dict]:
    """Return the mean of repeats as a line of the working."""
    if len(reading.repeats) < 2:
        return []
    paper = Working()
    spread = f"{min(reading.repeats):.4g} to {max(reading.repeats):.4g}"
    paper.note(f"Mean of {len(reading.repeats)} values, {spread}", _rounded(figure_of(reading)), reading.unit, "JCGM 100:2008, 4.2.1")
    return paper.as_rows()


def held_back(reading: Reading, verdict: Verdict) -> Verdict:
    """Return the verdict, or that none can be given: marked as not valid, or without oil temperature, engine speed or instrument."""
    if not reading.is_valid:
        return Verdict(State.NOT_COMPARABLE, f"Marked as not valid: {reading.invalid_reason}.")
    missing = [
        words
        for words, figure in (
            ("oil temperature", reading.at_oil_temp_c),
            ("engine speed", reading.at_engine_speed_rpm),
            ("instrument", reading.instrument),
        )
        if figure is None
    ]
    if missing:
        return Verdict(State.NOT_COMPARABLE, f"No {' and no '.join(missing)} on record: the reading is kept and not judged.")
    return verdict


def with_oil(verdict: Verdict, oil) -> Verdict:
    """Say why the oil is not known where that is why nothing can be compared."""
    if verdict.state is State.NOT_COMPARABLE and oil.oil is None and "fluid unknown" in verdict.reason.lower():
        return replace(verdict, reason=f"{verdict.reason.rstrip('.')}: {oil.reason}.")
    return verdict


def oil_rows(oil) -> list[dict]:
    """Return the oil in use as the first lines of the working."""
    if oil.oil is None:
        return []
    paper = Working()
    parts = ", ".join(f"{litres:.1f} L {product}" for product, litres in oil.litres) if oil.is_mixed else oil.oil.name
    paper.note(f"Oil in use: {parts}; viscosity at 40 degC", _rounded(oil.oil.nu40_mm2s), "mm2/s", "fills on record, blended after Walther")
    paper.note("Its viscosity at 100 degC", _rounded(oil.oil.nu100_mm2s), "mm2/s", "fills on record, blended after Walther")
    return paper.as_rows()


def limits_shown(verdict: Verdict, expectation: Expectation) -> tuple[float | None, float | None]:
    """Return the limits that decided, or those of the calculation where none did."""
    if verdict.decided_by:
        return _rounded(verdict.low), _rounded(verdict.high)
    return _rounded(expectation.low), _rounded(expectation.high)


def plain_row(row: dict) -> dict:
    """Return a step of the working with numbers that JSON holds."""
    given = [{**line, "value": _rounded(line["value"])} for line in row["given"]]
    return {**row, "given": given, "result": _rounded(row["result"])}


def _referred(reading: Reading, given: dict) -> float | None:
    try:
        return refer_reading(reading.quantity, figure_of(reading), **given).value
    except (NotComparable, ValueError):
        return None


def _limit_ratio(reading: Reading, verdict: Verdict, expectation: Expectation) -> float | None:
    """Return the ratio at which the maker's limit lies on the side that wear goes to; None where no maker's limit decided."""
    limit = verdict.low if wears_down(reading.quantity) else verdict.high
    return condition_ratio(reading.quantity, limit, expectation) if verdict.decided_by == "maker" and limit else None


def _rounded(figure):
    """Return a figure to nine digits, so that judging again says the same; what is no number is left as it is."""
    if isinstance(figure, (int, float, np.number)) and not isinstance(figure, bool):
        return float(f"{float(figure):.9g}") if math.isfinite(figure) else None
    return figure if figure is None or isinstance(figure, (str, bool)) else str(figure)


def _unjudged(reading: Reading, reason: str) -> ConditionAssessment:
    return ConditionAssessment(
        reading=reading, state=State.NOT_COMPARABLE.value, reason=reason[:REASON_LENGTH], working=[], decided_by="", edition=EDITION
    )

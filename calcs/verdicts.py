"""The verdict on a reading of a test: by the maker's rule where it can decide, else by calculation, else none with the reason."""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace

from calcs.acceptance import AcceptanceRule, Form, Limits, Related, conditions_unmet, figure_judged, limits_of
from calcs.baselines import Expectation, expected_reading
from calcs.drive_spec import Conditions, DriveSpec, Oil
from calcs.guard_band import State, Verdict, judge, shown
from calcs.healthy import NotComparable
from calcs.impossible import CASE_FLOWS, impossible_because
from calcs.quantities import quantity_of
from calcs.uncertainty import COVERAGE, Instrument, InstrumentState, combined_uncertainty, expanded_uncertainty, reading_uncertainty
from calcs.working import Working

__all__ = ["AcceptanceRule", "Form", "Judged", "Limits", "Related", "State", "Verdict", "judge", "judge_reading"]

SERIES_DRAIN = "The drain is plumbed in series, so it reads charge flow whatever the wear: not comparable."
NO_RULE = "no maker's rule on record"


@dataclass(frozen=True)
class Judged:
    """A verdict with the calculated expectation, if there is one, and the working of both."""

    verdict: Verdict
    expectation: Expectation | None
    working: list[dict] = field(default_factory=list)


def judge_by_rule(rule: AcceptanceRule, value: float, standard: float, related: Related) -> Verdict:
    """Return the verdict of a maker's rule.

    Parameters
    ----------
    rule : AcceptanceRule
        Rule whose conditions are met and which has a source [-]
    value : float
        Reading [house unit]
    standard : float
        Its standard uncertainty [house unit]
    related : Related
        Other readings of the same test [-]

    Returns
    -------
    verdict : Verdict
        Decided by the maker; NotComparable if a reading that the rule refers to is missing [-]

    Examples
    --------
    >>> rule = AcceptanceRule("charge_neutral", Form.MINIMUM, low=21, document="Loader service book", page="5-43")
    >>> judge_by_rule(rule, 24.0, 0.2, Related()).reason
    '24.0 ± 0.40 bar against limit 21.0 bar is inside. (Loader service book, page 5-43)'

    Source
    ------
    JCGM 106:2012, clause 8; forms seen in service manuals.
    """
    unit = quantity_of(rule.quantity).unit
    figure, limits = figure_judged(rule, value, related), limits_of(rule, related)
    verdict = judge(figure, standard, limits, unit, "maker", rule.source)
    if rule.form == Form.NO_MOTION and verdict.state is State.UNDECIDED and figure <= limits.high + verdict.expanded:
        reason = f"{shown(figure)} ± {shown(verdict.expanded)} {unit} cannot be told from standing still. ({rule.source})"
        return replace(verdict, state=State.INSIDE, reason=reason)
    if rule.form == Form.THREE_CLASSES and verdict.state is not State.INSIDE:
        return three_classes(rule, figure, verdict, unit)
    return verdict


def three_classes(rule: AcceptanceRule, figure: float, verdict: Verdict, unit: str) -> Verdict:
    """Return the verdict of a rule with a marginal class: faulty only where that is beyond doubt.

    Parameters
    ----------
    rule : AcceptanceRule
        Rule of the form three classes [-]
    figure : float
        Reading [house unit]
    verdict : Verdict
        Verdict against the upper end of the good class [-]
    unit : str
        House unit [-]

    Returns
    -------
    verdict : Verdict
        Outside high when clearly faulty, else undecided [-]

    Examples
    --------
    >>> rule = AcceptanceRule("motor_case_flow", Form.THREE_CLASSES, good_below=3.8, faulty_from=7.6, document="B", page="1")
    >>> judge_by_rule(rule, 5.0, 0.1, Related()).reason
    '5.00 ± 0.20 L/min is in the marginal class, 3.80 to 7.60 L/min: undecided by the rule itself. (B, page 1)'

    Source
    ------
    Form seen in service manuals; common practice.
    """
    read, band = f"{shown(figure)} ± {shown(verdict.expanded)} {unit}", f"{shown(rule.good_below)} to {shown(rule.faulty_from)} {unit}"
    if figure - verdict.expanded >= rule.faulty_from:
        reason = f"{read} is in the faulty class, from {shown(rule.faulty_from)} {unit} up. ({rule.source})"
        return replace(verdict, state=State.OUTSIDE_HIGH, reason=reason, high=rule.faulty_from, margin=rule.faulty_from - figure)
    if figure - verdict.expanded >= rule.good_below and figure + verdict.expanded < rule.faulty_from:
        reason = f"{read} is in the marginal class, {band}: undecided by the rule itself. ({rule.source})"
        return replace(verdict, state=State.UNDECIDED, reason=reason)
    reason = f"{read} is too near an edge of the marginal class, {band}, to be sorted. ({rule.source})"
    return replace(verdict, state=State.UNDECIDED, reason=reason)


def rule_obstacle(rule: AcceptanceRule | None, code: str, conditions: Conditions) -> str:
    """Return why a rule cannot decide a reading.

    Parameters
    ----------
    rule : AcceptanceRule or None
        The maker's rule; None if there is none [-]
    code : str
        Code of the quantity read [-]
    conditions : Conditions
        Conditions of the test [-]

    Returns
    -------
    obstacle : str
        One clause; empty if the rule can decide [-]

    Examples
    --------
    >>> rule_obstacle(AcceptanceRule("charge_neutral", Form.MINIMUM, low=21), "charge_neutral", Conditions())
    'the rule on record names no document and page'

    Source
    ------
    House rule: a number without a source cannot decide.
    """
    if rule is None:
        return NO_RULE
    if rule.quantity != code:
        return f"the rule on record is for {quantity_of(rule.quantity).label.lower()}"
    if not rule.has_source:
        return "the rule on record names no document and page"
    return conditions_unmet(rule, conditions) or ""


def judge_calculated(value: float, standard: float, expectation: Expectation, obstacle: str) -> Verdict:
    """Return the verdict of the calculated expectation.

    Parameters
    ----------
    value : float
        Reading [house unit]
    standard : float
        Its standard uncertainty [house unit]
    expectation : Expectation
        What a healthy drive should read [-]
    obstacle : str
        Why no maker's rule decides [-]

    Returns
    -------
    verdict : Verdict
        Decided by calculation, and saying so [-]

    Examples
    --------
    >>> expected = Expectation("charge_neutral", 22.0, "bar", 20.9, 23.1, 0.1, 0.05)
    >>> judge_calculated(22.0, 0.1, expected, "no maker's rule on record").reason
    "22.0 ± 0.28 bar against 20.9 to 23.1 bar is inside. (calculated, shop tolerance 5 %: no maker's rule on record)"

    Source
    ------
    JCGM 106:2012, clause 8; both uncertainties combined by JCGM 100:2008, equation 10.
    """
    basis = "limit of the drive model record" if expectation.is_limit else f"calculated, shop tolerance {expectation.tolerance_share:.0%}"
    if expectation.code == "neutral_creep":
        basis = "a drive in neutral stands still"
    limits = Limits(expectation.low, expectation.high, expectation.uncertainty)
    source = f"{basis.replace('%', ' %')}: {obstacle}"
    return judge(value, standard, limits, expectation.unit, "calculated", source)


def judge_reading(
    code: str,
    value: float,
    *,
    spec: DriveSpec,
    oil: Oil | None,
    conditions: Conditions,
    instrument: Instrument | None = None,
    rule: AcceptanceRule | None = None,
    related: Related | None = None,
    tolerance_share: float | None = None,
) -> Judged:
    """Return the verdict on one reading of a test: by the maker's rule where it can decide, else by calculation.

    Parameters
    ----------
    code : str
        Code of the quantity [-]
    value : float
        Reading, a finite number [house unit]
    spec : DriveSpec
        The drive model [-]
    oil : Oil or None
        The oil in the drive; None if unknown [-]
    conditions : Conditions
        Conditions of the test [-]
    instrument : Instrument or None
        Instrument used; None if not stated [-]
    rule : AcceptanceRule or None
        The maker's rule for this quantity and direction; None if there is none [-]
    related : Related or None
        Other readings of the same test [-]
    tolerance_share : float or None
        Tolerance of the shop; None for the default [-]

    Returns
    -------
    judged : Judged
        Verdict, calculated expectation or None, and the working as rows [-]

    Examples
    --------
    >>> rule = AcceptanceRule("charge_neutral", Form.MINIMUM, low=21, document="Loader service book", page="5-43")
    >>> gauge = Instrument("G-07", class_percent=1.6, span=60, resolution=1.0)
    >>> found = judge_reading("charge_neutral", 20.6, spec=DriveSpec(), oil=None, conditions=Conditions(), instrument=gauge, rule=rule)
    >>> found.verdict.state.value, found.verdict.decided_by
    ('undecided', 'maker')

    Source
    ------
    JCGM 106:2012, clause 8; laws named in the working.
    """
    quantity, related = quantity_of(code), related or Related()
    if not math.isfinite(value):
        raise ValueError(f"value must be a finite number, got {value}")
    standard = reading_uncertainty(instrument, value, quantity.kind)
    expectation, missing = expectation_or_reason(code, spec, oil, conditions, tolerance_share)
    verdict = verdict_before_limits(code, value, standard, instrument, spec, oil, conditions, related)
    if verdict is None:
        obstacle = rule_obstacle(rule, code, conditions)
        verdict = by_rule_or_calculation(value, standard, rule, related, expectation, obstacle, missing)
    return Judged(verdict, expectation, working_of(verdict, expectation, instrument, value, standard, quantity.unit))


def expectation_or_reason(
    code: str, spec: DriveSpec, oil: Oil | None, conditions: Conditions, tolerance_share: float | None
) -> tuple[Expectation | None, str]:
    """Return the calculated expectation, or why there is none.

    Parameters
    ----------
    code : str
        Code of the quantity [-]
    spec : DriveSpec
        The drive model [-]
    oil : Oil or None
        The oil in the drive [-]
    conditions : Conditions
        Conditions of the test [-]
    tolerance_share : float or None
        Tolerance of the shop; None for the default [-]

    Returns
    -------
    found : tuple
        Expectation and an empty text, or None and one clause [-]

    Examples
    --------
    >>> expectation_or_reason("pump_case_flow", DriveSpec(pump_displacement_cc=100), None, Conditions(), None)[1]
    'no efficiency of the new pump on record: no expected value'

    Source
    ------
    House rule.
    """
    try:
        return expected_reading(code, spec, oil, conditions, tolerance_share), ""
    except NotComparable as nothing:
        return None, nothing.reason


def verdict_before_limits(
    code: str,
    value: float,
    standard: float,
    instrument: Instrument | None,
    spec: DriveSpec,
    oil: Oil | None,
    conditions: Conditions,
    related: Related,
) -> Verdict | None:
    """Return a verdict that needs no limits: an instrument that cannot be trusted, a reading that cannot be, a drain in series.

    Parameters
    ----------
    code : str
        Code of the quantity [-]
    value : float
        Reading [house unit]
    standard : float
        Its standard uncertainty [house unit]
    instrument : Instrument or None
        Instrument used [-]
    spec : DriveSpec
        The drive model [-]
    oil : Oil or None
        The oil in the drive [-]
    conditions : Conditions
        Conditions of the test [-]
    related : Related
        Other readings of the same test [-]

    Returns
    -------
    verdict : Verdict or None
        Verdict; None if the reading is to be held against limits [-]

    Examples
    --------
    >>> overdue = Instrument("G-09", state=InstrumentState.OVERDUE)
    >>> verdict_before_limits("main_relief", 400, 2, overdue, DriveSpec(), None, Conditions(), Related()).reason
    'G-09: calibration overdue, so the reading is kept and not judged.'

    Source
    ------
    Practice of calibration laboratories, ISO/IEC 17025, 7.10, in substance (from memory).
    """
    if instrument and instrument.state != InstrumentState.GOOD:
        name = instrument.name or "The instrument"
        return Verdict(State.SUSPECT_INSTRUMENT, f"{name}: {instrument.state.value}, so the reading is kept and not judged.")
    impossible = impossible_because(code, value, standard, spec, oil, conditions, related)
    if impossible:
        return Verdict(State.IMPOSSIBLE, impossible)
    if conditions.drain_in_series and code in CASE_FLOWS:
        return Verdict(State.NOT_COMPARABLE, SERIES_DRAIN)
    return None


def by_rule_or_calculation(
    value: float,
    standard: float,
    rule: AcceptanceRule | None,
    related: Related,
    expectation: Expectation | None,
    obstacle: str,
    missing: str,
) -> Verdict:
    """Return the verdict of the rule if nothing stands against it, else that of the calculation, else why there is none.

    Parameters
    ----------
    value : float
        Reading [house unit]
    standard : float
        Its standard uncertainty [house unit]
    rule : AcceptanceRule or None
        The maker's rule [-]
    related : Related
        Other readings of the same test [-]
    expectation : Expectation or None
        What a healthy drive should read [-]
    obstacle : str
        Why the rule cannot decide; empty if it can [-]
    missing : str
        Why there is no expectation; empty if there is one [-]

    Returns
    -------
    verdict : Verdict
        Verdict [-]

    Examples
    --------
    >>> by_rule_or_calculation(5.0, 0.1, None, Related(), None, "no maker's rule on record", "no oil temperature: no expected value").reason
    "No oil temperature: no expected value; no maker's rule on record."

    Source
    ------
    House rule: the maker's rule decides where there is one.
    """
    if not obstacle:
        try:
            return judge_by_rule(rule, value, standard, related)
        except NotComparable as nothing:
            obstacle = nothing.reason
    if expectation is None:
        text = f"{missing}; {obstacle}."
        return Verdict(State.NOT_COMPARABLE, text[0].upper() + text[1:])
    return judge_calculated(value, standard, expectation, obstacle)


def working_of(
    verdict: Verdict, expectation: Expectation | None, instrument: Instrument | None, value: float, standard: float, unit: str
) -> list[dict]:
    """Return the working of a judgement as rows: of the expectation, then of the verdict.

    Parameters
    ----------
    verdict : Verdict
        Verdict [-]
    expectation : Expectation or None
        What a healthy drive should read [-]
    instrument : Instrument or None
        Instrument used [-]
    value : float
        Reading [house unit]
    standard : float
        Its standard uncertainty [house unit]
    unit : str
        House unit [-]

    Returns
    -------
    rows : list
        Rows that JSON can hold [-]

    Examples
    --------
    >>> [row["name"] for row in working_of(Verdict(State.IMPOSSIBLE, ""), None, None, 5.0, 0.1, "bar")]
    ['Reading', 'Standard uncertainty of the reading, instrument not stated', 'Expanded uncertainty']

    Source
    ------
    House rule.
    """
    paper = Working()
    named = instrument.name if instrument and instrument.name else "instrument not stated"
    paper.note("Reading", value, unit, "typed or imported")
    paper.note(f"Standard uncertainty of the reading, {named}", standard, unit, "EN 837-1; JCGM 100:2008, 4.3.7")
    if expectation is not None and verdict.decided_by == "calculated":
        paper.note("Standard uncertainty of the expected value", expectation.uncertainty, unit, "JCGM 100:2008, equation 10")
        standard = combined_uncertainty(standard, expectation.uncertainty)
    paper.take(expanded_uncertainty, "Expanded uncertainty", standard=standard, coverage=COVERAGE)
    for name, limit in (("Lower limit", verdict.low), ("Upper limit", verdict.high)):
        if limit is not None:
            paper.note(name, limit, unit, verdict.source)
    return (expectation.working if expectation else []) + paper.as_rows()

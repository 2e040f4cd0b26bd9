"""Acceptance rules as makers write them: ten forms, each with its conditions and the page it stands on."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from statistics import fmean

from calcs.drive_spec import Conditions
from calcs.healthy import NotComparable


class Form(StrEnum):
    """The shape of a maker's limit."""

    BAND = "band"
    NOMINAL = "nominal"
    MAXIMUM = "maximum"
    MINIMUM = "minimum"
    SHARE_OF_NEUTRAL = "share_of_neutral"
    GREATEST_DROP = "greatest_drop"
    THREE_CLASSES = "three_classes"
    MEAN_OVER_POSITIONS = "mean_over_positions"
    LOADED_RATIO = "loaded_ratio"
    NO_MOTION = "no_motion"


FORM_LABELS = {
    Form.BAND: "between two figures",
    Form.NOMINAL: "nominal with tolerance",
    Form.MAXIMUM: "not above",
    Form.MINIMUM: "not below",
    Form.SHARE_OF_NEUTRAL: "share of its own neutral reading",
    Form.GREATEST_DROP: "greatest drop from its own neutral reading",
    Form.THREE_CLASSES: "good, marginal, faulty",
    Form.MEAN_OVER_POSITIONS: "mean over positions",
    Form.LOADED_RATIO: "rise from no load to full load",
    Form.NO_MOTION: "no motion",
}
NEEDS = {  # figures without which a rule of that form says nothing
    Form.BAND: ("low", "high"),
    Form.NOMINAL: ("nominal", "tolerance"),
    Form.MAXIMUM: ("high",),
    Form.MINIMUM: ("low",),
    Form.SHARE_OF_NEUTRAL: ("share",),
    Form.GREATEST_DROP: ("drop",),
    Form.THREE_CLASSES: ("good_below", "faulty_from"),
    Form.MEAN_OVER_POSITIONS: ("high", "positions"),
    Form.LOADED_RATIO: ("share",),
    Form.NO_MOTION: (),
}


@dataclass(frozen=True)
class AcceptanceRule:
    """One limit of a maker, figures in house units; only the figures that its form needs are read."""

    quantity: str
    form: Form
    direction: str = ""  # empty: either
    low: float | None = None
    high: float | None = None
    nominal: float | None = None
    tolerance: float | None = None  # either side of nominal; for no motion what is still let pass
    share: float | None = None  # of the neutral reading; for the loaded ratio the rise over no load
    drop: float | None = None
    good_below: float | None = None
    faulty_from: float | None = None
    positions: int | None = None
    oil_temp_low_c: float | None = None
    oil_temp_high_c: float | None = None
    speed_low_rpm: float | None = None
    speed_high_rpm: float | None = None
    pressure_low_bar: float | None = None
    pressure_high_bar: float | None = None
    document: str = ""
    page: str = ""
    revision: str = ""

    def __post_init__(self) -> None:
        """Refuse a rule that lacks a figure of its form, or whose limits cross."""
        missing = [name for name in NEEDS[Form(self.form)] if getattr(self, name) is None]
        if missing:
            raise ValueError(f"{missing[0]} must be given for a rule of the form {FORM_LABELS[Form(self.form)]!r}, got None")
        for low, high in (("low", "high"), ("good_below", "faulty_from"), ("oil_temp_low_c", "oil_temp_high_c")):
            one, other = getattr(self, low), getattr(self, high)
            if one is not None and other is not None and one > other:
                raise ValueError(f"{low} must not be above {high}, got {one} and {other}")

    @property
    def source(self) -> str:
        """Return document, page and revision in one line."""
        page = f"page {self.page}" if self.page else ""
        revision = f"rev. {self.revision}" if self.revision else ""
        return ", ".join(part for part in (self.document, page, revision) if part)

    @property
    def has_source(self) -> bool:
        """Say whether the figure can be looked up: a document and a page."""
        return bool(self.document.strip() and self.page.strip())


@dataclass(frozen=True)
class Related:
    """Other readings of the same test that a judgement may need, in house units."""

    neutral_bar: float | None = None
    neutral_uncertainty_bar: float = 0.0
    unloaded_lpm: float | None = None
    unloaded_uncertainty_lpm: float = 0.0
    positions: tuple[float, ...] = ()
    charge_delivery_lpm: float | None = None
    highest_loop_bar: float | None = None
    other_case_lpm: float | None = None  # the other unit's drain, plumbed apart, at the same load
    other_case_uncertainty_lpm: float = 0.0


@dataclass(frozen=True)
class Limits:
    """Limits to judge by, None for an open side, with the standard uncertainty of the limits themselves."""

    low: float | None
    high: float | None
    uncertainty: float = 0.0


def limits_of(rule: AcceptanceRule, related: Related) -> Limits:
    """Return the limits that a rule sets for this one reading.

    Parameters
    ----------
    rule : AcceptanceRule
        The maker's rule [-]
    related : Related
        Other readings of the same test [-]

    Returns
    -------
    limits : Limits
        Lower and upper limit; NotComparable if the rule refers to a reading that was not taken [house unit]

    Examples
    --------
    Stroked charge not below 80 % of a neutral charge of 22 bar:

    >>> rule = AcceptanceRule("charge_stroked", Form.SHARE_OF_NEUTRAL, share=0.8)
    >>> limits_of(rule, Related(neutral_bar=22)).low
    17.6

    Source
    ------
    Forms seen in service manuals; common practice.
    """
    form = Form(rule.form)
    if form in (Form.SHARE_OF_NEUTRAL, Form.GREATEST_DROP):
        return limits_from_neutral(rule, related)
    if form is Form.LOADED_RATIO:
        if related.unloaded_lpm is None:
            raise NotComparable("the rule compares with the flow at no load, which was not read")
        grown = 1 + rule.share
        return Limits(None, related.unloaded_lpm * grown, related.unloaded_uncertainty_lpm * grown)
    return {
        Form.BAND: lambda: Limits(rule.low, rule.high),
        Form.NOMINAL: lambda: Limits(rule.nominal - rule.tolerance, rule.nominal + rule.tolerance),
        Form.MAXIMUM: lambda: Limits(None, rule.high),
        Form.MINIMUM: lambda: Limits(rule.low, None),
        Form.THREE_CLASSES: lambda: Limits(None, rule.good_below),
        Form.MEAN_OVER_POSITIONS: lambda: Limits(None, rule.high),
        Form.NO_MOTION: lambda: Limits(None, rule.tolerance or 0.0),
    }[form]()


def limits_from_neutral(rule: AcceptanceRule, related: Related) -> Limits:
    """Return the limit that a rule draws from the drive's own neutral reading.

    Parameters
    ----------
    rule : AcceptanceRule
        Rule of the form share of neutral or greatest drop [-]
    related : Related
        Other readings of the same test [-]

    Returns
    -------
    limits : Limits
        Lower limit with its uncertainty; NotComparable without a neutral reading [house unit]

    Examples
    --------
    >>> rule = AcceptanceRule("charge_stroked", Form.GREATEST_DROP, drop=1.5)
    >>> limits_from_neutral(rule, Related(neutral_bar=22)).low
    20.5

    Source
    ------
    Forms seen in service manuals; common practice.
    """
    if related.neutral_bar is None:
        raise NotComparable("the rule compares with the drive's own neutral reading, which was not taken")
    if rule.form == Form.GREATEST_DROP:
        return Limits(related.neutral_bar - rule.drop, None, related.neutral_uncertainty_bar)
    return Limits(related.neutral_bar * rule.share, None, related.neutral_uncertainty_bar * rule.share)


def figure_judged(rule: AcceptanceRule, value: float, related: Related) -> float:
    """Return the figure that a rule judges: the mean over positions, the size of a creep, or else the reading itself.

    Parameters
    ----------
    rule : AcceptanceRule
        The maker's rule [-]
    value : float
        Reading [house unit]
    related : Related
        Other readings of the same test [-]

    Returns
    -------
    figure : float
        Figure to hold against the limits; NotComparable if positions are missing [house unit]

    Examples
    --------
    >>> rule = AcceptanceRule("cross_port_leakage", Form.MEAN_OVER_POSITIONS, high=4, positions=3)
    >>> figure_judged(rule, 3.0, Related(positions=(3.0, 3.5, 4.0)))
    3.5

    Source
    ------
    Forms seen in service manuals; common practice.
    """
    if rule.form == Form.NO_MOTION:
        return abs(value)
    if rule.form != Form.MEAN_OVER_POSITIONS:
        return value
    if len(related.positions) < rule.positions:
        raise NotComparable(f"the rule takes the mean over {rule.positions} positions, {len(related.positions)} were read")
    return fmean(related.positions)


def conditions_unmet(rule: AcceptanceRule, conditions: Conditions) -> str | None:
    """Return why a rule does not hold under the conditions of a test.

    Parameters
    ----------
    rule : AcceptanceRule
        The maker's rule [-]
    conditions : Conditions
        Conditions of the test [-]

    Returns
    -------
    reason : str or None
        One clause; None if the rule holds [-]

    Examples
    --------
    >>> rule = AcceptanceRule("main_relief", Form.BAND, low=402, high=411, oil_temp_low_c=54, oil_temp_high_c=66)
    >>> conditions_unmet(rule, Conditions(oil_temp_c=45))
    'oil temperature 45 degC is outside the 54 to 66 degC of the rule'

    Source
    ------
    Makers state their limits for a band of temperature, speed and pressure; common practice.
    """
    if rule.direction and conditions.direction != rule.direction:
        return f"the rule holds for {rule.direction} only"
    wanted = (
        ("oil temperature", "degC", conditions.oil_temp_c, rule.oil_temp_low_c, rule.oil_temp_high_c),
        ("engine speed", "rpm", conditions.engine_speed_rpm, rule.speed_low_rpm, rule.speed_high_rpm),
        ("loop pressure", "bar", conditions.loop_pressure_bar, rule.pressure_low_bar, rule.pressure_high_bar),
    )
    for name, unit, found, low, high in wanted:
        reason = outside_band(name, unit, found, low, high)
        if reason:
            return reason
    return None


def outside_band(name: str, unit: str, found: float | None, low: float | None, high: float | None) -> str | None:
    """Return why one condition does not meet a rule.

    Parameters
    ----------
    name : str
        What the condition is called [-]
    unit : str
        Its house unit [-]
    found : float or None
        As noted in the test [house unit]
    low : float or None
        Lowest allowed; None if open [house unit]
    high : float or None
        Highest allowed; None if open [house unit]

    Returns
    -------
    reason : str or None
        One clause; None if the condition is met or none is set [-]

    Examples
    --------
    >>> outside_band("engine speed", "rpm", None, 2200, 2400)
    'the rule asks for engine speed 2200 to 2400 rpm and none was noted'

    Source
    ------
    House rule.
    """
    if low is None and high is None:
        return None
    band = (
        f"{low:g} to {high:g} {unit}"
        if None not in (low, high)
        else f"{low:g} {unit} or more"
        if high is None
        else f"up to {high:g} {unit}"
    )
    if found is None:
        return f"the rule asks for {name} {band} and none was noted"
    if (low is not None and found < low) or (high is not None and found > high):
        return f"{name} {found:g} {unit} is outside the {band} of the rule"
    return None

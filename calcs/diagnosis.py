"""Advice on the cause of a complaint: what speaks for it, how likely, and which cheap test could change that."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from calcs.charge import drop_share
from calcs.guard_band import State, shown
from calcs.symptoms import CAUSES, ELSEWHERE, ELSEWHERE_OF, LOOKS, SIGNS, SYMPTOMS, TOGETHER, Look

NOTABLE_DROP = 0.15  # of the neutral charge reading; small drops are by design; from memory, a shop setting
HARMLESS_DROP = 0.10
TELLING = 1.5  # a sign is named when it moves the odds at least so much
STOP_NOTE = (
    "Metal was found: running on may carry it through the whole loop, so it is advised to leave the machine standing until it is opened."
)
LOOSE_SIGNS = {  # quantity and state -> sign; the direction is added where the quantity has one
    ("charge_neutral", State.OUTSIDE_LOW): "charge_low",
    ("charge_neutral_idle", State.OUTSIDE_LOW): "charge_low_idle",
    ("charge_inlet_pressure", State.OUTSIDE_LOW): "inlet_starved",
    ("pump_case_flow", State.OUTSIDE_HIGH): "pump_drain_high",
    ("motor_case_flow", State.OUTSIDE_HIGH): "motor_drain_high",
    ("case_pressure", State.OUTSIDE_HIGH): "case_pressure_high",
    ("top_speed", State.OUTSIDE_LOW): "slow_hot",
    ("output_speed", State.OUTSIDE_LOW): "slow_hot",
    ("neutral_creep", State.OUTSIDE_HIGH): "creeps_from_both",
    ("stroke_time", State.OUTSIDE_HIGH): "stroke_slow",
    ("flushing_flow", State.OUTSIDE_LOW): "flushing_absent",
}
STEMS = {
    "charge_neutral": "neutral charge",
    "charge_neutral_idle": "neutral charge at idle",
    "charge_inlet_pressure": "charge inlet",
    "main_relief": "main relief",
    "pump_case_flow": "pump case drain",
    "motor_case_flow": "motor case drain",
    "case_pressure": "case pressure",
    "top_speed": "top speed",
    "output_speed": "motor shaft speed",
    "neutral_creep": "creep in neutral",
    "stroke_time": "stroke time",
    "flushing_flow": "flushing flow",
}


@dataclass(frozen=True)
class Finding:
    """One judged reading as the diagnosis needs it, in house units."""

    code: str
    value: float
    state: State
    unit: str
    direction: str = ""
    low: float | None = None
    high: float | None = None
    neutral_bar: float | None = None  # for a stroked charge reading
    cold: bool = False


@dataclass(frozen=True)
class Evidence:
    """One sign, present or absent, and how it was seen: `stem` is the thing measured, `detail` what was found."""

    sign: str
    present: bool
    stem: str
    detail: str = ""


@dataclass(frozen=True)
class Suspect:
    """A cause with its share of probability and the evidence that moved it."""

    code: str
    label: str
    probability: float
    because: str
    against: str


@dataclass(frozen=True)
class Advice:
    """What the evidence points to, most likely first, the next cheap look, and one sentence for the page."""

    suspects: tuple[Suspect, ...]
    next_look: Look | None
    text: str
    caution: str = ""


def evidence_of(findings: Iterable[Finding]) -> list[Evidence]:
    """Return the signs that judged readings show; an undecided reading shows none, and one that shows a sign outweighs one that does not.

    Parameters
    ----------
    findings : iterable of Finding
        Judged readings of one test [-]

    Returns
    -------
    evidence : list
        Signs with how they were seen [-]

    Examples
    --------
    >>> fell = Finding("charge_stroked", 13.6, State.OUTSIDE_LOW, "bar", "forward", low=17.6, neutral_bar=22.0)
    >>> evidence_of([fell])[0].detail
    '38 % forward'

    Source
    ------
    Signs after common practice of the trade, no source.
    """
    found = [evidence for finding in findings for evidence in signs_of(finding)]
    there = {evidence.sign for evidence in found if evidence.present}
    return [evidence for evidence in found if evidence.present or evidence.sign not in there]


def signs_of(finding: Finding) -> list[Evidence]:
    """Return the signs of one judged reading.

    Parameters
    ----------
    finding : Finding
        Judged reading [-]

    Returns
    -------
    evidence : list
        None, one or two signs [-]

    Examples
    --------
    >>> low = Finding("main_relief", 310, State.OUTSIDE_LOW, "bar", "forward", low=402, high=411)
    >>> signs_of(low)[0].detail
    'forward 310 of 402-411 bar'

    Source
    ------
    Signs after common practice of the trade, no source.
    """
    decided = finding.state in (State.INSIDE, State.OUTSIDE_LOW, State.OUTSIDE_HIGH)
    if finding.code == "charge_stroked":
        return sag_signs(finding)
    if not decided or (finding.code != "main_relief" and finding.code not in STEMS):
        return []
    detail = f"{finding.direction} {shown(finding.value)} of {limits_short(finding)} {finding.unit}".strip()
    if finding.code == "main_relief":
        sides = [finding.direction] if finding.direction else ["forward", "reverse"]
        low = finding.state is State.OUTSIDE_LOW
        return [Evidence(f"relief_low_{side}", low, STEMS["main_relief"], detail) for side in sides]
    bad_states = {state: sign for (code, state), sign in LOOSE_SIGNS.items() if code == finding.code}
    bad_state, sign = next(iter(bad_states.items()))
    if sign == "slow_hot" and finding.cold:
        sign = "slow_cold"
    return [Evidence(sign, finding.state is bad_state, STEMS[finding.code], detail)]


def sag_signs(finding: Finding) -> list[Evidence]:
    """Return the sign of a stroked charge reading, from its drop under the neutral one where that was read.

    Parameters
    ----------
    finding : Finding
        Judged reading of stroked charge [-]

    Returns
    -------
    evidence : list
        No sign where neither the drop nor the verdict tells, else one for each direction it stands for [-]

    Examples
    --------
    >>> sag_signs(Finding("charge_stroked", 20.0, State.INSIDE, "bar", "reverse", neutral_bar=22.0))[0].present
    False

    Source
    ------
    Drop limits of service manuals differ; the shares here are a shop setting.
    """
    sides = [finding.direction] if finding.direction else ["forward", "reverse"]
    drop = drop_share(finding.neutral_bar, finding.value) if finding.neutral_bar else None
    outside, inside = finding.state is State.OUTSIDE_LOW, finding.state is State.INSIDE
    if not (outside or inside or drop is not None):
        return []
    if not (outside or inside) and HARMLESS_DROP < drop < NOTABLE_DROP:
        return []
    present = outside or (not inside and drop >= NOTABLE_DROP)
    detail = f"{shown(finding.value)} of {limits_short(finding)} {finding.unit}" if drop is None else f"{drop:.0%}".replace("%", " %")
    return [Evidence(f"sag_{side}", present, "stroked charge fell", f"{detail} {finding.direction}".strip()) for side in sides]


def limits_short(finding: Finding) -> str:
    """Return the limits of a finding in short.

    Parameters
    ----------
    finding : Finding
        Judged reading [-]

    Returns
    -------
    text : str
        Limits [-]

    Examples
    --------
    >>> limits_short(Finding("main_relief", 310, State.OUTSIDE_LOW, "bar", low=402, high=411))
    '402-411'

    Source
    ------
    House rule.
    """
    if finding.low is None and finding.high is None:
        return "no limit"
    if finding.low is None:
        return f"at most {shown(finding.high)}"
    return f"at least {shown(finding.low)}" if finding.high is None else f"{shown(finding.low)}-{shown(finding.high)}"


def seen(sign: str, present: bool = True) -> Evidence:
    """Return the evidence of something looked at and not measured.

    Parameters
    ----------
    sign : str
        Sign, a key of `SIGNS` [-]
    present : bool
        Whether it was there [-]

    Returns
    -------
    evidence : Evidence
        The sign with its sentence [-]

    Examples
    --------
    >>> seen("cooler_blocked").stem
    'cooler is blocked'

    Source
    ------
    Signs after common practice of the trade, no source.
    """
    if sign not in SIGNS:
        raise ValueError(f"sign must be one of {', '.join(SIGNS)}, got {sign!r}")
    return Evidence(sign, present, SIGNS[sign] if present else f"not so that {SIGNS[sign]}")


def likelihood(cause: str, evidence: Evidence) -> float:
    """Return how likely a sign is as it was found, if a cause were there.

    Parameters
    ----------
    cause : str
        Code of the cause [-]
    evidence : Evidence
        Sign, present or absent [-]

    Returns
    -------
    likelihood : float
        Probability of the finding [-]

    Examples
    --------
    >>> likelihood("cooler", seen("cooler_blocked")), round(likelihood("cooler", seen("cooler_blocked", False)), 2)
    (0.95, 0.05)

    Source
    ------
    Tables of `calcs.symptoms`: judgement, from memory.
    """
    there = CAUSES[cause].signs.get(evidence.sign, elsewhere(evidence.sign))
    return there if evidence.present else 1 - there


def elsewhere(sign: str) -> float:
    """Return how likely a sign is without a cause that brings it.

    Parameters
    ----------
    sign : str
        Sign [-]

    Returns
    -------
    likelihood : float
        Probability [-]

    Examples
    --------
    >>> elsewhere("level_low"), elsewhere("pump_drain_high")
    (0.08, 0.005)

    Source
    ------
    Tables of `calcs.symptoms`: judgement, from memory.
    """
    return ELSEWHERE_OF.get(sign, ELSEWHERE)


def joint_likelihood(cause: str, once: dict[str, Evidence]) -> float:
    """Return how likely all signs are as they were found, if a cause were there.

    Parameters
    ----------
    cause : str
        Code of the cause [-]
    once : dict
        Evidence by sign [-]

    Returns
    -------
    likelihood : float
        Probability of the findings [-]

    Examples
    --------
    A worn pump drops the charge both ways or neither: two directions tell no more than one.

    >>> round(joint_likelihood("pump", {"sag_forward": seen("sag_forward", False), "sag_reverse": seen("sag_reverse", False)}), 2)
    0.2

    Source
    ------
    Signs that one thing brings are not independent: where they agree, their geometric mean is taken; a shop setting.
    """
    found = {sign: likelihood(cause, item) for sign, item in once.items()}
    for group in TOGETHER:
        alike = [sign for sign in group if sign in found and sign in CAUSES[cause].signs]
        if len(alike) > 1 and len({once[sign].present for sign in alike}) == 1:
            mean = float(np.prod([found[sign] for sign in alike])) ** (1 / len(alike))
            found = {sign: value for sign, value in found.items() if sign not in alike} | {alike[0]: mean}
    return float(np.prod(list(found.values())))


def probabilities(causes: Iterable[str], evidence: Iterable[Evidence]) -> dict[str, float]:
    """Return the probability of each cause after the evidence, one cause taken at a time.

    Law
    ---
    P(cause | signs) ~ odds x product of P(sign | cause); signs that come together and agree count once, by their geometric mean

    Parameters
    ----------
    causes : iterable of str
        Codes of the causes that come into question [-]
    evidence : iterable of Evidence
        What was found; a sign given twice counts once, the later one [-]

    Returns
    -------
    probabilities : dict
        Probability by cause; they add up to 1 [-]

    Examples
    --------
    >>> found = probabilities(["pump", "motor"], [seen("motor_drain_high"), seen("pump_drain_high", False)])
    >>> round(found["motor"], 3)
    0.999

    Source
    ------
    Bayes' rule, signs independent but for those of `TOGETHER`; tables of `calcs.symptoms`: judgement, from memory.
    """
    once = {item.sign: item for item in evidence}
    weights = {code: CAUSES[code].odds * joint_likelihood(code, once) for code in causes}
    total = sum(weights.values())
    return {code: weight / total for code, weight in weights.items()}


def advise(symptom: str, evidence: Iterable[Evidence], looked: Iterable[str] = ()) -> Advice:
    """Return advice on a complaint.

    Parameters
    ----------
    symptom : str
        Code of the complaint, a key of `SYMPTOMS` [-]
    evidence : iterable of Evidence
        What was found so far [-]
    looked : iterable of str
        Codes of looks already taken, beside those that the evidence shows [-]

    Returns
    -------
    advice : Advice
        Suspects with probability and evidence, the next cheap look, one sentence [-]

    Examples
    --------
    >>> fell = Finding("charge_stroked", 13.6, State.OUTSIDE_LOW, "bar", "forward", low=17.6, neutral_bar=22.0)
    >>> held = Finding("charge_stroked", 20.0, State.INSIDE, "bar", "reverse", low=17.6, neutral_bar=22.0)
    >>> weak = Finding("main_relief", 310, State.OUTSIDE_LOW, "bar", "forward", low=402, high=411)
    >>> found = advise("one_way", evidence_of([fell, held, weak]))
    >>> found.suspects[0].because
    'because stroked charge fell 38 % forward, 9 % reverse; main relief forward 310 of 402-411 bar'

    Source
    ------
    Bayes' rule; tables of `calcs.symptoms`: judgement, from memory.
    """
    if symptom not in SYMPTOMS:
        raise ValueError(f"symptom must be one of {', '.join(SYMPTOMS)}, got {symptom!r}")
    evidence, causes = list(evidence), list(SYMPTOMS[symptom].causes)
    metal = any(item.sign == "metal_found" and item.present for item in evidence)
    if metal and "breaking_up" not in causes:
        causes.append("breaking_up")
    shares = probabilities(causes, evidence)
    suspects = tuple(suspect(code, shares, evidence) for code in sorted(shares, key=shares.get, reverse=True))
    own_looks = (*SYMPTOMS[symptom].first, *SYMPTOMS[symptom].then)
    next_look = cheapest_look(shares, evidence, set(looked), own_looks) or cheapest_look(shares, evidence, set(looked))
    return Advice(suspects, next_look, advice_text(suspects, next_look, bool(evidence)), STOP_NOTE if metal else "")


def suspect(code: str, shares: dict[str, float], evidence: list[Evidence]) -> Suspect:
    """Return a cause with the evidence for and against it.

    Parameters
    ----------
    code : str
        Code of the cause [-]
    shares : dict
        Probability by cause [-]
    evidence : list of Evidence
        What was found [-]

    Returns
    -------
    suspect : Suspect
        The cause with its sentences [-]

    Examples
    --------
    >>> suspect("cooler", {"cooler": 1.0}, [seen("cooler_blocked")]).because
    'because cooler is blocked'

    Source
    ------
    A sign is named where it moves the odds of the cause against those of the others by half or more; a shop setting.
    """
    speaks_for, against = [], []
    for item in evidence:
        here = likelihood(code, item)
        others = [(share, likelihood(other, item)) for other, share in shares.items() if other != code and share > 0]
        total = sum(share for share, _ in others)
        there = sum(share * value for share, value in others) / total if total else elsewhere(item.sign)
        if here >= TELLING * there or (item.present and here >= 0.5):
            speaks_for.append(item)
        elif here * TELLING <= there:
            against.append(item)
    stems = {item.stem for item in speaks_for}
    speaks_for = [item for item in evidence if item in speaks_for or (item.stem in stems and item not in against)]
    cause = CAUSES[code]
    return Suspect(code, cause.label, shares[code], joined("because ", speaks_for), joined("against it: ", against))


def joined(lead: str, evidence: list[Evidence]) -> str:
    """Return evidence as one clause, details of the same thing together.

    Parameters
    ----------
    lead : str
        Word before it [-]
    evidence : list of Evidence
        Evidence to name [-]

    Returns
    -------
    text : str
        One clause; empty without evidence [-]

    Examples
    --------
    >>> fell, held = Evidence("a", True, "stroked charge fell", "38 % forward"), Evidence("b", False, "stroked charge fell", "9 % reverse")
    >>> joined("because ", [fell, held])
    'because stroked charge fell 38 % forward, 9 % reverse'

    Source
    ------
    House rule.
    """
    details: dict[str, list[str]] = {}
    for item in evidence:
        found = details.setdefault(item.stem, [])
        if item.detail and item.detail not in found:
            found.append(item.detail)
    text = "; ".join(f"{stem} {', '.join(found)}".strip() for stem, found in details.items())
    return lead + text if text else ""


def cheapest_look(shares: dict[str, float], evidence: list[Evidence], looked: set[str], among: Iterable[str] = tuple(LOOKS)) -> Look | None:
    """Return the look that promises to change the conclusion most for each minute.

    Law
    ---
    gain = expected fall of the entropy of the causes, by minute

    Parameters
    ----------
    shares : dict
        Probability by cause [-]
    evidence : list of Evidence
        What was found already [-]
    looked : set of str
        Codes of looks already taken [-]
    among : iterable of str
        Codes of the looks to choose from [-]

    Returns
    -------
    look : Look or None
        The next look; None if none would tell anything new [-]

    Examples
    --------
    >>> cheapest_look({"cooler": 0.5, "pump": 0.5}, [], set()).code
    'cooler'

    Source
    ------
    Expected information of a test, Lindley 1956 (from memory), divided by its cost.
    """
    known = {item.sign for item in evidence}
    gains = {}
    for look in (LOOKS[code] for code in among):
        signs = [sign for sign in look.shows if sign not in known]
        if look.code not in looked and signs:
            gains[look.code] = sum(expected_gain(shares, sign) for sign in signs) / look.minutes
    best = max(gains, key=gains.get, default=None)
    return LOOKS[best] if best and gains[best] * LOOKS[best].minutes > 0.01 else None


def expected_gain(shares: dict[str, float], sign: str) -> float:
    """Return how much a sign is expected to lower the doubt about the causes.

    Law
    ---
    gain = H(causes) - sum over outcomes of P(outcome) H(causes | outcome)

    Parameters
    ----------
    shares : dict
        Probability by cause [-]
    sign : str
        Sign that would be looked for [-]

    Returns
    -------
    gain : float
        Expected information [bit]

    Examples
    --------
    >>> expected_gain({"cooler": 1.0}, "cooler_blocked")
    0.0

    Source
    ------
    Shannon entropy; Lindley 1956 (from memory).
    """
    prior = np.array(list(shares.values()))
    there = np.array([CAUSES[code].signs.get(sign, elsewhere(sign)) for code in shares])
    left = 0.0
    for given in (there, 1 - there):
        weight = prior * given
        chance = weight.sum()
        if chance > 0:
            left += chance * entropy(weight / chance)
    return max(entropy(prior) - float(left), 0.0)


def entropy(shares: np.ndarray) -> float:
    """Return the doubt in a set of probabilities.

    Law
    ---
    H = -sum p log2 p

    Parameters
    ----------
    shares : array of n
        Probabilities that add up to 1 [-]

    Returns
    -------
    entropy : float
        Doubt [bit]

    Examples
    --------
    >>> entropy(np.array([0.5, 0.5]))
    1.0

    Source
    ------
    Shannon 1948.
    """
    some = shares[shares > 0]
    return float(-np.sum(some * np.log2(some)) + 0.0)


def advice_text(suspects: tuple[Suspect, ...], next_look: Look | None, any_evidence: bool) -> str:
    """Return advice as a sentence: advice, never an order.

    Parameters
    ----------
    suspects : tuple of Suspect
        Causes, most likely first [-]
    next_look : Look or None
        Look that could change the conclusion [-]
    any_evidence : bool
        Whether anything was found yet [-]

    Returns
    -------
    text : str
        One or two sentences [-]

    Examples
    --------
    >>> hot = Suspect("cooler", "cooler blocked", 0.9, "because cooler is blocked", "")
    >>> advice_text((hot,), None, True)
    'The evidence points to cooler blocked (about 90 %), because cooler is blocked. No further look on the list is likely to change that.'

    Source
    ------
    House rule: a second cause at least half as likely as the first is named with it.
    """
    first = suspects[0]
    named = [f"{one.label} (about {100 * one.probability:.0f} %)" for one in suspects[:2] if one.probability >= first.probability / 2]
    lead = f"The evidence points to {' or '.join(named)}"
    lead = f"{lead}, {first.because}." if first.because else f"{lead}."
    if not any_evidence:
        lead = "Nothing has been found yet."
    if next_look is None:
        return f"{lead} No further look on the list is likely to change that."
    label = next_look.label[:1].lower() + next_look.label[1:]
    return f"{lead} The cheapest look that could change that: {label}, about {next_look.minutes} minutes."

"""Pump or motor: how likely each is the one that leaks, from drain flows, charge sag and speed."""

from __future__ import annotations

import math
from dataclasses import dataclass
from statistics import NormalDist

ODDS = {"neither": 0.4, "pump": 0.25, "motor": 0.25, "both": 0.1}  # before any reading; judgement, from memory
WORN_LOG, WORN_SPREAD = math.log(2.2), 0.45  # a worn unit leaks about 2.2 times as much as new; judgement, from memory
SOUND_SPREAD = 0.15
NEW_SAG, WORN_SAG, SAG_SPREAD = 0.08, 0.25, 0.08  # drop of charge from neutral to stroked, as a share; judgement, from memory
WORN_SPEED_LOG, SPEED_SPREAD = math.log(0.95), 0.02  # a leaking loop is some 5 % slow; judgement, from memory


@dataclass(frozen=True)
class Apportioned:
    """Probability that the pump, the motor, both or neither leak too much, and one sentence."""

    pump: float
    motor: float
    both: float
    neither: float
    text: str


def apportion(
    pump_ratio: float | None = None,
    motor_ratio: float | None = None,
    sag_share: float | None = None,
    speed_ratio: float | None = None,
    ratio_uncertainty: float = 0.08,
) -> Apportioned:
    """Return how likely it is that pump, motor, both or neither leak too much.

    Law
    ---
    P(who | readings) ~ odds x product of P(reading | who), ratios taken as log-normal

    Parameters
    ----------
    pump_ratio : float or None
        Leakage in the pump drain over that of the new pump, above zero; None if not read [-]
    motor_ratio : float or None
        Leakage in the motor drain over that of the new motor, above zero; None if not read [-]
    sag_share : float or None
        Drop of charge from neutral to stroked as a share; None if not read [-]
    speed_ratio : float or None
        Speed over expected speed, above zero; None if not read [-]
    ratio_uncertainty : float
        Relative standard uncertainty of the ratios, zero or more [-]

    Returns
    -------
    apportioned : Apportioned
        Four probabilities that add up to 1, and a sentence [-]

    Examples
    --------
    A pump drain as new beside a motor drain of twice that:

    >>> found = apportion(pump_ratio=1.05, motor_ratio=2.1)
    >>> found.motor > 0.95
    True

    Source
    ------
    Bayes' rule; spreads are judgement, from memory. A drain does not show what leaks across a valve plate inside the loop.
    """
    for name, ratio in (("pump_ratio", pump_ratio), ("motor_ratio", motor_ratio), ("speed_ratio", speed_ratio)):
        if ratio is not None and ratio <= 0:
            raise ValueError(f"{name} must be above zero, got {ratio}")
    if ratio_uncertainty < 0:
        raise ValueError(f"ratio_uncertainty must be zero or more, got {ratio_uncertainty}")
    weights = dict(ODDS)
    for who in weights:
        weights[who] *= drain_likelihood(pump_ratio, who in ("pump", "both"), ratio_uncertainty)
        weights[who] *= drain_likelihood(motor_ratio, who in ("motor", "both"), ratio_uncertainty)
        weights[who] *= loop_likelihood(sag_share, speed_ratio, who != "neither", ratio_uncertainty)
    total = sum(weights.values())
    shares = {who: weight / total for who, weight in weights.items()}
    return Apportioned(**shares, text=apportioned_text(shares))


def drain_likelihood(ratio: float | None, worn: bool, uncertainty: float) -> float:
    """Return how likely a drain reading is from a unit that is worn or sound.

    Parameters
    ----------
    ratio : float or None
        Leakage over that of the new unit; None if not read [-]
    worn : bool
        Whether the unit is taken as worn [-]
    uncertainty : float
        Relative standard uncertainty of the ratio [-]

    Returns
    -------
    likelihood : float
        Density; 1 without a reading [-]

    Examples
    --------
    >>> drain_likelihood(2.0, True, 0.05) > drain_likelihood(2.0, False, 0.05)
    True

    Source
    ------
    Judgement, from memory. The sound unit has a thin long tail, so that a wild reading settles nothing by itself.
    """
    if ratio is None:
        return 1.0
    centre, spread = (WORN_LOG, WORN_SPREAD) if worn else (0.0, SOUND_SPREAD)
    near = NormalDist(centre, math.hypot(spread, uncertainty)).pdf(math.log(ratio))
    return 0.98 * near + 0.02 * NormalDist(0.0, 1.5).pdf(math.log(ratio))


def loop_likelihood(sag_share: float | None, speed_ratio: float | None, leaking: bool, uncertainty: float) -> float:
    """Return how likely charge sag and speed are from a loop that leaks or does not.

    Parameters
    ----------
    sag_share : float or None
        Drop of charge from neutral to stroked as a share; None if not read [-]
    speed_ratio : float or None
        Speed over expected speed; None if not read [-]
    leaking : bool
        Whether the loop is taken to leak too much [-]
    uncertainty : float
        Relative standard uncertainty [-]

    Returns
    -------
    likelihood : float
        Density; 1 without readings [-]

    Examples
    --------
    >>> loop_likelihood(0.3, None, True, 0.05) > loop_likelihood(0.3, None, False, 0.05)
    True

    Source
    ------
    Judgement, from memory.
    """
    found = 1.0
    if sag_share is not None:
        spread = math.hypot(SAG_SPREAD, uncertainty / 2)
        found *= NormalDist(WORN_SAG if leaking else NEW_SAG, spread).pdf(sag_share) + 0.02
    if speed_ratio is not None:
        centre = WORN_SPEED_LOG if leaking else 0.0
        found *= NormalDist(centre, SPEED_SPREAD).pdf(math.log(speed_ratio)) + 0.05
    return found


def apportioned_text(shares: dict[str, float]) -> str:
    """Return the sentence of an apportionment.

    Parameters
    ----------
    shares : dict
        Probability of pump, motor, both and neither [-]

    Returns
    -------
    text : str
        One sentence, advice and no order [-]

    Examples
    --------
    >>> apportioned_text({"neither": 0.02, "pump": 0.03, "motor": 0.9, "both": 0.05})
    'More likely the motor (about 90 %) than the pump (3 %); both 5 %, neither 2 %.'

    Source
    ------
    House rule.
    """
    percent = {who: f"{100 * share:.0f} %" for who, share in shares.items()}
    best = max(shares, key=shares.get)
    for who, other in (("pump", "motor"), ("motor", "pump")):
        leaks = shares[who] + shares["both"]
        if shares[best] < 0.6 and leaks >= 0.75 and shares[other] + shares["both"] < leaks - 0.25:
            parts = f"alone {percent[who]}, together with the {other} {percent['both']}"
            return f"The {who} leaks too much (about {100 * leaks:.0f} %): {parts}; neither {percent['neither']}."
    if shares[best] < 0.6:
        listed = ", ".join(f"{who} {percent[who]}" for who in ("pump", "motor", "both", "neither"))
        return f"Pump and motor cannot be told apart yet: {listed}."
    if best in ("pump", "motor"):
        other = "motor" if best == "pump" else "pump"
        rest = f"both {percent['both']}, neither {percent['neither']}"
        return f"More likely the {best} (about {percent[best]}) than the {other} ({percent[other]}); {rest}."
    named = "both pump and motor leak" if best == "both" else "neither pump nor motor leaks too much"
    return f"Most likely {named} (about {percent[best]}); pump alone {percent['pump']}, motor alone {percent['motor']}."

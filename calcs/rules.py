"""Interval rules: what a task is due by, which rule holds, and rules as columns for a whole fleet."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields

import numpy as np

from calcs.extension import NEVER_EXTENDED

SCOPES = ("model", "machine", "unit")
COUNTED = ("after_last", "meter")
RESETS = ("completion", "grid", "item_date", "window")
ANCHORS = ("meter zero", "unit install", "fluid fill", "hose manufacture", "certificate", "season start")
KINDS = ("fluid", "filter", "sample", "inspection", "hose", "brake", "interlock", "calibration")


@dataclass(frozen=True)
class Rule:
    """When a task falls due. Shares are of the interval in force; windows in days are cut short for short calendar intervals."""

    task: str
    kind: str = "inspection"
    scope: str = "model"
    steps_h: tuple[float, ...] = ()
    every_h: float | None = None
    every_mixed_h: float | None = None
    every_months: int | None = None
    counted: str = "after_last"
    anchor: str = "meter zero"
    reset: str = "completion"
    early_share: float = 0.15
    early_days: float = 30
    grace_share: float = 0.02
    grace_days: float = 7
    late_share: float = 0.10
    late_days: float = 30
    safety: bool = False
    kindred: str = ""
    source: str = ""

    def __post_init__(self):
        for name, allowed in (("scope", SCOPES), ("counted", COUNTED), ("reset", RESETS), ("anchor", ANCHORS), ("kind", KINDS)):
            if getattr(self, name) not in allowed:
                raise ValueError(f"{name} must be one of {allowed}, got {getattr(self, name)!r}")
        for name in ("every_h", "every_mixed_h", "every_months"):
            if getattr(self, name) is not None and getattr(self, name) <= 0:
                raise ValueError(f"{name} must be above zero, got {getattr(self, name)}")
        if any(b <= a for a, b in zip((0, *self.steps_h), self.steps_h, strict=False)):
            raise ValueError(f"steps_h must rise from above zero, got {self.steps_h}")
        if self.anchor == "season start" and self.reset != "grid":
            raise ValueError(f"reset must be 'grid' for a season start, got {self.reset!r}")
        if not (self.steps_h or self.every_h or self.every_months):
            raise ValueError(f"every_h, every_months or steps_h must be given for {self.task!r}")


@dataclass(frozen=True)
class RuleColumns:
    """Rules as columns, so that rows can pick theirs by number. `steps_h` is rules x most steps, filled up with infinity."""

    steps_h: np.ndarray
    every_h: np.ndarray
    every_mixed_h: np.ndarray
    every_months: np.ndarray
    on_meter: np.ndarray
    reset: np.ndarray
    from_season: np.ndarray
    extendable: np.ndarray
    always_allowed: np.ndarray
    late_allowed: np.ndarray
    early_share: np.ndarray
    early_days: np.ndarray
    grace_share: np.ndarray
    grace_days: np.ndarray
    late_share: np.ndarray
    late_days: np.ndarray

    def of(self, rule: np.ndarray) -> RuleColumns:
        """Return the columns of one row for each number in `rule`."""
        return RuleColumns(*(getattr(self, column.name)[rule] for column in fields(self)))


def rule_columns(rules: Sequence[Rule]) -> RuleColumns:
    """Return rules as columns for sums over a whole fleet.

    Parameters
    ----------
    rules : sequence of Rule
        The rules; rows name them by their place here [-]

    Returns
    -------
    columns : RuleColumns
        One entry a rule [-]

    Examples
    --------
    >>> rule_columns([Rule("Charge filter", steps_h=(20, 100), every_h=250)]).steps_h.tolist()
    [[20.0, 100.0, inf]]

    Source
    ------
    Our own arrangement.
    """
    steps = np.full((len(rules), max((len(rule.steps_h) for rule in rules), default=0) + 1), np.inf)
    for row, rule in enumerate(rules):
        steps[row, : len(rule.steps_h)] = rule.steps_h

    def column(name):
        return np.array([np.nan if getattr(rule, name) is None else getattr(rule, name) for rule in rules], float)

    return RuleColumns(
        steps_h=steps,
        every_h=column("every_h"),
        every_mixed_h=column("every_mixed_h"),
        every_months=column("every_months"),
        on_meter=np.array([rule.counted == "meter" for rule in rules], bool),
        reset=np.array([RESETS.index(rule.reset) for rule in rules], int),
        from_season=np.array([rule.anchor == "season start" for rule in rules], bool),
        extendable=np.array([rule.kind not in NEVER_EXTENDED and not rule.safety for rule in rules], bool),
        always_allowed=np.array([rule.safety for rule in rules], bool),
        late_allowed=np.array([rule.kind in ("fluid", "filter") for rule in rules], bool),
        **{f"{part}_{unit}": column(f"{part}_{unit}") for part in ("early", "grace", "late") for unit in ("share", "days")},
    )


def most_specific(rules: Sequence[Rule]) -> tuple[Rule, str]:
    """Return the rule that holds among those for the same task, and words that say which one won over which.

    Parameters
    ----------
    rules : sequence of Rule
        Rules for one task that all reach the same machine or unit; at least one [-]

    Returns
    -------
    winner : tuple
        The rule, and the reason in words [-]

    Examples
    --------
    >>> most_specific([Rule("Filter", every_h=500), Rule("Filter", scope="unit", every_h=300)])[1]
    'the rule of this unit holds, over that of the model'

    Source
    ------
    Common practice, no source.
    """
    if not rules:
        raise ValueError(f"rules must hold at least one, got {rules}")
    tasks = {rule.task for rule in rules}
    if len(tasks) > 1:
        raise ValueError(f"rules must be for one task, got {sorted(tasks)}")
    ordered = sorted(rules, key=lambda rule: -SCOPES.index(rule.scope))
    winner, beaten = ordered[0], [rule.scope for rule in ordered[1:] if rule.scope != ordered[0].scope]
    if len(ordered) > 1 and ordered[1].scope == winner.scope:
        raise ValueError(f"rules must not be two of one scope, got two for the {winner.scope} on {winner.task!r}")
    words = f"the rule of {'the model' if winner.scope == 'model' else 'this ' + winner.scope} holds"
    return winner, words + (", over that of the " + " and the ".join(beaten) if beaten else "")


def lines_that_reset(lines: Sequence[tuple[str, bool]]) -> tuple[list[str], list[str]]:
    """Return which tasks of a bundle start anew and which stand as they were: only a line done resets, and only its own.

    Parameters
    ----------
    lines : sequence of tuple
        Task and whether it was done [-]

    Returns
    -------
    parted : tuple of lists
        Tasks that start anew, tasks that stay due [-]

    Examples
    --------
    >>> lines_that_reset([("Fluid", True), ("Filter", False)])
    (['Fluid'], ['Filter'])

    Source
    ------
    Common practice, no source.
    """
    return [task for task, done in lines if done], [task for task, done in lines if not done]

"""Stored interval rules as the rules that the sums take: one for its words, all of them as columns."""

import numpy as np
import pandas as pd
from django.db.models import Q

from calcs.extension import NEVER_EXTENDED
from calcs.rules import RESETS, Rule, RuleColumns
from fleet.models import Installation
from shop.due.fleet_facts import frame, listed
from shop.models import IntervalRule

ANCHORS = {
    "meter_zero": "meter zero",
    "installation": "unit install",
    "fill": "fluid fill",
    "hose_made": "hose manufacture",
    "certificate": "certificate",
    "season_start": "season start",
}
KINDS = {"test": "inspection"}
FIELDS = (
    "pk", "task_id", "drive_model_id", "machine_id", "unit_id", "anchor", "anchor_date", "first_steps_h", "counted", "every_h", "every_months",
    "reset", "heeds_severity", "every_h_other_fluid", "own_fluid_id", "early_share", "late_share", "task__kind", "task__is_safety",
)  # fmt: skip
USUAL = Rule("", every_h=1)  # windows that a stored rule leaves to the sums


def as_rule(rule: IntervalRule) -> Rule:
    """Return a stored rule in the words of the sums."""
    task = rule.task
    return Rule(
        task=task.name,
        kind=KINDS.get(task.kind, task.kind),
        scope="unit" if rule.unit_id else "machine" if rule.machine_id else "model",
        steps_h=tuple(float(step) for step in rule.first_steps_h),
        every_h=float(rule.every_h) if rule.every_h is not None else None,
        every_mixed_h=float(rule.every_h_other_fluid) if rule.every_h_other_fluid is not None else None,
        every_months=rule.every_months,
        counted=rule.counted,
        anchor=ANCHORS[rule.anchor],
        reset="grid" if rule.anchor == "season_start" else rule.reset,
        early_share=rule.early_share,
        late_share=rule.late_share,
        safety=task.is_safety,
        kindred=task.group,
        source=f"{rule.document}, p. {rule.page}" if rule.document_id and rule.page else "",
    )


def rules_in_force(machines: set[int] | None = None, tasks: set[int] | None = None) -> pd.DataFrame:
    """Return the rules in force as a frame by key; with `machines` only those that may reach one of them, with `tasks` only those for one."""
    found = IntervalRule.objects.filter(is_retired=False, task__is_retired=False)
    found = found if tasks is None else found.filter(task__in=tasks)
    if machines is not None:
        fitted = list(Installation.objects.running().filter(machine__among=machines).values_list("unit_id", "unit__drive_model_id"))
        units, models = {unit for unit, _ in fitted}, {model for _, model in fitted}
        found = found.filter(Q(machine__among=machines) | Q(unit__among=units) | Q(drive_model__in=models))
    rules = frame(found.order_by("pk"), *FIELDS)
    rules["first_steps_h"] = rules.first_steps_h.map(listed)
    for name in ("every_h", "every_months", "every_h_other_fluid"):
        rules[name] = pd.to_numeric(rules[name]).astype(float)
    return rules


def columns_of(rules: pd.DataFrame) -> RuleColumns:
    """Return the frame of rules as the columns of the sums."""
    usual = {
        f"{part}_{unit}": np.full(len(rules), getattr(USUAL, f"{part}_{unit}"))
        for part in ("early", "grace", "late")
        for unit in ("share", "days")
    }
    from_season = (rules.anchor == "season_start").to_numpy()
    reset = rules.reset.map({name: k for k, name in enumerate(RESETS)}).to_numpy(float)
    safety = rules.task_is_safety.to_numpy(bool)
    return RuleColumns(
        steps_h=_steps(rules.first_steps_h),
        every_h=rules.every_h.to_numpy(float),
        every_mixed_h=rules.every_h_other_fluid.to_numpy(float),
        every_months=rules.every_months.to_numpy(float),
        on_meter=(rules.counted == "meter").to_numpy(),
        reset=np.where(from_season, RESETS.index("grid"), reset).astype(int),
        from_season=from_season,
        extendable=~rules.task_kind.isin(NEVER_EXTENDED).to_numpy() & ~safety,
        always_allowed=safety,
        late_allowed=rules.task_kind.isin(("fluid", "filter")).to_numpy(),
        **usual | {"early_share": rules.early_share.to_numpy(float), "late_share": rules.late_share.to_numpy(float)},
    )


def _steps(lists) -> np.ndarray:
    """Return first steps as rules x most steps, filled up with infinity."""
    width = max((len(steps) for steps in lists), default=0) + 1
    out = np.full((len(lists), width), np.inf)
    for row, steps in enumerate(lists):
        if steps:
            out[row, : len(steps)] = steps
    return out

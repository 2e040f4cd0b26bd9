"""A stored interval rule as the rule that the sums take."""

from calcs.rules import Rule
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

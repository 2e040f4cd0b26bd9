"""What the pages of rules show."""

from django.db.models import Q

from fleet.models import DriveUnit, Machine
from shop.models import IntervalRule


def rules_listed(which: str = "in force", task: str = ""):
    rows = IntervalRule.objects.select_related("task", "drive_model", "machine", "unit__drive_model", "document")
    rows = rows.filter(is_retired=which == "retired")
    return rows.filter(task__pk=int(task)) if task.isdecimal() and len(task) < 10 else rows


def reached_by(rule: IntervalRule) -> list[Machine]:
    """Return machines in use that a rule reaches, those with hours first."""
    running = {"installations__to_date": None}
    if rule.machine_id:
        found = Q(pk=rule.machine_id)
    elif rule.unit_id:
        found = Q(installations__unit=rule.unit_id, **running)
    else:
        found = Q(installations__unit__drive_model=rule.drive_model_id, **running)
    return list(Machine.objects.in_use().filter(found).distinct().order_by("number")[:40])


def unit_tags(machines) -> dict[int, str]:
    units = DriveUnit.objects.filter(installations__machine__in=machines, installations__to_date=None)
    return dict(units.values_list("pk", "tag"))


def every_words(rule: IntervalRule) -> str:
    """Return the interval as people say it."""
    parts = ["after " + ", ".join(f"{step:g}" for step in rule.first_steps_h) + " h"] if rule.first_steps_h else []
    every = [f"{rule.every_h:g} h"] if rule.every_h else []
    every += [f"{rule.every_months} months"] if rule.every_months else []
    parts += ["every " + " or ".join(every)] if every else []
    return ", then ".join(parts)

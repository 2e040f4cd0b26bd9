"""Whether the services that a warranty asks for were done in time, task by task, and which were missed."""

from dataclasses import dataclass
from decimal import Decimal

from calcs.calendar_sums import add_months
from shop.models import IntervalRule, TaskDone

SCOPES = ("unit", "machine", "drive_model")  # the narrowest first


@dataclass(frozen=True)
class Upkeep:
    """One stretch between two services: what was allowed and what it was."""

    task: str
    from_words: str
    to_words: str
    ran_h: Decimal
    allowed: str
    is_kept: bool

    @property
    def words(self) -> str:
        return "kept" if self.is_kept else "MISSED"


def rules_of(unit, machine) -> list[IntervalRule]:
    """One rule a task: the narrowest that holds."""
    wanted = {"unit": unit, "machine": machine, "drive_model": unit.drive_model}
    found: dict[int, IntervalRule] = {}
    for scope in SCOPES:
        for rule in IntervalRule.objects.filter(is_retired=False, **{scope: wanted[scope]}).select_related("task", "document"):
            found.setdefault(rule.task_id, rule)
    return sorted(found.values(), key=lambda rule: rule.task.name)


def upkeep_of(unit, machine, stay, until_h: Decimal, until_day) -> list[Upkeep]:
    """Every stretch of every ruled task, from when the unit was fitted until the hours and day of the claim."""
    rows = []
    for rule in rules_of(unit, machine):
        done = (
            TaskDone.objects.standing()
            .of(machine)
            .filter(task=rule.task, was_done=True, done_on__gte=stay.from_date, done_on__lte=until_day)
        )
        marks = [(stay.from_life_h, stay.from_date, "fitted")] + [
            (row.life_h, row.done_on, "done") for row in done.order_by("done_on", "pk")
        ]
        ends = [*marks[1:], (until_h, until_day, "claim")]
        steps = [Decimal(str(step)) for step in rule.first_steps_h]
        rows += [
            stretch(rule, start, end, steps[place] if place < len(steps) else rule.every_h)
            for place, (start, end) in enumerate(zip(marks, ends, strict=True))
        ]
    return rows


def stretch(rule, start, end, every_h) -> Upkeep:
    (start_h, start_day, start_word), (end_h, end_day, end_word) = start, end
    late = 1 + Decimal(str(rule.late_share))
    over_hours = every_h is not None and end_h - start_h > every_h * late
    over_days = rule.every_months is not None and end_day > add_months(start_day, rule.every_months) and end_word == "done"
    over_days = over_days or (rule.every_months is not None and end_word == "claim" and end_day > add_months(start_day, rule.every_months))
    allowed = " or ".join(
        part for part in (f"{every_h:g} h" if every_h else "", f"{rule.every_months} months" if rule.every_months else "") if part
    )
    source = f" [{rule.document}, p. {rule.page}]" if rule.document else ""
    return Upkeep(
        rule.task.name,
        f"{start_word} {start_day}, {start_h} h",
        f"{end_word} {end_day}, {end_h} h",
        end_h - start_h,
        (allowed or "–") + source,
        not (over_hours or over_days),
    )

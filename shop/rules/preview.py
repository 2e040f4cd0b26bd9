"""What a rule would bring before it is kept: worked out inside a transaction that is taken back."""

from dataclasses import dataclass
from datetime import date

from django.db import transaction

from calcs.due_words import explain
from calcs.thousands import grouped
from shop.due.fleet_due import work_out
from shop.due.rows import history_of_row, scope_words
from shop.due.rule_words import as_rule
from shop.models import IntervalRule

MOST_SHOWN = 8


@dataclass(frozen=True)
class Brought:
    """One machine the rule reaches: what is due now, what would be due, and why."""

    machine: str
    unit: str
    before: str
    after: str
    state: str
    words: str
    wins: str


class _TakeBack(Exception):
    pass


def brought_by(rule: IntervalRule, machines: list, units: dict, today: date) -> list[Brought]:
    """Return what the rule would bring on some machines it reaches."""
    wanted = {machine.pk for machine in machines[:MOST_SHOWN]}
    before = _due_of(rule.task_id, wanted, today)
    after = []
    try:
        with transaction.atomic():
            rule.save()
            after = _due_of(rule.task_id, wanted, today)
            raise _TakeBack
    except _TakeBack:
        pass
    names = {machine.pk: str(machine) for machine in machines}
    earlier = {(row.machine_id, row.unit_id): row for row, _ in before}
    return [_told(rule, row, given, earlier, names, units, today) for row, given in after]


def brought_by_factors(machine, codes: list[str], units: dict, today: date) -> list[Brought]:
    """Return what severity factors would bring on every task of one machine that heeds them, with the product as it is printed."""
    rows, _ = work_out(today, {machine.pk})
    earlier = {(row.task_id, row.unit_id): row for row in rows.itertuples()}
    after, inputs = work_out(today, {machine.pk}, tuple(sorted(codes)))
    rules = IntervalRule.objects.select_related("task", "document").in_bulk(after.rule_id.unique().tolist())
    out = []
    for k in after.index:
        row, rule = after.loc[k], rules[after.rule_id[k]]
        if rule.heeds_severity and rule.every_h:
            words = explain(as_rule(rule), history_of_row(inputs.loc[k]), row, today)
            before = earlier.get((row.task_id, row.unit_id))
            out.append(
                Brought(rule.task.name, units.get(row.unit_id, ""), point(before), point(row), row.state_word, words, scope_words(row))
            )
    return out


def _due_of(task_id: int, machines: set[int], today: date) -> list:
    rows, inputs = work_out(today, machines)
    mine = rows.index[rows.task_id == task_id]
    return [(rows.loc[k], inputs.loc[k]) for k in mine]


def _told(rule, row, given, earlier, names, units, today: date) -> Brought:
    was = earlier.get((row.machine_id, row.unit_id))
    holds = row.rule_id == rule.pk
    words = explain(as_rule(rule), history_of_row(given), row, today) if holds else "a narrower rule holds here and goes on as it was"
    return Brought(
        names.get(row.machine_id, ""), units.get(row.unit_id, ""), point(was), point(row), row.state_word, words, scope_words(row)
    )


def point(row) -> str:
    """Return hours and day of a due, as they stand in a table of what something brings."""
    if row is None:
        return "not due by any rule"
    hours = f"{grouped(row.due_h)} h" if row.due_h == row.due_h else ""
    day = f"{row.due_day:%-d %b %Y}" if row.due_day == row.due_day else ""
    return ", ".join(part for part in (hours, day) if part) or "not known"

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


def _due_of(task_id: int, machines: set[int], today: date) -> list:
    rows, inputs = work_out(today, machines)
    mine = rows.index[rows.task_id == task_id]
    return [(rows.loc[k], inputs.loc[k]) for k in mine]


def _told(rule, row, given, earlier, names, units, today: date) -> Brought:
    was = earlier.get((row.machine_id, row.unit_id))
    holds = row.rule_id == rule.pk
    words = explain(as_rule(rule), history_of_row(given), row, today) if holds else "a narrower rule holds here and goes on as it was"
    return Brought(
        names.get(row.machine_id, ""), units.get(row.unit_id, ""), _point(was), _point(row), row.state_word, words, scope_words(row)
    )


def _point(row) -> str:
    if row is None:
        return "not due by any rule"
    hours = f"{grouped(row.due_h)} h" if row.due_h == row.due_h else ""
    day = f"{row.due_day:%-d %b %Y}" if row.due_day == row.due_day else ""
    return ", ".join(part for part in (hours, day) if part) or "not known"

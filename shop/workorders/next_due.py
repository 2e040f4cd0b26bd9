"""What is due next on a machine, as words for the release page, the order and the label."""

from shop.due.rows import due_of_machine
from shop.workorders.words import hours_words


def next_due_rows(machine) -> list[list[str]]:
    """Task, hours, day, state; the soonest first. A task that falls into the season shows the day it was given instead."""
    return [[name_of(row), hours_words(row.due_h) if row.due_h is not None else "–", day_of(row), row.state] for row in soonest(machine)]


def soonest(machine) -> list:
    rows = due_of_machine(machine)
    return sorted(rows, key=lambda row: str(row.slot_day or row.due_day or "9999"))


def name_of(row) -> str:
    return f"{row.task.name} of {row.unit.tag}" if row.unit else row.task.name


def day_of(row) -> str:
    if row.slot_day and row.slot_day != row.due_day:
        return f"{row.slot_day} (planned)"
    return str(row.due_day) if row.due_day else "–"

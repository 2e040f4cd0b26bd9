"""One task on one machine or unit: how its due was worked out, step by step, and what happened to it before."""

from datetime import date

import pandas as pd
from django.http import Http404

from calcs.calendar_sums import MONTH_NAMES, as_date, day_words
from calcs.due import STATES
from calcs.season import MOVES
from calcs.severity import shorten
from calcs.thousands import grouped
from calcs.usage import BASIS
from fleet.models import DriveUnit, Machine
from shop.due.fleet_due import FleetDue, fleet_due
from shop.due.rows import DueRow, due_rows, history_of_row
from shop.models import Deferral, Extension, Finding, ServiceTask, TaskDone

PRACTICE = "common practice, no source"


def place_of(due: FleetDue, machine_id: int, task_id: int, unit_id: int) -> int:
    """Return the place of a task in the fleet's rows, or 404. A unit that was noted for a task of its whole machine leads there as well."""
    rows = due.rows
    found = rows.index[(rows.machine_id == machine_id) & (rows.task_id == task_id)]
    exact = [place for place in found if rows.unit_id[place] == unit_id]
    if not len(found) or not (exact or unit_id == 0 or (rows.unit_id[found] == 0).all()):
        raise Http404("No rule asks for this task here.")
    return int((exact or list(found))[0])


def row_of(machine_id: int, task_id: int, unit_id: int, today: date | None = None) -> tuple[FleetDue, int, DueRow]:
    due = fleet_due(today)
    place = place_of(due, machine_id, task_id, unit_id)
    rows = due_rows(due, [place])
    if not rows:
        raise Http404("No rule asks for this task here.")
    return due, place, rows[0]


def steps_of(due: FleetDue, place: int, row: DueRow) -> list[dict]:
    """Return the working of a due in steps: rule, interval, where it counts from, hours, days, state, season."""
    found, given = due.rows.loc[place], due.inputs.loc[place]
    steps = [_rule_step(row), *_interval_steps(row, found, given), _counted_step(row, given)]
    steps += _hour_steps(due, row, found, given) + _calendar_steps(row, found, given, due.today)
    return steps + [_state_step(row, found, due.today), *_season_steps(row, found, due.today)]


def step(name: str, result, unit: str = "-", law: str = "", given=(), source: str = "") -> dict:
    rows = [{"name": label, "value": value, "unit": measure} for label, value, measure in given if value is not None]
    return {"name": name, "law": law, "given": rows, "result": result, "unit": unit, "source": source}


def _source(row: DueRow) -> str:
    return f"{row.rule.document}, p. {row.rule.page}" if row.rule.document_id and row.rule.page else "no paper named for this rule"


def _rule_step(row: DueRow) -> dict:
    law = "the narrowest rule wins: unit over machine over model"
    return step("Which rule holds", f"{row.scope_words} ({row.rule.scope})", source=_source(row), law=law)


def _interval_steps(row: DueRow, found, given) -> list[dict]:
    rule, history = row.rule, history_of_row(given)
    if found.breakin:
        return [
            step(
                "Break-in step",
                grouped(found.interval_h),
                "h",
                given=[("first steps", ", ".join(grouped(h) for h in rule.first_steps_h), "h")],
            )
        ]
    if rule.every_h is None:
        return []
    mixed = history.other_fluid_ever and rule.every_h_other_fluid
    base = float(mixed or rule.every_h)
    why = " (another fluid was in the tank once)" if mixed else ""
    words = shorten(base, history.factors, history.floor).words
    steps = [step(f"Interval{why}", words, law="hours = every x max(floor, product of factors)", source=_source(row))]
    for signed in history.extensions:
        until = f"signed by {signed.signed_by}, to {signed.expires_on}"
        steps.append(step("Extended", f"x {1 + signed.share:g} ({until})", law="at most a quarter more a step"))
    return steps + [step("Interval in force", float(found.interval_h), "h")] if history.extensions else steps


def _counted_step(row: DueRow, given) -> dict:
    history = history_of_row(given)
    never = history.done_h is None and history.done_day is None
    by_item = row.rule.reset == "item_date"
    values = [
        ("anchor", history.anchor_h if row.rule.every_h or row.rule.first_steps_h else None, "h"),
        ("anchor day", _words(history.anchor_day), "-"),
        ("last done", history.done_h, "h"),
        ("on", _words(history.done_day), "-"),
    ]
    said = f"from {row.rule.get_anchor_display().lower()}" if never or by_item else row.rule.get_reset_display().lower()
    return step("Counted", said + (", never done" if never else ""), given=values)


def _words(day) -> str | None:
    return None if day is None else f"{day:%-d %b %Y}"


def _hour_steps(due: FleetDue, row: DueRow, found, given) -> list[dict]:
    if row.due_h is None:
        return []
    usage, machine = due.hours.usage, int(found.machine)
    steps = [step("Due at life hours", float(row.due_h), "h")]
    history = history_of_row(given)
    if history.reading_h is None:
        return [*steps, step("Day those hours are reached", "not known: no hours reading")]
    months = ", ".join(f"{name} {hours:.0f}" for name, hours in zip(MONTH_NAMES, usage.month_h[machine], strict=True))
    values = [("hours read", history.reading_h, "h"), ("on", _words(history.reading_day), "-"), ("months", months, "h")]
    basis = f"hours by month from {BASIS[usage.basis[machine]]}"
    likely = as_date(found.likely)
    said = (
        f"about {_words(likely)} ({_words(as_date(found.low))} to {_words(as_date(found.high))}, eight times in ten)"
        if likely
        else "not known"
    )
    law = "first day on which the months add up to the hours still to run"
    return [*steps, step("Day those hours are reached", said, law=law, given=values, source=f"{basis}; the sum is {PRACTICE}")]


def _calendar_steps(row: DueRow, found, given, today: date) -> list[dict]:
    day = as_date(found.calendar_day)
    if day is None:
        return []
    called = as_date(given.found_day)
    name = "Called at once by a finding" if called == day else "Due by the calendar"
    values = [("every", row.rule.every_months, "months")]
    first = "hours come first" if found.by_hours else "the calendar comes first"
    return [step(name, _words(day), given=values, source=_source(row)), step("Whichever comes first", f"{_words(row.due_day)}: {first}")]


def _state_step(row: DueRow, found, today: date) -> dict:
    values = [
        ("today", _words(today), "-"),
        ("hours by now", row.now_h, "h"),
        ("soon within", 100 * row.rule.early_share, "% of the interval"),
        ("late limit", 100 * row.rule.late_share, "% over"),
    ]
    return step(
        "State", STATES[int(found.state)], given=values, law="the worse of hours against hours and days against days", source=PRACTICE
    )


def _season_steps(row: DueRow, found, today: date) -> list[dict]:
    if not row.move:
        return []
    block = f"{day_words(found.block_start, today)} to {day_words(found.block_end, today)}"
    wasted = None if pd.isna(found.wasted_share) else 100 * float(found.wasted_share)
    said = f"{MOVES[row.move]}: {_words(row.slot_day)}"
    law = "before if that wastes 40 % of the life at most, else after if inside the late limit, else a person decides"
    return [step("Season", said, law=law, given=[("block", block, "-"), ("life unused if before", wasted, "%")], source=PRACTICE)]


def what_happened(machine: Machine, task: ServiceTask, unit: DriveUnit | None) -> dict:
    """Return what was done, put off, extended and found about a task, latest first."""
    same = {"machine": machine, "task": task}
    done = TaskDone.objects.standing().filter(**same).select_related("visit", "unit").order_by("-done_on", "-pk")
    put_off = Deferral.objects.filter(**same).select_related("asked_by", "approved_by", "approved_by_contact")
    found = Finding.objects.filter(machine=machine, calls_task=task).select_related("visit", "unit")
    extended = Extension.objects.filter(rule__task=task, machine=machine).select_related("signed_by").order_by("-signed_on")
    if unit is not None:
        done, put_off, found = (rows.filter(unit__in=[unit]) | rows.filter(unit=None) for rows in (done, put_off, found))
    return {"done": done[:40], "deferrals": put_off[:20], "extensions": extended[:20], "findings": found[:20]}

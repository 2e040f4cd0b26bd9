"""Interval rules for every machine, what was done when, what was left undone, and what was put off."""

from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from math import prod

from calcs.calendar_sums import add_months
from calcs.severity import FACTOR_FLOOR, FACTORS
from fleet.models import FluidProduct
from shop.demo import stories
from shop.demo.book import Book
from shop.demo.reference import reference
from shop.demo.times import dice, moment, tenth
from shop.models import Deferral, IntervalRule, TaskDone

OIL_OF_MODEL = {"HD75": "Hydrol 46", "VK110": "Hydrol 46", "TX45": "Hydrol 46", "LM38": "Allfield 10W-30"}
HOSES_LEFT = {"M-00036"}  # hoses past their age, not replaced
NEAR_DUE = 0.92
DONE_WHEN_DUE = 0.93
FILTER_PARTS = {"CHARGE-FILTER": "CF", "RETURN-FILTER": "RF", "SUCTION-SCREEN": "SS"}


def month_on(day: date, months: int) -> date:
    return add_months(day, months)


def make_rules(book: Book) -> None:
    rows = [_rule(book, row, model=model) for model in book.models.values() for row in reference()["interval_rules"]]
    rows += [_rule(book, reference()["hose_rule"], machine=machine) for machine in book.machines.values()]
    IntervalRule.objects.bulk_create(rows)


def _rule(book: Book, row: dict, model=None, machine=None) -> IntervalRule:
    figures = {name: value for name, value in row.items() if name != "task"}
    code = model.code if model else machine.drive_code
    own: FluidProduct | None = book.fluids[OIL_OF_MODEL[code]] if "every_h_other_fluid" in row else None
    return IntervalRule(
        task=book.tasks[row["task"]],
        drive_model=model,
        machine=machine,
        own_fluid=own,
        document=book.documents[code][1],
        anchor_date=hoses_made(book, machine) if machine else None,
        **figures,
    )


def hoses_made(book: Book, machine) -> date:
    return book.uses[machine.number].begun - timedelta(days=150)


@dataclass
class Clock:
    """One task on one machine: how long it lasts there, and when it was last done."""

    code: str
    every_h: float | None
    every_months: int | None
    last_h: float
    last_on: date

    def due_h(self) -> Decimal | None:
        return tenth(self.last_h + self.every_h) if self.every_h else None

    def due_on(self) -> date | None:
        return month_on(self.last_on, self.every_months) if self.every_months else None

    def is_near(self, life_h: float, day: date) -> bool:
        by_hours = bool(self.every_h) and life_h - self.last_h >= NEAR_DUE * self.every_h
        by_date = bool(self.every_months) and (day - self.last_on).days >= NEAR_DUE * 30.4 * self.every_months
        return by_hours or by_date


def make_tasks_done(book: Book) -> list[TaskDone]:
    """Make what was done at every call, and from the old book what was done last before; return the rows."""
    rows = []
    for machine in book.machines.values():
        for row in reference()["interval_rules"]:
            rows += _done_on(book, machine, row)
        rows += _hoses_done(book, machine)
    TaskDone.objects.bulk_create(rows)
    return rows


def _done_on(book: Book, machine, row: dict):
    throw = dice("task", machine.number, row["task"])
    clock = _clock(book, machine, row, throw)
    is_known = machine.number != stories.machine_of("unknown_history")
    if is_known and book.uses[machine.number].begun < clock.last_on < book.span.start:
        yield _old_book(book, machine, clock)
    for call in book.calls[machine.number]:
        if not clock.is_near(float(call.life_h), call.day):
            continue
        was_done = _was_done(book, machine, clock, call, throw)
        if was_done or throw.random() < 0.3:
            yield _done(book, clock, call, was_done)
        if was_done:
            clock.last_h, clock.last_on = float(call.life_h), call.day


def _clock(book: Book, machine, row: dict, throw) -> Clock:
    factor = max(FACTOR_FLOOR, prod(FACTORS[name] for name in machine.severity)) if row.get("heeds_severity", True) else 1.0
    every_h = float(row["every_h"]) * factor if "every_h" in row else None
    use, share = book.uses[machine.number], float(throw.uniform(0.1, 0.8))
    days = share * min(30.4 * row["every_months"], every_h / max(0.3, _h_per_day(use)) if every_h else 9999)
    last_on = max(use.begun, book.span.start - timedelta(days=round(days)))
    return Clock(row["task"], every_h, row["every_months"], float(use.life_h(last_on)), last_on)


def _h_per_day(use) -> float:
    return float(use.by_day[-1] - use.by_day[0]) / use.by_day.size


def _was_done(book: Book, machine, clock: Clock, call, throw) -> bool:
    ago = (book.span.as_of - call.day).days
    if clock.code == "CHARGE-FILTER" and machine.number == stories.machine_of("overdue_filter") and ago < 430:
        return False
    if clock.code == "FLUID" and machine.number == stories.machine_of("mixed_oil"):
        return abs(ago - stories.OIL_MIXED_AGO) < 40
    if clock.code == "FLUID" and machine.number == stories.machine_of("unknown_history"):
        return ago <= stories.FIRST_CHANGE_AGO
    return throw.random() < DONE_WHEN_DUE


def _old_book(book: Book, machine, clock: Clock) -> TaskDone:
    return TaskDone(
        task=book.tasks[clock.code],
        machine=machine,
        done_on=clock.last_on,
        life_h=tenth(clock.last_h),
        finding="From the old book",
        recorded_by=book.users["olof"],
        recorded_at=moment(book.span.start, 60),
    )


def _done(book: Book, clock: Clock, call, was_done: bool) -> TaskDone:
    part = FILTER_PARTS.get(clock.code)
    return TaskDone(
        task=book.tasks[clock.code],
        machine=call.machine,
        visit=call.row,
        done_on=call.day,
        life_h=call.life_h,
        was_done=was_done,
        why_not="" if was_done else "The part was not on the van",
        due_h=clock.due_h(),
        due_on=clock.due_on(),
        part_number=f"{part}-{call.machine.drive_code}" if part and was_done else "",
        recorded_by=book.users[call.who],
        recorded_at=call.at + timedelta(hours=2),
    )


def _hoses_done(book: Book, machine):
    made = hoses_made(book, machine)
    renewed = month_on(made, 72)
    if renewed > book.span.as_of or machine.number in HOSES_LEFT:
        return
    call = next((call for call in book.calls[machine.number] if call.day >= renewed), None)
    if call is None:
        return
    clock = Clock("HOSES", None, 72, 0.0, made)
    row = _done(book, clock, call, was_done=True)
    row.item_date = call.day - timedelta(days=110)
    yield row


def make_deferrals(book: Book) -> None:
    """Three tasks put off: one running, one that ran out, one that still waits for an approver."""
    for number, code, asked_ago, until_in, reason, approved in (
        ("M-00021", "COOLER", 9, 40, "customer", True),
        ("M-00004", "RETURN-FILTER", 70, -12, "parts", True),
        ("M-00024", "COOLER", 3, 30, "access", False),
    ):
        machine, day = book.machines[number], book.span.ago(asked_ago)
        Deferral.objects.create(
            task=book.tasks[code],
            machine=machine,
            reason=reason,
            words="Customer wants to finish the field first" if reason == "customer" else "",
            risk="Hot oil thins and wears the pump faster" if code == "COOLER" else "Dirt past the filter reaches the loop",
            asked_by=book.users["tilde"],
            approved_by=book.users["marta"] if approved else None,
            approved_at=moment(day, 400) if approved else None,
            recorded_by=book.users["tilde"],
            recorded_at=moment(day, 300),
            until_h=book.uses[number].life_h(book.span.as_of) + 60,
            until_on=book.span.as_of + timedelta(days=until_in),
        )

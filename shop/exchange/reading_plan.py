"""What a sheet of readings would do to the book: new readings, ones that are there, ones that differ from what stands."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable
from itertools import pairwise

from django.utils import timezone

from calcs.meter import judge_reading
from calcs.thousands import grouped
from fleet.models import HourMeter, Reading
from shop.exchange.columns import Layout, reading_layout
from shop.exchange.keys import reading_key
from shop.exchange.known import KnownBook
from shop.exchange.limits import MOST_READINGS, MOST_TESTS
from shop.exchange.plans import Choices, Plan, ReadRow, Refusal
from shop.exchange.reading_gate import ReadingGate
from shop.exchange.sheets import Sheet, read_sheets
from shop.refusals import Refused

AT_ONCE = 400
BESIDE = ("drive_test__unit__drive_model", "instrument")


def plan_readings(body: bytes, by, choices: Choices, say: Callable[[int, int], None] = lambda done, of: None) -> Plan:
    """Return everything that a file of readings would do; nothing is written."""
    sheet, layout, others = sheet_with_readings(read_sheets(body))
    gate = ReadingGate(sheet, layout, KnownBook(by), choices)
    rows = sheet.rows[layout.first :]
    gate.read(lambda done: say(done, len(rows)))
    refuse_too_many(gate.rows)
    plan = Plan(rows=len(rows), refused=gate.refused, columns=layout.rows(), unknown=layout.unknown)
    plan.heading = layout.heading(next(cells for line, cells in sheet.rows if line == layout.line))
    plan.notes = [*sheet.notes, *others, *gate_notes(gate, layout)]
    refuse_hours_that_disagree(gate)
    sort_out(plan, gate, choices)
    plan.refused.sort(key=lambda refusal: (refusal.line, refusal.column))
    lines = {refusal.line for refusal in plan.refused}
    plan.cells = {line: cells for line, cells in rows if line in lines}
    return plan


def refuse_too_many(rows: list[ReadRow]) -> None:
    """Refuse a sheet that would keep others waiting for too long while it is written."""
    tests = len({(row.unit.pk, row.at) for row in rows})
    for count, most, noun in ((len(rows), MOST_READINGS, "readings"), (tests, MOST_TESTS, "tests")):
        if count > most:
            raise Refused(f"The sheet holds {grouped(count)} {noun}; up to {grouped(most)} are taken at once. Split it.")


def sheet_with_readings(sheets: list[Sheet]) -> tuple[Sheet, Layout, list[str]]:
    """Return the first sheet that has headings of readings, and a note on sheets left alone."""
    trouble = None
    for sheet in sheets:
        try:
            layout = reading_layout(sheet)
        except Refused as refusal:
            trouble = trouble or refusal
            continue
        others = [
            f"Sheet “{other.name}” was not read: one sheet is taken at a time." for other in sheets if other is not sheet and other.rows
        ]
        return sheet, layout, ([f"Sheet “{sheet.name}” was read."] if sheet.name else []) + others
    raise trouble


def gate_notes(gate: ReadingGate, layout: Layout) -> list[str]:
    zone = timezone.get_current_timezone_name()
    notes = [f"Times without a zone are taken as the shop's own ({zone})."]
    if gate.has_no_time:
        notes.append("Tests without a time of day are put at noon.")
    if gate.strangers:
        names = ", ".join(sorted(gate.strangers)[:8])
        notes.append(
            f"Not names of people in this book: {names}. Their tests are put under the person who imports; the name is kept as a remark."
        )
    if layout.line > 1:
        notes.append(f"The headings stand in line {layout.line}; what stands above is not read.")
    return notes


def refuse_hours_that_disagree(gate: ReadingGate) -> None:
    """Refuse rows of one machine whose hours cannot both be true."""
    told: dict = defaultdict(dict)
    for row in gate.rows:
        told[row.machine][(row.at, row.hours.meter_h)] = row
    bad: dict[int, tuple[ReadRow, ReadRow]] = {}
    fitted = defaultdict(list)
    for machine, day in HourMeter.objects.filter(machine__in=list(told)[:AT_ONCE]).values_list("machine", "fitted_on"):
        fitted[machine].append(day)
    for machine, seen in told.items():
        for (_, first), (_, second) in pairwise(sorted(seen.items())):
            if _disagree(first, second, fitted[machine.pk]):
                bad |= {first.line: (first, second), second.line: (second, first)}
    _refuse_pairs(gate, bad)


def _disagree(first: ReadRow, second: ReadRow, fitted: list) -> bool:
    days = [timezone.localtime(row.at).date() for row in (first, second)]
    if first.hours.is_kept or second.hours.is_kept or any(days[0] < day <= days[1] for day in fitted):
        return False
    if first.at == second.at:
        return True
    return judge_reading(float(second.hours.meter_h), days[1], float(first.hours.meter_h), days[0]).state == "impossible"


def _refuse_pairs(gate: ReadingGate, bad: dict[int, tuple[ReadRow, ReadRow]]) -> None:
    column = gate.layout.of("hours")
    lines = {(row.machine.pk, row.at, row.hours.meter_h) for row, _ in bad.values()}
    others = {(row.machine.pk, row.at, row.hours.meter_h): other for row, other in bad.values()}
    for row in [row for row in gate.rows if (row.machine.pk, row.at, row.hours.meter_h) in lines]:
        other = others[(row.machine.pk, row.at, row.hours.meter_h)]
        when = timezone.localtime(other.at)
        reason = f"Line {other.line} has {other.hours.typed} h for {row.machine.number} at {when:%Y-%m-%d %H:%M}: both cannot be true."
        where, instead = f"{column.letters} {column.heading}", "The hours that the meter showed"
        gate.refused.append(Refusal(row.line, where, row.hours.typed, reason, instead, gate.sheet.name))
    refused = {refusal.line for refusal in gate.refused}
    gate.rows = [row for row in gate.rows if row.line not in refused]


def sort_out(plan: Plan, gate: ReadingGate, choices: Choices) -> None:
    """Tell rows that are new from those written twice in the file, there already, or different from what stands."""
    rows = _once_each(plan, gate)
    stands, seen = in_the_book(rows)
    for row in rows:
        before = stands.get(row.place)
        if row.key in seen:
            plan.known += 1
        elif before is None:
            plan.fresh.append(row)
        elif choices.put_right:
            plan.amended.append((before, row))
        else:
            _refuse_other(plan, gate, row, before)


def _once_each(plan: Plan, gate: ReadingGate) -> list[ReadRow]:
    """Return rows without their doubles; two that differ over the same reading are both refused."""
    by_place: dict[tuple, dict[str, ReadRow]] = defaultdict(dict)
    for row in gate.rows:
        by_place[row.place].setdefault(row.key, row)
    rows = []
    for same in by_place.values():
        if len(same) == 1:
            rows += same.values()
        else:
            _refuse_rivals(plan, gate, list(same.values()))
    rivals = {refusal.line for refusal in plan.refused}
    rows = [row for row in rows if row.line not in rivals]
    plan.doubles = len([row for row in gate.rows if row.line not in rivals]) - len(rows)
    return rows


def _refuse_rivals(plan: Plan, gate: ReadingGate, rows: list[ReadRow]) -> None:
    for row in rows:
        others = ", ".join(str(other.line) for other in rows if other is not row)
        reason = f"Line {others} has another figure or other conditions for the same reading at the same time."
        plan.refused.append(_at_value(gate, row, reason, "One of them; or the further ones in a column “Further values”"))


def _refuse_other(plan: Plan, gate: ReadingGate, row: ReadRow, before: Reading) -> None:
    reason = f"The book has {before.typed} {before.typed_unit} for this reading, in {before.drive_test}, or other conditions."
    plan.refused.append(_at_value(gate, row, reason, "Nothing, if the book is right; else say below why these are put right"))


def _at_value(gate: ReadingGate, row: ReadRow, reason: str, instead: str) -> Refusal:
    name = f"{row.entry.quantity} {row.entry.direction}".strip()
    column = gate.layout.of("value") or gate.layout.of(name)
    return Refusal(row.line, f"{column.letters} {column.heading}" if column else name, row.entry.typed, reason, instead, gate.sheet.name)


def in_the_book(rows: list[ReadRow]) -> tuple[dict[tuple, Reading], set[str]]:
    """Return what stands at the places of these rows, and the marks of all that stands or stood there."""
    stands: dict[tuple, Reading] = {}
    seen: set[str] = set()
    units, moments = {row.unit.pk for row in rows}, sorted({row.at for row in rows})
    for start in range(0, len(moments), AT_ONCE):
        some = Reading.objects.filter(drive_test__unit__in=units, drive_test__tested_at__in=moments[start : start + AT_ONCE])
        for reading in some.select_related(*BESIDE, "superseded_by"):
            seen |= {reading_key(reading), reading.content_key or ""}
            if reading.stands:
                stands[(reading.drive_test.unit_id, reading.drive_test.tested_at, reading.quantity, reading.direction, reading.port)] = (
                    reading
                )
    return stands, seen

"""What the pages of testing show: lists, one test in progress, its result, a procedure in its versions."""

from __future__ import annotations

from django.db.models import Count, Q
from django.shortcuts import get_object_or_404

from calcs.baselines import TEST_TEMPS_C
from calcs.quantities import QUANTITIES
from fleet.models import Reading
from shop.cautions import DEFERS, cautions_of
from shop.diagnosis.rows import NO_COMPLAINT, SYMPTOM_OF, diagnosis_of_test
from shop.measures import shown
from shop.models import OpenTest, Procedure
from shop.tests.differences import before_and_after, forward_and_reverse
from shop.tests.lines import StepReading
from shop.tests.live import live_of
from shop.tests.marks import last_mark
from shop.tests.procedures import needs_words
from shop.tests.sheet import OpenSheet, StepColumn
from shop.tests.steps import COLUMN_WORDS, PageStep
from shop.visits.rows import read_lines
from shop.workorders.expected import expected_of
from shop.workorders.reading_rows import last_readings, last_words, port_of, unit_of


def tests_listed(wanted: dict):
    """Tests in progress and closed, the open ones first."""
    found = OpenTest.objects.select_related("machine", "unit__drive_model", "opened_by", "order").annotate(n=Count("marks"))
    if "q" in wanted:
        text = wanted["q"]
        found = found.filter(Q(number__icontains=text) | Q(unit__tag__icontains=text) | Q(machine__number__icontains=text))
    if wanted.get("only_open"):
        found = found.filter(closed_at=None)
    return found


def found_test(pk: int) -> OpenTest:
    beside = ("machine__customer", "unit__drive_model", "opened_by", "order", "test_before", "test_after")
    rows = OpenTest.objects.select_related(*beside).prefetch_related("procedures", "unit__drive_model__ports")
    return get_object_or_404(rows, pk=pk)


class BesideStep:
    """What stands beside a step for both columns: port, the expected value at four temperatures, the last reading."""

    def __init__(self, sheet: OpenSheet, step: PageStep, last: dict):
        as_read, kind = step.as_read, QUANTITIES[step.told["quantity"]].kind
        units = sheet.shelf.in_units
        found = expected_of(as_read, sheet.facts)
        self.heading = f"{QUANTITIES[step.told['quantity']].label}{f', {step.direction}' if step.direction else ''}"
        self.port = port_of(as_read, sheet.facts)
        self.unit = unit_of(kind, units)
        self.at_four = (
            [] if isinstance(found, str) else [(f"{t:g}", shown(e.value, kind, units)) for t, e in zip(TEST_TEMPS_C, found, strict=True)]
        )
        self.last = last_words(last.get((as_read.quantity, as_read.direction)), kind, units)


class OpenPage:
    """The page of one test in progress."""

    def __init__(self, sheet: OpenSheet):
        self.sheet, last = sheet, last_readings(sheet.unit)
        self.beside = {step.key: BesideStep(sheet, step, last) for part in sheet.parts for step in part.steps if step.is_reading}
        self.cautions = cautions_of({code for part in sheet.parts for code in part.procedure.cautions})

    def context(self) -> dict:
        sheet = self.sheet
        parts = [
            {
                "procedure": part.procedure,
                "is_written_in": part.is_written_in,
                "steps": [self.step_rows(step) for step in part.steps],
            }
            for part in sheet.parts
        ]
        return {
            "test": sheet.test,
            "seen": last_mark(sheet.test),
            "conditions": [(column, COLUMN_WORDS[column], form) for column, form in sheet.conditions.items()],
            "parts": parts,
            "cautions": self.cautions,
            "defers": DEFERS,
            "is_two": len(sheet.columns) > 1,
            "oil_words": sheet.facts.oil.name if sheet.facts.oil else f"Fluid unknown: no expected value ({sheet.facts.oil_reason}).",
        }

    def step_rows(self, step: PageStep) -> dict:
        columns = [] if not (step.is_reading or step.is_check) else [column_row(self.sheet, line) for line in self.sheet.beside(step)]
        return {"step": step, "beside": self.beside.get(step.key), "columns": columns, "cautions": cautions_of(step.cautions)}


def column_row(sheet: OpenSheet, line: StepColumn) -> dict:
    live = live_of(sheet, line) if isinstance(line.form, StepReading) else None
    return {"line": line, "form": line.form, "live": live, "is_open": has_more(line)}


def has_more(line: StepColumn) -> bool:
    """Whether the fold of a blank has something in it."""
    names = ("repeats", "oil_temp", "engine_speed", "loop_pressure", "case_pressure", "note", "could_not")
    return any(line.form.data.get(line.form.add_prefix(name)) for name in names)


def result_page(test: OpenTest, by, symptom: str = "") -> dict:
    """What a closed test came to."""
    tests = [row for row in (test.test_before, test.test_after) if row]
    lines = read_lines(tests)
    asked = symptom or (SYMPTOM_OF.get(test.order.symptom, NO_COMPLAINT) if test.order else NO_COMPLAINT)
    latest = tests[-1] if tests else None
    sheet = OpenSheet(test, by)
    return {
        "test": test,
        "rounds": [(row, lines[row.pk]) for row in tests],
        "visit": tests[0].visits.first() if tests else None,
        "differences": before_and_after(test.test_before, test.test_after),
        "both_ways": forward_and_reverse(latest),
        "diagnosis": diagnosis_of_test(latest, asked) if latest else None,
        "ticks": [(line, sheet.heading(line)) for line in sheet.lines.values() if line.step.is_check and line.is_written],
        "not_done": sheet.not_done(),
        "procedures": list(test.procedures.order_by("walk_order", "code")),
        "given_up": test.conditions.get("given_up", ""),
        "stands": Reading.objects.standing().filter(drive_test__in=tests).exists(),
    }


def procedure_page(code: str, version: int | None) -> dict:
    """One procedure in one of its versions, and the tests that were done by it."""
    versions = list(Procedure.objects.filter(code=code).order_by("-version"))
    if not versions:
        get_object_or_404(Procedure, code=code)
    wanted = versions[0] if version is None else get_object_or_404(Procedure, code=code, version=version)
    return {
        "procedure": wanted,
        "versions": versions,
        "is_latest": wanted == versions[0],
        "steps": [(step, cautions_of(step.get("cautions", ())), QUANTITIES.get(step.get("quantity", ""))) for step in wanted.steps],
        "cautions": cautions_of(wanted.cautions),
        "needs": needs_words(wanted.applies_if),
        "tests": wanted.open_tests.select_related("unit", "machine").order_by("-pk")[:25],
        "defers": DEFERS,
    }

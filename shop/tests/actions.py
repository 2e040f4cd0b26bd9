"""Acts of testing: a test is opened, written in, closed or given up; a procedure gets a new version."""

from __future__ import annotations

from django.db.models import Max
from django.utils import timezone

from fleet.assess import assess_drive_test
from fleet.models import DriveTest, Machine
from shop.acts import act
from shop.models import Counter, Finding, OpenTest, Procedure
from shop.refusals import Refused
from shop.tests.marks import times_of
from shop.tests.sheet import OpenSheet
from shop.tests.steps import AFTER, BEFORE
from shop.visits.actions import put_tests, record_visit
from shop.visits.entries import FindingEntry, HoursEntry, VisitEntry

Moment = DriveTest.Moment
MOST_WORDS = 300


def open_test(*, by, unit, machine: Machine, procedures, columns: str = "one", order=None, token: str = "") -> OpenTest:
    """Open a test on a drive with the procedures in their versions of now."""
    if columns not in ("one", "two"):
        raise ValueError(f"columns must be one or two, got {columns!r}")
    with act("Test opened", by=by, token=token) as frame:
        frame.made = OpenTest.objects.create(
            number=Counter.next_number("open test", "E"),
            machine=machine,
            unit=unit,
            order=order,
            opened_by=by,
            conditions={"columns": columns},
        )
        frame.made.procedures.set(procedures)
    return frame.made


def close_test(*, by, test: OpenTest, hours: HoursEntry, note: str = "", token: str = "") -> OpenTest:
    """Make drive tests of what was written, judged, as part of one visit; the test keeps the procedures it was done by."""
    with act("Test closed", by=by, token=token) as frame:
        test = _still_open(test)
        sheet = OpenSheet(test, by)
        _refuse_unready(sheet)
        made = _visit_of(sheet, by, hours, note)
        test.test_before, test.test_after = made.get(BEFORE), made.get(AFTER)
        test.closed_at = timezone.now()
        test.save()
        frame.made = test
    return test


def give_up_test(*, by, test: OpenTest, reason: str, token: str = "") -> OpenTest:
    """Close a test without readings, and say why; what was marked stays."""
    with act("Test given up", by=by, reason=reason, token=token) as frame:
        test = _still_open(test)
        test.conditions = {**test.conditions, "given_up": reason}
        test.closed_at = timezone.now()
        test.save()
        frame.made = test
    return test


def _still_open(test: OpenTest) -> OpenTest:
    found = OpenTest.objects.select_for_update(of=("self",)).select_related("machine", "unit__drive_model", "order").get(pk=test.pk)
    if found.closed_at:
        raise Refused(f"{found} was closed on {timezone.localtime(found.closed_at):%-d %b %Y, %H:%M}.")
    return found


def _refuse_unready(sheet: OpenSheet) -> None:
    wrong = sheet.sentences()
    if wrong:
        raise Refused(*wrong)
    if not any(sheet.entries(column) for column in sheet.columns) and not any(line.is_written for line in sheet.lines.values()):
        raise Refused("Nothing was written at this test. Write a reading or a tick, or give the test up and say why.")


def _visit_of(sheet: OpenSheet, by, hours: HoursEntry, note: str) -> dict[str, DriveTest]:
    """Write the visit with one drive test for each column that was read; return the tests by column."""
    read = [column for column in sheet.columns if sheet.entries(column)]
    entries = {column: _entry(sheet, column, hours) for column in read}
    first = entries[read[0]] if read else VisitEntry(hours)
    first = VisitEntry(hours, first.conditions, first.readings, findings=findings_of(sheet), note=note_of(sheet, note))
    made: dict[str, DriveTest] = {}

    def then(visit):
        found = list(visit.tests.all())
        for column in read[1:]:
            found += put_tests(visit, entries[column], by)
        visit.tests.set(found)
        for column, test in zip(read, found, strict=True):
            made[column] = _timed(test, times_of(sheet.test).get(column))

    record_visit(by=by, machine=sheet.machine, visited_at=timezone.now(), entry=first, order=sheet.test.order, then=then)
    return made


def _entry(sheet: OpenSheet, column: str, hours: HoursEntry) -> VisitEntry:
    moment = Moment.ALONE if len(sheet.columns) == 1 else column
    return VisitEntry(hours, sheet.round_conditions(column, moment), sheet.entries(column))


def _timed(test: DriveTest, at) -> DriveTest:
    """Set the time at which the column was written, and judge by it: oil filled later was not in yet."""
    if at is not None and at < test.tested_at:
        test.tested_at = at
        test.save(update_fields=["tested_at"])
    assess_drive_test(test)
    return test


def findings_of(sheet: OpenSheet) -> tuple[FindingEntry, ...]:
    """Return what was ticked as not so; where there are two columns, what the later one did not put right."""
    found = []
    for line, words in sheet.wrong():
        later = sheet.lines.get(f"{line.step.key}-{AFTER}")
        if line.column == BEFORE and later is not None and later.is_written:
            continue
        told = [f"{line.step.procedure.code} not as it should be: {words}"]
        told += [line.form.data.get(line.form.add_prefix("note")) or ""]
        found.append(FindingEntry("; ".join(part for part in told if part)[:MOST_WORDS], Finding.Urgency.NOW, sheet.unit))
    return tuple(found)


def note_of(sheet: OpenSheet, note: str) -> str:
    return "\n".join(part for part in (f"By open test {sheet.test.number}.", note, *sheet.not_done()) if part)[:4000]


def add_version(*, by, code: str, based_on: int, token: str = "", **fields) -> Procedure:
    """Put the next version of a procedure on record; tests done by earlier ones keep theirs."""
    with act("Procedure changed", by=by, token=token) as frame:
        latest = Procedure.objects.filter(code=code).aggregate(n=Max("version"))["n"]
        if latest is None:
            raise Refused(f"There is no procedure {code}.")
        if latest != based_on:
            raise Refused(f"Somebody wrote version {latest} of {code} meanwhile: look at it first, then bring in what you changed.")
        frame.made = Procedure(code=code, version=latest + 1, **fields)
        frame.made.save()
    return frame.made

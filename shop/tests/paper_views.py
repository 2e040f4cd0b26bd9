"""The sheet of an open test on paper, with a code that opens the test again."""

from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_safe

from shop.printing.paper import Head
from shop.printing.test_sheet import test_sheet_pieces
from shop.roles import may
from shop.tests.rows import found_test
from shop.tests.steps import parts_of
from shop.workorders.answers import pdf_answer
from shop.workorders.expected import facts_of
from shop.workorders.reading_rows import rows_of_test
from shop.workorders.test_map import with_map


@may("read the book")
@require_safe
def print_open_test(request, pk):
    test = found_test(pk)
    parts = parts_of(test.procedures.all(), test.unit.drive_model, test.machine)
    steps = tuple(step.as_read for part in parts for step in part.steps if step.is_reading)
    cautions = frozenset(code for part in parts for code in part.procedure.cautions)
    tests = with_map(
        rows_of_test(test.unit, test.machine, request.user, picked=(steps, cautions)),
        test.unit,
        facts_of(test.unit, test.machine, timezone.localdate()),
    )
    tests["checks"] = [
        [f"{part.procedure.code} {words}", "☐", "☐"] for part in parts for step in part.steps if step.is_check for _, words in step.cells
    ]
    note = f"{test.unit.tag} in {test.machine}, serial {test.machine.serial}"
    head = Head("Test sheet", test.number, "closed" if test.closed_at else "in progress", note, address_of(request, test))
    return pdf_answer(request, [(head, test_sheet_pieces(tests, "working" in request.GET))], f"{test.number}-sheet.pdf")


def address_of(request, test) -> str:
    """Return the full address of the page, so that the printed code opens it."""
    return request.build_absolute_uri(reverse("open_test", args=[test.pk]))

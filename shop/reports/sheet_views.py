"""Reports on paper: one drive, and what is due over the fleet."""

from django.http import HttpResponse
from django.shortcuts import get_object_or_404
from django.views.decorators.http import require_safe

from fleet.models import DriveUnit
from shop.due.filters import DueFilter
from shop.due.fleet_due import fleet_due
from shop.due.rows import chosen, due_rows
from shop.printing.health_report import health_report_paper
from shop.printing.lists import due_list_paper
from shop.printing.paper import make_pdf, paper_of
from shop.reports.drive_report import drive_report, hours_words
from shop.roles import may

MOST_ROWS = 2000


@may("read the book")
@require_safe
def print_drive_report(request, pk):
    unit = get_object_or_404(DriveUnit.objects.with_place(), pk=pk)
    return sheet(request, [health_report_paper(drive_report(unit))], f"{unit.tag}-report.pdf")


@may("read the book")
@require_safe
def print_due_list(request):
    """The due list with the filters of its page."""
    fleet = fleet_due()
    rows = due_rows(fleet, chosen(fleet, **DueFilter(request.GET).asked())[:MOST_ROWS])
    return sheet(request, [due_list_paper([due_words(row) for row in rows], on=str(fleet.today))], "due.pdf")


def due_words(row) -> list[str]:
    day = f"{row.slot_day} (planned)" if row.slot_day and row.slot_day != row.due_day else str(row.due_day or "–")
    age = f", hours read {row.reading_age_days} days ago" if row.reading_age_days is not None and row.reading_age_days > 30 else ""
    return [
        f"{row.machine}",
        row.unit.tag if row.unit else "–",
        row.task.name,
        hours_words(row.due_h),
        day,
        row.state,
        f"{row.reason}{age}",
    ]


def sheet(request, papers, name: str) -> HttpResponse:
    answer = HttpResponse(
        make_pdf(papers, paper_of(request.user, request.GET.get("paper", "")), title=name.removesuffix(".pdf")),
        content_type="application/pdf",
    )
    answer["Content-Disposition"] = f'inline; filename="{name}"'
    answer["X-Content-Type-Options"] = "nosniff"
    return answer

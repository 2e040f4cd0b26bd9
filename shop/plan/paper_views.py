"""The plan before the season on paper."""

from django.http import HttpResponse
from django.views.decorators.http import require_safe

from shop.due.fleet_due import fleet_due
from shop.plan.before_season import season_plan
from shop.printing.lists import season_plan_paper
from shop.printing.paper import make_pdf, paper_of
from shop.roles import may


@may("read the book")
@require_safe
def print_before_season(request):
    """Weeks with hours against what there is, and what has no week yet."""
    due = fleet_due()
    season = season_plan(due)
    weeks = [_week(week) for week in season.weeks]
    unbooked = [_unbooked(row, start) for row, start in season.unbooked]
    remarks = [f"{season.booked} of {season.whole} tasks that fall due before their season are booked."]
    paper = season_plan_paper(weeks, unbooked, on=str(due.today), remarks=remarks)
    pdf = make_pdf([paper], paper_of(request.user, request.GET.get("paper", "")), title="Plan before the season")
    return HttpResponse(pdf, content_type="application/pdf", headers={"Content-Disposition": 'inline; filename="before-season.pdf"'})


def _week(week) -> tuple:
    return (
        f"Week of {week.monday:%-d %b %Y}",
        f"{week.planned_h:.0f}",
        f"{week.room_h:.0f}",
        [_booked(booking) for booking in week.bookings],
    )


def _unbooked(row, start) -> list[str]:
    return [str(row.machine), row.task.name, f"{row.task.work_h}", f"{row.reason}; season from {start:%-d %b}"]


def _booked(booking) -> list[str]:
    day = f"{booking.day:%a %-d %b}" if booking.day else "–"
    return [day, str(booking.machine), booking.title, str(booking.technician or "–"), f"{float(booking.work_h):g}", booking.reason]

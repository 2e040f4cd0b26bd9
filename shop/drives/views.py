"""Pages of drives: the list with latest verdicts, one drive with its life, and how an expected value was reached."""

from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_safe

from calcs.quantities import QUANTITIES
from fleet.hours import hours_of_units
from fleet.models import ConditionAssessment, DriveUnit, Reading
from shop.diagnosis.rows import diagnosis_of_unit
from shop.drives import actions
from shop.drives.forms import DriveFilter, DriveForm, EventForm, ReadingFilter
from shop.drives.rows import drive_page, latest_verdicts, readings_listed, units_listed
from shop.drives.tables import DriveTable, ReadingTable
from shop.editing import act_page, record_page
from shop.lists import in_pages
from shop.measures import units_of
from shop.roles import may
from shop.trends.rows import wear_of_drive


def address(unit: DriveUnit) -> str:
    return reverse("drive", args=[unit.pk])


@may("read the book")
@require_safe
def drives(request):
    filters = DriveFilter(request.GET)
    table = in_pages(DriveTable(units_listed(filters.wanted())), request)
    units = [row.record for row in table.page.object_list]
    table.hours_h, table.verdicts = hours_of_units(units), latest_verdicts(unit.pk for unit in units)
    return render(request, "shop/drives/drives.html", {"table": table, "filters": filters})


@may("read the book")
@require_safe
def drive(request, pk):
    unit = get_object_or_404(DriveUnit.objects.select_related("drive_model").prefetch_related("events"), pk=pk)
    filters = ReadingFilter(request.GET)
    readings = readings_listed(unit, filters.wanted().get("quantity", ""))
    table = in_pages(ReadingTable(readings, units=units_of(request.user)), request)
    page = drive_page(unit)
    wear = wear_of_drive(unit, page["running"].machine if page["running"] else None)
    context = page | wear | {"table": table, "filters": filters, "diagnosis": diagnosis_of_unit(unit)}
    return render(request, "shop/drives/drive.html", context)


@may("read the book")
@require_safe
def working(request, pk):
    """Show how the verdict on one reading was reached, step by step."""
    reading = get_object_or_404(Reading.objects.with_verdicts().select_related("supersedes"), pk=pk)
    judged = ConditionAssessment.objects.filter(reading=reading).order_by("-pk")
    context = {
        "reading": reading,
        "quantity": QUANTITIES.get(reading.quantity),
        "verdict": next(iter(reading.verdicts), None),
        "judged": judged,
    }
    return render(request, "shop/drives/working.html", context)


@may("keep machines")
@require_http_methods(["GET", "HEAD", "POST"])
def add_drive(request):
    return record_page(
        request, DriveForm, words="Drive added", title="Add a drive", address=address, keep=actions.add_drive, back=reverse("drives")
    )


@may("keep machines")
@require_http_methods(["GET", "HEAD", "POST"])
def edit_drive(request, pk):
    found = get_object_or_404(DriveUnit, pk=pk)
    return record_page(
        request, DriveForm, record=found, words="Drive changed", title=f"Change {found}", address=address, back=address(found)
    )


@may("record work")
@require_http_methods(["GET", "HEAD", "POST"])
def record_event(request, pk):
    unit = get_object_or_404(DriveUnit, pk=pk)

    def record(given, **frame):
        return actions.record_event(unit=unit, **given, **frame)

    return act_page(
        request,
        EventForm,
        record,
        {"unit": unit},
        title=f"What befell {unit}",
        under="Rebuilt, repaired, worked on elsewhere: the trend begins anew there.",
        address=lambda made: address(unit),
        said="Written into the life of the drive.",
        button="Record it",
        back=address(unit),
    )

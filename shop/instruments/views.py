"""Pages of instruments."""

from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_safe

from fleet.models import Calibration, Instrument
from shop.drives.tables import ReadingTable
from shop.editing import act_page, record_page
from shop.instruments import actions
from shop.instruments.bias_rows import against_the_fleet, held_of
from shop.instruments.forms import CalibrationForm, InstrumentFilter, InstrumentForm
from shop.instruments.rows import instrument_page, instruments_listed, last_good_before, readings_in_doubt, readings_taken
from shop.instruments.tables import InstrumentTable
from shop.lists import in_pages
from shop.measures import units_of
from shop.roles import may


def address(instrument: Instrument) -> str:
    return reverse("instrument", args=[instrument.pk])


@may("read the book")
@require_safe
def instruments(request):
    filters = InstrumentFilter(request.GET)
    table = in_pages(InstrumentTable(instruments_listed(filters.wanted())), request)
    return render(request, "shop/instruments/instruments.html", {"table": table, "filters": filters})


@may("read the book")
@require_safe
def instrument(request, pk):
    found = get_object_or_404(Instrument, pk=pk)
    table = in_pages(ReadingTable(readings_taken(found), units=units_of(request.user)), request)
    return render(request, "shop/instruments/instrument.html", instrument_page(found) | {"table": table, "held": held_of(found)})


@may("read the book")
@require_safe
def gauges_against_fleet(request):
    """Show how far each gauge, and each person, reads from the others over many drives."""
    return render(request, "shop/instruments/against_fleet.html", {"against": against_the_fleet()})


@may("keep instruments")
@require_http_methods(["GET", "HEAD", "POST"])
def add_instrument(request):
    return record_page(
        request, InstrumentForm, words="Instrument added", title="Add an instrument", address=address, back=reverse("instruments")
    )


@may("keep instruments")
@require_http_methods(["GET", "HEAD", "POST"])
def edit_instrument(request, pk):
    found = get_object_or_404(Instrument, pk=pk)
    return record_page(
        request, InstrumentForm, record=found, words="Instrument changed", title=f"Change {found}", address=address, back=address(found)
    )


@may("keep instruments")
@require_http_methods(["GET", "HEAD", "POST"])
def add_calibration(request, pk):
    found = get_object_or_404(Instrument, pk=pk)

    def record(given, **frame):
        return actions.record_calibration(instrument=found, **given, **frame)

    def then(made: Calibration) -> str:
        return reverse("calibration", args=[made.pk]) if made.result == Calibration.Result.FAILED else address(found)

    return act_page(
        request,
        CalibrationForm,
        record,
        {"instrument": found},
        title=f"Calibration of {found}",
        under=f"{found.get_kind_display()} {found.maker} {found.serial}",
        address=then,
        said="Calibration recorded.",
        button="Record the calibration",
        back=address(found),
    )


@may("read the book")
@require_safe
def calibration(request, pk):
    """Show one calibration; of a failed one every reading that it puts in doubt."""
    found = get_object_or_404(Calibration.objects.select_related("instrument", "recorded_by"), pk=pk)
    table = None
    if found.result == Calibration.Result.FAILED:
        table = in_pages(ReadingTable(readings_in_doubt(found), units=units_of(request.user)), request)
    context = {"calibration": found, "instrument": found.instrument, "good": last_good_before(found), "table": table}
    return render(request, "shop/instruments/calibration.html", context)

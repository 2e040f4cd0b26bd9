"""Pages of visits: logging one, looking at it, making an order from it, and putting its rows right."""

from django.contrib import messages
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_safe

from fleet.models import DriveTest, FluidFill, HourReading, Machine, Reading
from shop.acts import AlreadyDone
from shop.forms_base import ActForm
from shop.models import Visit
from shop.papers.actions import keep_papers
from shop.refusals import Refused
from shop.roles import may
from shop.visits import actions, corrections
from shop.visits.correction_forms import CorrectFillForm, CorrectHoursForm, CorrectReadingForm, CorrectTestForm, FillForm
from shop.visits.forms import HoursForm, VisitSheet, hush, with_more_lines
from shop.visits.order_form import OrderFromVisitForm
from shop.visits.rows import label_of, visit_page
from shop.workorders.actions import open_order

BESIDE = ("machine__customer", "machine__site", "visited_by", "recorded_by", "order", "hour_reading__meter")


def machine_address(machine: Machine) -> str:
    return reverse("machine", args=[machine.pk])


@may("record work")
@require_http_methods(["GET", "HEAD", "POST"])
def log_visit(request, pk):
    machine = get_object_or_404(Machine.objects.select_related("customer", "site"), pk=pk)
    more = request.POST.get("more", "")
    sent = with_more_lines(request.POST, more) if more else request.POST or None
    sheet = VisitSheet(machine, request.user, sent, request.GET.get("order"), request.FILES if sent else None)
    status = 200
    if more:
        hush(sheet)
    elif request.method == "POST":
        status = 422
        if sheet.is_valid():
            try:
                return _logged(request, sheet)
            except AlreadyDone as before:
                return redirect("visit", before.record.pk)
            except Refused as refusal:
                sheet.form.add_error("photos" if sheet.form.cleaned_data.get("photos") else None, refusal.sentences)
    said = sheet.sentences() if status == 422 else []
    context = {"machine": machine, "sheet": sheet, "form": sheet.form, "sentences": said}
    return render(request, "shop/visits/log_visit.html", context, status=status)


def _logged(request, sheet: VisitSheet):
    given = sheet.form.cleaned_data
    photos = given.get("photos") or []
    visit = actions.record_visit(
        by=request.user,
        machine=sheet.machine,
        visited_at=given["visited_at"],
        visited_by=given["visited_by"],
        order=given.get("order"),
        entry=sheet.entry(),
        token=given["token"],
        then=lambda visit: keep_papers(by=request.user, uploads=photos, visit=visit, machine=visit.machine),
    )
    messages.success(request, f"{visit} is logged.")
    return redirect("visit", visit.pk)


@may("read the book")
@require_safe
def visit(request, pk):
    found = get_object_or_404(Visit.objects.select_related(*BESIDE), pk=pk)
    page = visit_page(found)
    form = OrderFromVisitForm(by=request.user, visit=found, findings=page["findings"], outside=page["outside"])
    return render(request, "shop/visits/visit.html", page | {"machine": found.machine, "order_form": form})


@may("take in orders")
@require_http_methods(["POST"])
def order_from_visit(request, pk):
    found = get_object_or_404(Visit.objects.select_related("machine__customer"), pk=pk)
    page = visit_page(found)
    form = OrderFromVisitForm(request.POST, by=request.user, visit=found, findings=page["findings"], outside=page["outside"])
    if form.is_valid():
        try:
            order = open_order(by=request.user, machine=found.machine, token=form.cleaned_data["token"], **form.lines())
            messages.success(request, f"{order} is open.")
        except AlreadyDone as before:
            order = before.record
        return redirect("order", order.pk)
    return render(request, "shop/visits/visit.html", page | {"machine": found.machine, "order_form": form}, status=422)


def act_form(request, form: ActForm, do, address: str, **context):
    """Show the form of one act; do it when it is right, and say why when it is refused."""
    status = 200
    if request.method == "POST":
        status = 422
        if form.is_valid():
            try:
                do(form)
                messages.success(request, context["said"])
                return redirect(address)
            except AlreadyDone:
                return redirect(address)
            except Refused as refusal:
                status = 409
                form.add_error(None, refusal.sentences)
    return render(request, "shop/visits/act_form.html", {"form": form, "back": address} | context, status=status)


@may("record work")
@require_http_methods(["GET", "HEAD", "POST"])
def record_hours(request, pk):
    machine = get_object_or_404(Machine, pk=pk)
    form = HoursForm(request.POST or None, by=request.user, machine=machine, initial={"read_at": None})

    def do(form):
        at = form.cleaned_data["read_at"]
        return actions.record_hours(by=request.user, machine=machine, at=at, hours=form.hours(), token=form.cleaned_data["token"])

    return act_form(request, form, do, machine_address(machine), title=f"Hours of {machine}", said="The reading is kept.")


@may("record work")
@require_http_methods(["GET", "HEAD", "POST"])
def record_fill(request, pk):
    machine = get_object_or_404(Machine, pk=pk)
    form = FillForm(request.POST or None, by=request.user, machine=machine)

    def do(form):
        at = form.cleaned_data["filled_at"]
        return actions.record_fill(by=request.user, machine=machine, at=at, fill=form.entry(), token=form.cleaned_data["token"])

    return act_form(request, form, do, machine_address(machine), title=f"Oil filled in {machine}", said="The fill is kept.")


@may("correct the record")
@require_http_methods(["GET", "HEAD", "POST"])
def correct_reading(request, pk):
    reading = get_object_or_404(Reading.objects.with_conditions(), pk=pk)
    form = CorrectReadingForm(request.POST or None, by=request.user, reading=reading)
    do = _correction(request, corrections.correct_reading, reading=reading)
    return _correct(request, form, do, reading, _visit_address(reading.drive_test.visits, reading.drive_test.machine), "Reading")


@may("correct the record")
@require_http_methods(["GET", "HEAD", "POST"])
def correct_hours(request, pk):
    reading = get_object_or_404(HourReading.objects.select_related("meter__machine"), pk=pk)
    form = CorrectHoursForm(request.POST or None, by=request.user, reading=reading)
    do = _correction(request, corrections.correct_hours, reading=reading)
    return _correct(request, form, do, reading, _visit_address(reading.visits, reading.meter.machine), "Hours")


@may("correct the record")
@require_http_methods(["GET", "HEAD", "POST"])
def correct_fill(request, pk):
    fill = get_object_or_404(FluidFill.objects.select_related("machine", "product"), pk=pk)
    form = CorrectFillForm(request.POST or None, by=request.user, fill=fill)
    do = _correction(request, corrections.correct_fill, fill=fill)
    return _correct(request, form, do, fill, _visit_address(fill.visits, fill.machine), "Fill")


@may("correct the record")
@require_http_methods(["GET", "HEAD", "POST"])
def correct_test(request, pk):
    test = get_object_or_404(DriveTest.objects.select_related("machine", "unit"), pk=pk)
    form = CorrectTestForm(request.POST or None, by=request.user, test=test)
    do = _correction(request, corrections.correct_test, test=test)
    address = _visit_address(test.visits, test.machine)
    return act_form(request, form, do, address, title=f"Put right: conditions of {test}", said="The conditions are put right.")


def _correction(request, act, **row):
    return lambda form: act(by=request.user, token=form.cleaned_data["token"], **row, **form.changes())


def _correct(request, form, do, row, address: str, name: str):
    """Show the form of a correction, unless the row was put right already."""
    title, said = f"Put right: {words_of(row)}", f"{name} put right; what was there before stays on record."
    return act_form(request, form, do, address, title=title, said=said, replaced=not row.stands)


def words_of(row) -> str:
    return f"{label_of(row)} {row.typed} {row.typed_unit}" if isinstance(row, Reading) else str(row)


def _visit_address(visits, machine: Machine) -> str:
    found = visits.order_by("pk").first()
    return reverse("visit", args=[found.pk]) if found else machine_address(machine)

"""Pages of machines, and the acts on what is fitted in them."""

from django.contrib import messages
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_safe

from fleet.models import DriveUnit, HourMeter, Installation, Machine
from shop.editing import act_page, record_page
from shop.lists import in_pages
from shop.machines import actions
from shop.machines.fitting_forms import FitForm, MeterForm, MoveForm, RemoveForm
from shop.machines.forms import MachineFilter, MachineForm, NewMachineForm, SaleForm
from shop.machines.rows import machine_page, machines_listed
from shop.machines.tables import MachineTable
from shop.roles import may

PRESSURE = {
    "word": "warning",
    "text": "Stored pressure and hot oil can injure. Engine off, key out, wheels chocked, "
    "loop and accumulators relieved before a line is opened. "
    "Never feel for a leak by hand. Use lifting gear rated for the unit. The machine maker's manual and local rules come first.",
}


def address(machine: Machine) -> str:
    return reverse("machine", args=[machine.pk])


@may("read the book")
@require_safe
def machines(request):
    filters = MachineFilter(request.GET)
    table = in_pages(MachineTable(machines_listed(filters.wanted())), request)
    return render(request, "shop/machines/machines.html", {"table": table, "filters": filters})


@may("read the book")
@require_safe
def machine(request, pk):
    found = get_object_or_404(Machine.objects.select_related("customer", "site"), pk=pk)
    return render(request, "shop/machines/machine.html", machine_page(found))


@may("keep machines")
@require_http_methods(["GET", "HEAD", "POST"])
def add_machine(request):
    initial = {"customer": request.GET.get("customer")} if request.GET.get("customer", "").isdigit() else None
    return record_page(
        request,
        NewMachineForm,
        words="Machine added",
        title="Add a machine",
        address=address,
        keep=actions.add_machine,
        initial=initial,
        back=reverse("machines"),
    )


@may("keep machines")
@require_http_methods(["GET", "HEAD", "POST"])
def edit_machine(request, pk):
    found = get_object_or_404(Machine, pk=pk)
    return record_page(
        request, MachineForm, record=found, words="Machine changed", title=f"Change {found}", address=address, back=address(found)
    )


@may("keep machines")
@require_http_methods(["GET", "HEAD", "POST"])
def sell_machine(request, pk):
    found = get_object_or_404(Machine.objects.select_related("customer"), pk=pk)

    def sell(given, **frame):
        return actions.sell_machine(machine=found, **given, **frame)

    return act_page(
        request,
        SaleForm,
        sell,
        {"machine": found},
        title=f"Sell {found} to another customer",
        under=f"Owner now: {found.customer}",
        address=lambda made: address(found),
        said=f"{found} sold.",
        button="Record the sale",
        back=address(found),
    )


@may("correct the record")
@require_http_methods(["GET", "HEAD", "POST"])
def replace_meter(request, pk):
    found = get_object_or_404(Machine, pk=pk)
    meter = get_object_or_404(HourMeter.objects.select_related("machine"), machine=found, kind=HourMeter.Kind.ENGINE, ended_on=None)

    def replace(given, **frame):
        return actions.replace_meter(meter=meter, **given, **frame)

    return act_page(
        request,
        MeterForm,
        replace,
        {"meter": meter},
        title=f"Replace the hour meter of {found}",
        address=lambda made: address(found),
        said="Meter replaced; life hours run on.",
        button="Record the new meter",
        back=address(found),
    )


@may("record work")
@require_http_methods(["GET", "HEAD", "POST"])
def fit_drive(request, pk):
    found = get_object_or_404(Machine, pk=pk)

    def fit(given, **frame):
        return actions.fit_drive(machine=found, **given, **frame)

    return act_page(
        request,
        FitForm,
        fit,
        {"machine": found},
        title=f"Fit a drive in {found}",
        address=lambda made: address(found),
        said="Drive fitted.",
        button="Record the fitting",
        back=address(found),
        notice=PRESSURE,
    )


@may("record work")
@require_http_methods(["GET", "HEAD", "POST"])
def remove_drive(request, pk):
    unit, stay = running_stay(pk)
    if stay is None:
        return not_fitted(request, unit)

    def remove(given, **frame):
        return actions.remove_drive(installation=stay, **given, **frame)

    return act_page(
        request,
        RemoveForm,
        remove,
        {"installation": stay},
        title=f"Take {unit.tag} out of {stay.machine}",
        address=lambda made: address(stay.machine),
        said=f"{unit.tag} taken out.",
        button="Record the removal",
        back=reverse("drive", args=[unit.pk]),
        notice=PRESSURE,
    )


@may("record work")
@require_http_methods(["GET", "HEAD", "POST"])
def move_drive(request, pk):
    unit, stay = running_stay(pk)
    if stay is None:
        return not_fitted(request, unit)

    def move(given, **frame):
        return actions.move_drive(installation=stay, **given, **frame)

    return act_page(
        request,
        MoveForm,
        move,
        {"installation": stay},
        title=f"Move {unit.tag} from {stay.machine} to another machine",
        address=lambda made: reverse("drive", args=[unit.pk]),
        said=f"{unit.tag} moved.",
        button="Record the move",
        back=reverse("drive", args=[unit.pk]),
        notice=PRESSURE,
    )


def running_stay(pk: int):
    unit = get_object_or_404(DriveUnit, pk=pk)
    return unit, Installation.objects.running().filter(unit=unit).select_related("machine", "unit").first()


def not_fitted(request, unit):
    messages.warning(request, f"{unit.tag} is in no machine now: fit it from the page of the machine.")
    return redirect("drive", pk=unit.pk)

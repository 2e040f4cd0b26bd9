"""The list of orders, one order, and the call that begins it."""

from django.contrib import messages
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_safe

from fleet.models import Machine
from shop.editing import record_page
from shop.lists import in_pages
from shop.models import WorkOrder
from shop.roles import may
from shop.workorders.acting import act_on, form_page
from shop.workorders.actions import move_order, open_order, write_story
from shop.workorders.comebacks import is_unanswered
from shop.workorders.due_orders import DueOrderForm, open_due_order
from shop.workorders.forms import MoveForm, StoryForm, SupersedeForm
from shop.workorders.intake import HOSPITAL, NO_TOWING
from shop.workorders.intake_forms import IntakeForm
from shop.workorders.known import known_of, likely_tests
from shop.workorders.rows import listed_orders, order_page, orders_with_all
from shop.workorders.superseding import supersede_order
from shop.workorders.tables import OrderTable


@may("read the book")
@require_safe
def orders(request):
    which, words = request.GET.get("show", "open")[:20], request.GET.get("words", "")[:80]
    table = in_pages(OrderTable(listed_orders(which, words)), request)
    return render(
        request, "shop/workorders/orders.html", {"table": table, "which": which, "words": words, "states": WorkOrder.State.choices}
    )


@may("read the book")
@require_safe
def order(request, pk):
    found = get_object_or_404(orders_with_all(), pk=pk)
    return render(
        request, "shop/workorders/order.html", order_page(found) | {"asks_comeback": is_unanswered(found), "no_towing": NO_TOWING}
    )


@may("take in orders")
@require_safe
def pick_machine(request):
    """First find the machine that the call is about."""
    words = request.GET.get("words", "").strip()[:80]
    found = Machine.objects.naming(words).select_related("customer")[:20] if words else []
    return render(request, "shop/workorders/pick_machine.html", {"found": found, "words": words, "hospital": HOSPITAL})


@may("take in orders")
@require_http_methods(["GET", "POST"])
def take_in(request, pk):
    machine = get_object_or_404(Machine.objects.select_related("customer", "site"), pk=pk)
    form = IntakeForm(request.POST or None, by=request.user, machine=machine)

    def open_it(form):
        return open_order(by=request.user, machine=machine, token=form.cleaned_data["token"], **form.words_of_call())

    return form_page(
        request,
        form,
        open_it,
        title=f"Take in {machine.number}",
        said="The order is open.",
        template="shop/workorders/take_in.html",
        machine=machine,
        known=known_of(machine),
        tests=likely_tests(request.POST.get("symptom", "")),
    )


@may("take in orders")
@require_http_methods(["GET", "POST"])
def order_due_tasks(request, pk):
    """An order from what is due on a machine."""
    machine = get_object_or_404(Machine.objects.select_related("customer", "site"), pk=pk)
    form = DueOrderForm(request.POST or None, by=request.user, machine=machine)
    return form_page(
        request,
        form,
        lambda form: open_due_order(by=request.user, machine=machine, form=form),
        title=f"An order from what is due on {machine.number}",
        said="The order is open.",
        under=str(machine),
        button="Open the order",
    )


def address_of(record) -> str:
    return reverse("order", args=[getattr(record, "order_id", None) or record.pk])


@may("work on orders")
@require_http_methods(["GET", "POST"])
def story(request, pk):
    found = get_object_or_404(WorkOrder.objects.select_related("unit"), pk=pk)

    def keep(*, record, words, by, token, form):
        fields = {name: form.cleaned_data[name] for name in form.Meta.fields} | form.comeback_fields()
        return write_story(by=by, order=record, version=form.cleaned_data["version"], token=token, **fields)

    back = reverse("order", args=[pk])
    return record_page(
        request, StoryForm, words="Story kept", title=f"Story of {found.number}", address=address_of, record=found, keep=keep, back=back
    )


@may("work on orders")
@require_http_methods(["POST"])
def move(request, pk):
    """Bring the order to another state; a refusal is said on the order's own page."""
    found = get_object_or_404(WorkOrder, pk=pk)
    form = MoveForm(request.POST, by=request.user)
    if not form.is_valid():
        messages.error(request, " ".join(form.sentences()))
        return redirect("order", pk=pk)
    given = form.cleaned_data
    return act_on(
        request,
        found,
        lambda: move_order(
            by=request.user, order=found, to=given["to"], version=given["version"], reason=given["reason"], token=given["token"]
        ),
    )


@may("release orders")
@require_http_methods(["GET", "POST"])
def supersede(request, pk):
    found = get_object_or_404(WorkOrder, pk=pk)

    def put_right(form):
        return supersede_order(by=request.user, order=found, reason=form.cleaned_data["reason"], token=form.cleaned_data["token"])

    return form_page(
        request,
        SupersedeForm(request.POST or None, by=request.user),
        put_right,
        title=f"Put {found.number} right",
        said="A new order takes its place; release it when it is right.",
        under="The released order stays as it is. A new one takes its place and is released again.",
        button="Open the new order",
        back=reverse("order", args=[pk]),
    )

"""Work at the bench: lines, parts, hours, failure, tags."""

from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_safe

from shop.editing import record_page
from shop.models import HeldPart, LabourEntry, OrderLine, WorkOrder
from shop.parts.actions import issue_part, return_part
from shop.roles import may
from shop.workorders.acting import act_on, form_page
from shop.workorders.failures import FIELDS, record_failure
from shop.workorders.forms import (
    ChangeLineForm,
    ClockForm,
    FailureForm,
    HeldPartForm,
    HoursOfWorkForm,
    LineForm,
    SettleForm,
    StockLineForm,
)
from shop.workorders.held_parts import hold_part, settle_part
from shop.workorders.labour import start_clock, stop_clock, write_hours
from shop.workorders.lines import add_line, change_line


def order_named(pk: int) -> WorkOrder:
    return get_object_or_404(WorkOrder.objects.select_related("machine", "unit__drive_model"), pk=pk)


def line_named(pk: int) -> OrderLine:
    return get_object_or_404(OrderLine.objects.select_related("order__machine", "part", "task"), pk=pk)


@may("work on orders")
@require_http_methods(["GET", "POST"])
def new_line(request, pk):
    found = order_named(pk)
    form = LineForm(request.POST or None, by=request.user)

    def put(form):
        return add_line(by=request.user, order=found, token=form.cleaned_data["token"], **form.line_fields())

    return form_page(request, form, put, order=found, title=f"A line for {found.number}", said="The line is on the order.")


@may("work on orders")
@require_http_methods(["GET", "POST"])
def line(request, pk):
    """Change a line; two people who do are told of each other."""
    found = line_named(pk)

    def keep(*, record, words, by, token, form):
        fields = {name: form.cleaned_data[name] for name in form.Meta.fields}
        return change_line(by=by, line=record, version=form.cleaned_data["version"], token=token, **fields)

    back = reverse("order", args=[found.order_id])
    title = f"Line {found.position} of {found.order.number}"
    return record_page(request, ChangeLineForm, words="Line kept", title=title, address=lambda _: back, record=found, keep=keep, back=back)


@may("work on orders")
@require_http_methods(["POST"])
def line_done(request, pk):
    """Tick a line, or take the tick away."""
    found = line_named(pk)
    state = OrderLine.State.OPEN if found.state == OrderLine.State.DONE else OrderLine.State.DONE
    version = int(request.POST.get("version", "0")) if request.POST.get("version", "0").isdigit() else 0
    return act_on(request, found.order, lambda: change_line(by=request.user, line=found, version=version, state=state, why_not=""))


@may("work on orders")
@require_http_methods(["GET", "POST"])
def issue(request, pk):
    found = line_named(pk)

    def take(form):
        return issue_part(by=request.user, line=found, quantity=form.cleaned_data["quantity"], token=form.cleaned_data["token"])

    form = StockLineForm(request.POST or None, by=request.user, initial={"quantity": found.quantity})
    return form_page(request, form, take, order=found.order, title=f"Issue {found.words}", said="Issued to the line.")


@may("work on orders")
@require_http_methods(["GET", "POST"])
def bring_back(request, pk):
    found = line_named(pk)

    def put_back(form):
        return return_part(by=request.user, line=found, quantity=form.cleaned_data["quantity"], token=form.cleaned_data["token"])

    form = StockLineForm(request.POST or None, by=request.user)
    return form_page(request, form, put_back, order=found.order, title=f"Bring back {found.words}", said="Back on the shelf.")


@may("work on orders")
@require_http_methods(["GET", "POST"])
def start(request, pk):
    found = order_named(pk)
    own = getattr(request.user, "technician", None)

    def begin(form):
        given = form.cleaned_data
        return start_clock(by=request.user, order=found, technician=given["technician"], kind=given["kind"], token=given["token"])

    form = ClockForm(request.POST or None, by=request.user, initial={"technician": own.pk if own else None, "kind": "repair"})
    return form_page(
        request, form, begin, order=found, title=f"Start the clock on {found.number}", said="The clock is running.", button="Start"
    )


@may("work on orders")
@require_http_methods(["POST"])
def stop(request, pk):
    found = get_object_or_404(LabourEntry.objects.select_related("order"), pk=pk)
    return act_on(request, found.order, lambda: stop_clock(by=request.user, entry=found), said="The clock is stopped.")


@may("work on orders")
@require_http_methods(["GET", "POST"])
def hours_of_work(request, pk):
    found = order_named(pk)
    own = getattr(request.user, "technician", None)

    def write(form):
        given, (begun, ended) = form.cleaned_data, form.moments()
        return write_hours(
            by=request.user, order=found, technician=given["technician"], kind=given["kind"], started_at=begun, ended_at=ended, note=given["note"],
            token=given["token"],
        )  # fmt: skip

    initial = {"technician": own.pk if own else None, "kind": "repair", "day": timezone.localdate()}
    form = HoursOfWorkForm(request.POST or None, by=request.user, initial=initial)
    return form_page(request, form, write, order=found, title=f"Hours of work on {found.number}", said="The hours are written.")


@may("work on orders")
@require_http_methods(["GET", "POST"])
def failure(request, pk):
    found = order_named(pk)
    given = {"instance": found.failure} if found.failure else {}
    initial = {
        "happened_on": (found.failure.happened_at if found.failure else found.taken_in_at).date(),
        "mode": found.symptom or "unknown",
    }
    form = FailureForm(
        request.POST or None, by=request.user, initial=initial if not found.failure else {"happened_on": initial["happened_on"]}, **given
    )
    form.fields["version"].initial = found.version

    def record(form):
        at = timezone.make_aware(timezone.datetime.combine(form.cleaned_data["happened_on"], timezone.datetime.min.time()))
        fields = {name: form.cleaned_data[name] for name in FIELDS}
        fresh = order_named(pk)
        version = form.cleaned_data.get("version") or 0
        return record_failure(by=request.user, order=fresh, happened_at=at, version=version, token=form.cleaned_data["token"], **fields)

    return form_page(request, form, record, order=found, title=f"What failed, {found.number}", said="The failure is on record.")


@may("work on orders")
@require_http_methods(["GET", "POST"])
def hold(request, pk):
    """Tag a part that was taken off."""
    found = line_named(pk)
    core = found.part.core_charge_cents if found.part else 0
    form = HeldPartForm(
        request.POST or None, by=request.user, initial={"words": found.words, "core_cents": core, "kind": "core" if core else "warranty"}
    )

    def keep(form):
        given = {name: value for name, value in form.cleaned_data.items() if name != "token"}
        return hold_part(by=request.user, line=found, token=form.cleaned_data["token"], **given)

    return form_page(
        request,
        form,
        keep,
        order=found.order,
        title=f"Tag a part of {found.order.number}",
        said="The part has its tag: print it and tie it on.",
    )


@may("work on orders")
@require_http_methods(["GET", "POST"])
def settle(request, pk):
    found = get_object_or_404(HeldPart.objects.select_related("order"), pk=pk)

    def done(form):
        return settle_part(by=request.user, held=found, words=form.cleaned_data["words"], token=form.cleaned_data["token"])

    form = SettleForm(request.POST or None, by=request.user)
    return form_page(request, form, done, order=found.order, title=f"Settle {found}", said="Settled.")


@may("read the book")
@require_safe
def held_parts(request):
    """Everything that still hangs under a tag."""
    which = request.GET.get("show", "open")
    rows = HeldPart.objects.select_related("order__machine")
    return render(
        request, "shop/workorders/held_parts.html", {"rows": rows if which == "all" else rows.filter(settled_at=None), "which": which}
    )

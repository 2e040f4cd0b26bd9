"""The due list, one task of it, and how many were done in time."""

from django.contrib import messages
from django.core.paginator import Paginator
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from shop.acts import AlreadyDone
from shop.due import deferrals as putting_off
from shop.due.compliance import compliance as counted
from shop.due.extensions import brought_by, clean_samples, sign_extension
from shop.due.filters import DueFilter, PeriodFilter
from shop.due.fleet_due import fleet_due
from shop.due.forms import ApprovalForm, DeferralForm, ExtensionForm
from shop.due.own_work import machines_of
from shop.due.risks import risk_sentence
from shop.due.rows import chosen, counts_by_state, due_rows
from shop.due.task_page import row_of, steps_of, what_happened
from shop.editing import act_page
from shop.lists import PER_PAGE
from shop.models import Advice, Deferral
from shop.roles import may

SUGGESTED = 3


@may("read the book")
@require_safe
def due(request):
    """What is due over the fleet, most urgent first; what a technician is booked for stands before the rest."""
    fleet = fleet_due()
    form = DueFilter(request.GET)
    own = machines_of(request.user)
    page = Paginator(chosen(fleet, first=own, **form.asked()), PER_PAGE).get_page(request.GET.get("page"))
    context = {
        "form": form,
        "page": page,
        "rows": due_rows(fleet, page.object_list),
        "counts": [(word, count) for word, count in counts_by_state(fleet).items() if count and word != "not due"],
        "today": fleet.today,
        "own": own,
        "asked": request.GET.urlencode(),
        "suggestions": Advice.objects.open().with_places()[:SUGGESTED],
    }
    return render(request, "shop/due/due.html", context)


def address(row) -> str:
    return reverse("due_task", args=[row.machine.pk, row.task.pk, row.unit.pk if row.unit else 0])


@may("read the book")
@require_safe
def due_task(request, machine, task, unit):
    """One task: how its due was worked out, what happened to it, and what can be done about it."""
    fleet, place, row = row_of(machine, task, unit)
    context = {"row": row, "steps": steps_of(fleet, place, row), "today": fleet.today}
    context["deferrals_so_far"] = putting_off.deferrals_since_done(row.machine, row.task, row.unit)
    return render(request, "shop/due/due_task.html", context | what_happened(row.machine, row.task, row.unit))


@may("ask for deferral")
@require_http_methods(["GET", "POST"])
def put_off(request, machine, task, unit):
    """Ask for a task to be put off, with its risk before the eyes."""
    _, _, row = row_of(machine, task, unit)
    number = putting_off.deferrals_since_done(row.machine, row.task, row.unit) + 1
    third = f" This would be deferral {number} of this task since it was last done: it goes to a manager." if number >= 3 else ""

    def do(fields, by, token):
        del fields["risk_seen"]
        return putting_off.ask_deferral(by=by, row=row, token=token, **fields)

    return act_page(
        request, DeferralForm, do, {}, title=f"Put off: {row.task} on {row.machine}", address=lambda made: reverse("deferral", args=[made.pk]),
        said="Asked for. It counts once somebody else has approved it.", button="Ask for deferral", back=address(row),
        under=row.reason, notice={"word": "warning", "text": risk_sentence(row) + third},
    )  # fmt: skip


@may("read the book")
@require_safe
def deferrals(request):
    """Deferrals that wait for approval, that stand, and that have ended."""
    rows = Deferral.objects.select_related("task", "machine", "unit", "asked_by", "approved_by", "approved_by_contact")
    page = Paginator(rows.order_by("ended_at", "approved_at", "-pk"), PER_PAGE).get_page(request.GET.get("page"))
    return render(request, "shop/due/deferrals.html", {"page": page, "today": timezone.localdate()})


@may("ask for deferral")
@require_http_methods(["GET", "POST"])
def deferral(request, pk):
    """One deferral: what was asked, with which risk; and its approval, which the act refuses to whoever may not give it."""
    found = get_object_or_404(Deferral.objects.select_related("task", "machine__customer", "unit", "asked_by", "approved_by"), pk=pk)

    def do(fields, by, token):
        return putting_off.approve_deferral(by=by, deferral=found, contact=fields["contact"], token=token)

    number = putting_off.deferrals_since_done(found.machine, found.task, found.unit) + (found.approved_at is None)
    return act_page(
        request, ApprovalForm, do, {"customer": found.machine.customer}, title=f"Deferral of {found.task} on {found.machine}",
        address=lambda made: reverse("deferral", args=[made.pk]), said="Approved.", template="shop/due/deferral.html", deferral=found,
        number=number, today=timezone.localdate(),
    )  # fmt: skip


@may("ask for deferral")
@require_POST
def end_deferral(request, pk):
    found = get_object_or_404(Deferral, pk=pk)
    try:
        putting_off.end_deferral(by=request.user, deferral=found, token=request.POST.get("token", "")[:64])
        messages.success(request, "The deferral has ended; the task is due as its rule says.")
    except AlreadyDone:
        pass
    except putting_off.Refused as refusal:
        messages.error(request, str(refusal))
    return redirect("deferral", pk=pk)


@may("keep rules")
@require_http_methods(["GET", "POST"])
def extend(request, machine, task, unit):
    """Sign a longer interval for a time."""
    fleet, place, row = row_of(machine, task, unit)

    def do(fields, by, token):
        share = float(fields.pop("share")) / 100
        return sign_extension(by=by, row=row, found=fleet.rows.loc[place], share=share, token=token, **fields)

    clean = clean_samples(row.machine, None)
    context = {
        "title": f"Lengthen the interval: {row.task} on {row.machine}", "button": "Sign", "back": address(row), "template": "shop/due/extend.html",
        "under": f"{row.reason}. Samples on this fill, answered and with no finding against them: {clean}; two are needed since the last extension.",
    }  # fmt: skip
    if request.method == "POST" and "show" in request.POST:
        form = ExtensionForm(request.POST, by=request.user)
        brought = brought_by(fleet, place, row, float(form.cleaned_data["share"]) / 100) if form.is_valid() else None
        return render(request, context["template"], context | {"form": form, "brought": brought}, status=200 if brought else 422)
    return act_page(request, ExtensionForm, do, {}, address=lambda made: address(row), said="Signed.", **context)


@may("read the book")
@require_safe
def compliance(request):
    """How many tasks were done inside their window, in the last year or between two days asked about."""
    fleet = fleet_due()
    since, until = PeriodFilter(request.GET).period(fleet.today)
    form = PeriodFilter({"since": since, "until": until})
    context = {"form": form, "counts": counted(fleet, since, until), "since": since, "until": until}
    return render(request, "shop/due/compliance.html", context)

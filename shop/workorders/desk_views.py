"""At the desk: the quote, the approval, the release."""

from django.shortcuts import get_object_or_404, render
from django.views.decorators.http import require_http_methods, require_safe

from shop.cautions import DEFERS, cautions_of
from shop.models import WorkOrder
from shop.roles import may
from shop.workorders.acting import form_page
from shop.workorders.approvals import record_approval
from shop.workorders.next_due import next_due_rows
from shop.workorders.release import final_test_of, open_points, release_order
from shop.workorders.release_forms import ApprovalForm, ReleaseForm
from shop.workorders.rows import orders_with_all, quote_groups
from shop.workorders.snapshot import caution_codes


@may("read the book")
@require_safe
def quote(request, pk):
    found = get_object_or_404(orders_with_all(), pk=pk)
    return render(request, "shop/workorders/quote.html", {"order": found, "groups": quote_groups(found)})


@may("work on orders")
@require_http_methods(["GET", "POST"])
def approve(request, pk):
    found = get_object_or_404(WorkOrder.objects.select_related("customer"), pk=pk)
    form = ApprovalForm(request.POST or None, by=request.user, order=found)

    def keep(form):
        return record_approval(by=request.user, order=found, token=form.cleaned_data["token"], **form.approval_fields())

    return form_page(
        request,
        form,
        keep,
        order=found,
        title=f"Approval for {found.number}",
        said="The approval is kept as given.",
        button="Keep the approval",
    )


@may("release orders")
@require_http_methods(["GET", "POST"])
def release(request, pk):
    found = get_object_or_404(orders_with_all(), pk=pk)
    due = next_due_rows(found.machine)
    form = ReleaseForm(request.POST or None, by=request.user, order=found)

    def let_go(form):
        given = form.cleaned_data
        return release_order(by=request.user, order=found, version=given["version"], said=form.said(), token=given["token"])

    lines = list(found.lines.select_related("task"))
    return form_page(
        request,
        form,
        let_go,
        order=found,
        title=f"Release {found.number}",
        said=f"{found.number} is released. Print it and the next-service label.",
        template="shop/workorders/release.html",
        points=open_points(found),
        due=due,
        cautions=cautions_of(caution_codes(lines, None)),
        defers=DEFERS,
        final_test=final_test_of(found),
    )

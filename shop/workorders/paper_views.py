"""Everything of an order on paper."""

from django.contrib import messages
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_safe

from fleet.models import DriveUnit
from shop.acts import AlreadyDone
from shop.models import HeldPart
from shop.papers.shelf import Damaged
from shop.printing.label import part_tags, service_labels
from shop.printing.paper import Head
from shop.printing.quote import quote_paper
from shop.printing.test_sheet import test_sheet_pieces
from shop.refusals import Refused
from shop.roles import may
from shop.workorders.answers import file_answer, pdf_answer
from shop.workorders.expected import facts_of
from shop.workorders.label_rows import label_of_order, tag_of
from shop.workorders.reading_rows import rows_of_test
from shop.workorders.rows import kept_words, label_words, orders_with_all, quote_words
from shop.workorders.sheet import order_paper
from shop.workorders.test_map import with_map
from shop.workorders.warranty import break_in_chain, keep_chain, pack_of, papers_of
from shop.workorders.warranty_sheet import pack_paper

MOST_AT_ONCE = 200


@may("read the book")
@require_safe
def print_order(request, pk):
    found = get_object_or_404(orders_with_all(), pk=pk)
    return pdf_answer(request, [order_paper(kept_words(found, request.user), "working" in request.GET)], f"{found.number}.pdf")


@may("read the book")
@require_safe
def print_orders(request):
    """Many orders in one PDF, in the order they were picked."""
    picked = [int(pk) for pk in request.GET.getlist("order") if pk.isdigit()][:MOST_AT_ONCE]
    found = orders_with_all().in_bulk(picked)
    if not found:
        messages.info(request, "Tick at least one order first, then print.")
        return redirect("orders")
    papers = (order_paper(kept_words(found[pk], request.user)) for pk in dict.fromkeys(picked) if pk in found)
    return pdf_answer(request, papers, "orders.pdf")


@may("read the book")
@require_safe
def print_quote(request, pk):
    found = get_object_or_404(orders_with_all(), pk=pk)
    return pdf_answer(request, [quote_paper(quote_words(found))], f"{found.number}-quote.pdf")


@may("read the book")
@require_safe
def print_label(request, pk):
    found = get_object_or_404(orders_with_all(), pk=pk)
    return file_answer(service_labels([label_of_order(found, label_words(found))]), f"{found.number}-label.pdf")


@may("read the book")
@require_safe
def print_tag(request, pk):
    held = get_object_or_404(HeldPart.objects.select_related("order__machine", "order__customer"), pk=pk)
    return file_answer(part_tags([tag_of(held)]), f"{held.tag}.pdf")


@may("read the book")
@require_safe
def print_test_sheet(request, pk):
    """A blank sheet for one drive, to be filled in by hand."""
    unit = get_object_or_404(DriveUnit.objects.with_place(), pk=pk)
    if not unit.places:
        messages.error(request, f"{unit.tag} is in no machine: a sheet needs the machine's speeds and oil.")
        return redirect("drive", pk=pk)
    machine = unit.places[0].machine
    tests = with_map(rows_of_test(unit, machine, request.user), unit, facts_of(unit, machine, timezone.localdate()))
    head = Head("Test sheet", unit.tag, "", f"{unit.places[0].machine}, serial {unit.places[0].machine.serial}", unit.tag)
    return pdf_answer(request, [(head, test_sheet_pieces(tests, "working" in request.GET))], f"{unit.tag}-test-sheet.pdf")


@may("read the book")
@require_safe
def warranty(request, pk):
    """The pack on the screen, and whether its chain still holds."""
    found = get_object_or_404(orders_with_all(), pk=pk)
    context = {"order": found}
    try:
        pack = pack_of(found)
        context |= {"pack": pack, "broken": break_in_chain(found, pack), "papers": papers_of(found).distinct()}
    except (Refused, Damaged) as refusal:
        context["refusal"] = str(refusal)
    return render(request, "shop/workorders/warranty.html", context)


@may("work on orders")
@require_http_methods(["POST"])
def keep_warranty(request, pk):
    found = get_object_or_404(orders_with_all(), pk=pk)
    try:
        keep_chain(by=request.user, order=found, token=request.POST.get("token", "")[:64])
        messages.success(request, "The evidence is kept as a paper of the order.")
    except AlreadyDone:
        messages.success(request, "The evidence is kept already.")
    except Refused as refusal:
        messages.error(request, str(refusal))
    return redirect(reverse("warranty", args=[pk]))


@may("read the book")
@require_safe
def print_warranty(request, pk):
    found = get_object_or_404(orders_with_all(), pk=pk)
    try:
        pack = pack_of(found)
        photos = [paper for paper in papers_of(found).distinct() if paper.media_type.startswith("image/")]
        broken = break_in_chain(found, pack)
    except (Refused, Damaged) as refusal:
        messages.error(request, str(refusal))
        return redirect("order", pk=pk)
    return pdf_answer(request, [pack_paper(pack, photos, broken)], f"{found.number}-warranty.pdf")

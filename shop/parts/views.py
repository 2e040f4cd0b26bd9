"""Pages of the parts counter."""

from django.contrib import messages
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_safe

from shop.acts import AlreadyDone
from shop.editing import record_page
from shop.lists import in_pages
from shop.models import Part
from shop.parts.actions import count_part, receive_part
from shop.parts.forms import CountForm, KitForm, PartForm, StockForm
from shop.parts.rows import listed_parts, part_page
from shop.parts.tables import PartTable
from shop.refusals import Refused
from shop.roles import may


@may("read the book")
@require_safe
def parts(request):
    words = request.GET.get("words", "")[:80]
    return render(request, "shop/parts/parts.html", {"table": in_pages(PartTable(listed_parts(words)), request), "words": words})


@may("read the book")
@require_safe
def part(request, pk):
    found = get_object_or_404(Part.objects.with_stock().select_related("superseded_by"), pk=pk)
    return render(request, "shop/parts/part.html", part_page(found, timezone.localdate()))


def address_of(record) -> str:
    return reverse("part", args=[record.part_id if hasattr(record, "part_id") else record.pk])


@may("keep parts")
@require_http_methods(["GET", "POST"])
def new_part(request):
    return record_page(request, PartForm, words="Part added", title="A new part", address=address_of, record=Part(), back=reverse("parts"))


@may("keep parts")
@require_http_methods(["GET", "POST"])
def change_part(request, pk):
    found = get_object_or_404(Part, pk=pk)
    return record_page(
        request, PartForm, words="Part changed", title=f"Change {found.number}", address=address_of, record=found, back=address_of(found)
    )


@may("keep parts")
@require_http_methods(["GET", "POST"])
def new_kit_item(request, pk):
    found = get_object_or_404(Part, pk=pk)
    return record_page(
        request,
        KitForm,
        words="Kit line added",
        title=f"{found.number} in a kit",
        address=address_of,
        initial={"part": found.pk},
        back=address_of(found),
    )


@may("keep parts")
@require_http_methods(["GET", "POST"])
def receive(request, pk):
    found = get_object_or_404(Part, pk=pk)
    return stock_page(
        request,
        found,
        StockForm,
        "Parts received",
        lambda form, **given: receive_part(part=found, quantity=form["quantity"], note=form["note"], **given),
    )


@may("keep parts")
@require_http_methods(["GET", "POST"])
def count(request, pk):
    found = get_object_or_404(Part, pk=pk)
    return stock_page(
        request,
        found,
        CountForm,
        "Bin counted",
        lambda form, **given: count_part(part=found, counted=form["quantity"], note=form["note"], **given),
    )


def stock_page(request, found, form_class, title, do):
    form = form_class(request.POST or None, by=request.user)
    if request.method == "POST" and form.is_valid():
        try:
            do(form.cleaned_data, by=request.user, token=form.cleaned_data["token"])
            messages.success(request, f"{title}: {found}.")
            return redirect("part", pk=found.pk)
        except AlreadyDone:
            return redirect("part", pk=found.pk)
        except Refused as refusal:
            for sentence in refusal.sentences:
                form.add_error(None, sentence)
    context = {"form": form, "title": f"{title}: {found}", "back": address_of(found)}
    return render(request, "shop/_record_page.html", context, status=422 if form.errors else 200)

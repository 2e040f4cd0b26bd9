"""Pages of fluids: products, and the ledger of fills of one machine."""

from django.db.models import Q
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_safe

from fleet.models import FluidProduct, Machine
from shop.editing import record_page
from shop.fluids.forms import FluidFilter, FluidForm
from shop.fluids.rows import ledger_page, product_page
from shop.fluids.tables import FluidTable
from shop.lists import in_pages
from shop.roles import may


def address(product: FluidProduct) -> str:
    return reverse("fluid", args=[product.pk])


@may("read the book")
@require_safe
def fluids(request):
    filters = FluidFilter(request.GET)
    wanted = filters.wanted()
    products = FluidProduct.objects.all() if wanted.get("with_retired") else FluidProduct.objects.filter(is_retired=False)
    if "q" in wanted:
        products = products.filter(Q(name__icontains=wanted["q"]) | Q(maker__icontains=wanted["q"]))
    if "kind" in wanted:
        products = products.filter(kind=wanted["kind"])
    return render(request, "shop/fluids/fluids.html", {"table": in_pages(FluidTable(products), request), "filters": filters})


@may("read the book")
@require_safe
def fluid(request, pk):
    return render(request, "shop/fluids/fluid.html", product_page(get_object_or_404(FluidProduct, pk=pk)))


@may("keep fluids")
@require_http_methods(["GET", "HEAD", "POST"])
def add_fluid(request):
    return record_page(request, FluidForm, words="Fluid added", title="Add a fluid", address=address, back=reverse("fluids"))


@may("keep fluids")
@require_http_methods(["GET", "HEAD", "POST"])
def edit_fluid(request, pk):
    found = get_object_or_404(FluidProduct, pk=pk)
    return record_page(
        request, FluidForm, record=found, words="Fluid changed", title=f"Change {found}", address=address, back=address(found)
    )


@may("read the book")
@require_safe
def fluid_ledger(request, pk):
    found = get_object_or_404(Machine.objects.select_related("customer"), pk=pk)
    return render(request, "shop/fluids/ledger.html", ledger_page(found))

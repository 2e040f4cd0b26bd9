"""Pages of wear: drives ranked by hours to their limit, and drive models side by side."""

from django.core.paginator import Paginator
from django.shortcuts import render
from django.views.decorators.http import require_safe

from calcs.quantities import QUANTITIES
from calcs.wear_limits import WORN_RATIO
from fleet.models import DriveModel, WearGroup
from fleet.wear_series import units_without_basis
from shop.lists import PER_PAGE
from shop.roles import may
from shop.trends.filters import FIRST_SHOWN, SideBySideFilter, WearFilter
from shop.trends.rows import FEWEST_SIDE_BY_SIDE, ranked, side_by_side, wear_rows
from shop.trends.strip import strip_picture


@may("read the book")
@require_safe
def wear(request):
    """Drives ranked by hours to their limit; those that nothing valid speaks of stand apart."""
    filters = WearFilter(request.GET)
    wanted = filters.wanted()
    page = Paginator(ranked(wanted), PER_PAGE).get_page(request.GET.get("page"))
    rows = wear_rows(page.object_list)
    unknown = [] if wanted else units_without_basis()
    reviewed = WearGroup.objects.order_by("-reviewed_at").values_list("reviewed_at", flat=True).first()
    return render(
        request, "shop/trends/wear.html", {"filters": filters, "page": page, "rows": rows, "unknown": unknown, "reviewed": reviewed}
    )


@may("read the book")
@require_safe
def wear_side_by_side(request):
    """The same reading on every unit of every drive model, one dot a unit."""
    filters = SideBySideFilter(request.GET)
    code = filters.wanted().get("quantity", FIRST_SHOWN)
    models = [(str(model), side_by_side(model, code)) for model in DriveModel.objects.all()]
    shown = [(name, rows) for name, rows in models if rows]
    picture = strip_picture(shown, WORN_RATIO[code])
    few = [name for name, rows in shown if len(rows) < FEWEST_SIDE_BY_SIDE]
    return render(
        request,
        "shop/trends/side_by_side.html",
        {"filters": filters, "models": shown, "picture": picture, "quantity": QUANTITIES[code], "few": few, "worn": WORN_RATIO[code]},
    )

"""The due list."""

from django.core.paginator import Paginator
from django.shortcuts import render
from django.views.decorators.http import require_safe

from shop.due.filters import DueFilter
from shop.due.fleet_due import fleet_due
from shop.due.rows import chosen, counts_by_state, due_rows
from shop.lists import PER_PAGE
from shop.roles import may


@may("read the book")
@require_safe
def due(request):
    """What is due over the fleet, most urgent first."""
    fleet = fleet_due()
    form = DueFilter(request.GET)
    page = Paginator(chosen(fleet, **form.asked()), PER_PAGE).get_page(request.GET.get("page"))
    rows = due_rows(fleet, page.object_list)
    return render(
        request, "shop/due/due.html", {"form": form, "page": page, "rows": rows, "counts": counts_by_state(fleet), "today": fleet.today}
    )

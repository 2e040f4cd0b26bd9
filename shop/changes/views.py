"""The change record, for one record and for all."""

from django.apps import apps
from django.core.paginator import Paginator
from django.http import Http404
from django.shortcuts import get_object_or_404, render
from django.views.decorators.http import require_safe

from shop.changes.rows import change_rows
from shop.changes.triggers import recorded_models
from shop.lists import PER_PAGE
from shop.models import Act, ChangeEntry
from shop.roles import may


@may("see changes")
@require_safe
def changes(request):
    told = ChangeEntry.objects.exclude(table=Act._meta.db_table)  # an act stands beside each entry that it wrote
    return _page(request, told.order_by("-pk"), "Change record", None)


@may("see changes")
@require_safe
def changes_of(request, table, pk):
    """Changes of one record, and of the rows that hang on it by the same table."""
    model = next((m for m in recorded_models() if m._meta.label_lower == table.lower() and m._meta.app_label in {"fleet", "shop"}), None)
    if model is None:
        raise Http404
    record = get_object_or_404(apps.get_model(model._meta.label), pk=pk)
    return _page(request, ChangeEntry.objects.of(record), f"Changes of {record}", record)


def _page(request, entries, title, record):
    page = Paginator(entries, PER_PAGE).get_page(request.GET.get("page"))
    return render(
        request, "shop/changes/changes.html", {"title": title, "page": page, "rows": change_rows(page.object_list), "record": record}
    )

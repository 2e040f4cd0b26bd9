"""Pages of an order: the list, the order, its papers."""

from django.shortcuts import get_object_or_404, render
from django.views.decorators.http import require_safe
from django_tables2 import RequestConfig

from shop.models import WorkOrder
from shop.roles import may
from shop.workorders.answers import pdf_answer
from shop.workorders.rows import kept_words, listed_orders, order_page
from shop.workorders.sheet import order_paper
from shop.workorders.tables import OrderTable


@may("read the book")
@require_safe
def orders(request):
    which = request.GET.get("show", "open")
    table = OrderTable(listed_orders(which, request.GET.get("words", "")[:80]))
    RequestConfig(request, paginate={"per_page": 25}).configure(table)
    return render(request, "shop/workorders/orders.html", {"table": table, "which": which, "words": request.GET.get("words", "")[:80]})


@may("read the book")
@require_safe
def order(request, pk):
    found = get_object_or_404(WorkOrder.objects.select_related("machine__site", "customer", "unit__drive_model", "failure"), pk=pk)
    return render(request, "shop/workorders/order.html", order_page(found))


@may("read the book")
@require_safe
def print_order(request, pk):
    found = get_object_or_404(WorkOrder, pk=pk)
    return pdf_answer(request, [order_paper(kept_words(found, request.user), "working" in request.GET)], f"{found.number}.pdf")

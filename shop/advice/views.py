"""Pages of suggestions: what stands, what was answered, and the two answers."""

from django.core.paginator import Paginator
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_safe

from shop.advice.actions import accept_advice, dismiss_advice
from shop.advice.forms import AcceptForm, DismissForm
from shop.editing import act_page
from shop.lists import PER_PAGE
from shop.models import Advice
from shop.roles import may

ANSWERED_SHOWN = 20


def address(advice) -> str:
    return reverse("order", args=[advice.order_id]) if advice.order_id else reverse("advice")


@may("read the book")
@require_safe
def advice(request):
    """What the review suggests, most pressing first, and what was said to earlier ones."""
    page = Paginator(Advice.objects.open().with_places(), PER_PAGE).get_page(request.GET.get("page"))
    answered = Advice.objects.answered().with_places().order_by("-answered_at")[:ANSWERED_SHOWN]
    return render(request, "shop/advice/advice.html", {"page": page, "answered": answered})


@may("take in orders")
@require_http_methods(["GET", "HEAD", "POST"])
def accept(request, pk):
    found = get_object_or_404(Advice.objects.with_places(), pk=pk)

    def do(fields, by, token):
        return accept_advice(by=by, advice=found, token=token, **fields)

    given = {"may_order": found.machine_id is not None}
    return _answer(request, AcceptForm, do, found, given, title="Accept", said="Suggestion accepted.", button="Accept")


@may("take in orders")
@require_http_methods(["GET", "HEAD", "POST"])
def dismiss(request, pk):
    found = get_object_or_404(Advice.objects.with_places(), pk=pk)

    def do(fields, by, token):
        return dismiss_advice(by=by, advice=found, token=token, **fields)

    return _answer(request, DismissForm, do, found, {}, title="Dismiss", said="Suggestion dismissed.", button="Dismiss")


def _answer(request, form, do, found: Advice, given: dict, *, title: str, said: str, button: str):
    heading = f"{title}: {found.get_kind_display().lower()}"
    return act_page(
        request, form, do, given, title=heading, address=address, said=said, template="shop/advice/answer.html", advice=found, button=button,
        back=reverse("advice"),
    )  # fmt: skip

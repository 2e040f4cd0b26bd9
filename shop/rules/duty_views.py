"""The page of hard duty: which severity factors hold for a machine, and what they bring before they are kept."""

from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from fleet.models import Machine
from shop.editing import record_page
from shop.roles import may
from shop.rules.forms import DutyForm
from shop.rules.preview import brought_by_factors
from shop.rules.rows import unit_tags

FORM = "shop/rules/rule_form.html"


@may("keep rules")
@require_http_methods(["GET", "POST"])
def duty(request, pk):
    """Severity factors of one machine; "show what it brings" only shows, "keep" keeps."""
    machine = get_object_or_404(Machine, pk=pk)
    context = {
        "title": f"Hard duty of {machine}",
        "template": FORM,
        "back": reverse("machine", args=[pk]),
        "head": "Task",
        "button": "Keep the factors",
    }
    if request.method == "POST" and "show" in request.POST:
        form = DutyForm(request.POST, by=request.user, instance=machine)
        brought = (
            brought_by_factors(machine, form.cleaned_data["severity"], unit_tags([machine]), timezone.localdate())
            if form.is_valid()
            else None
        )
        return render(request, FORM, context | {"form": form, "brought": brought}, status=200 if brought is not None else 422)
    return record_page(
        request, DutyForm, words="Severity factors kept", address=lambda made: reverse("machine", args=[made.pk]), record=machine, **context
    )

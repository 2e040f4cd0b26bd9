"""The page that reasons about one drive from its latest test."""

from django.shortcuts import get_object_or_404, render
from django.views.decorators.http import require_safe

from fleet.models import DriveUnit
from shop.diagnosis.forms import LookedForm
from shop.diagnosis.rows import NO_COMPLAINT, diagnosis_of_unit
from shop.roles import may


@may("read the book")
@require_safe
def diagnosis(request, pk):
    unit = get_object_or_404(DriveUnit.objects.with_place(), pk=pk)
    form = LookedForm(request.GET)
    symptom = form.wanted().get("symptom", NO_COMPLAINT)
    found = diagnosis_of_unit(unit, symptom, form.answered("yes"), form.answered("no"))
    return render(request, "shop/diagnosis/diagnosis.html", {"unit": unit, "form": form, "diagnosis": found})

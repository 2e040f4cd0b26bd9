"""Pages of a test in progress: the list, opening one, writing in it, closing it, and what it came to."""

from django.contrib import messages
from django.http import JsonResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from fleet.models import DriveUnit
from shop.acts import AlreadyDone
from shop.lists import in_pages
from shop.refusals import Refused
from shop.roles import may
from shop.tests import actions
from shop.tests.answers import live_answer, marks_of_page, marks_sent
from shop.tests.filters import OpenTestFilter
from shop.tests.forms import CloseTestForm, GiveUpForm, OpenTestForm
from shop.tests.marks import keep_marks
from shop.tests.rows import OpenPage, found_test, result_page, tests_listed
from shop.tests.sheet import OpenSheet
from shop.tests.tables import OpenTestTable


@may("read the book")
@require_safe
def tests(request):
    filters = OpenTestFilter(request.GET)
    table = in_pages(OpenTestTable(tests_listed(filters.wanted())), request)
    return render(request, "shop/tests/tests.html", {"table": table, "filters": filters})


@may("record work")
@require_http_methods(["GET", "HEAD", "POST"])
def start_test(request, pk):
    unit = get_object_or_404(DriveUnit.objects.with_place(), pk=pk)
    if not unit.places:
        messages.error(request, f"{unit.tag} is in no machine: a test needs the machine's speeds and oil. Fit it first.")
        return redirect("drive", pk=pk)
    machine = unit.places[0].machine
    form = OpenTestForm(
        request.POST or None, by=request.user, unit=unit, machine=machine, initial={"order": _number(request.GET.get("order"))}
    )
    if request.method == "POST" and form.is_valid():
        given = {name: form.cleaned_data[name] for name in ("columns", "order", "token")}
        try:
            made = actions.open_test(by=request.user, unit=unit, machine=machine, procedures=form.picked(), **given)
        except AlreadyDone as before:
            made = before.record
        return redirect("open_test", made.pk)
    status = 422 if request.method == "POST" else 200
    running = unit.open_tests.filter(closed_at=None).order_by("-pk")
    return render(
        request, "shop/tests/start_test.html", {"form": form, "unit": unit, "machine": machine, "running": running}, status=status
    )


def _number(text: str | None) -> int | None:
    return int(text) if text and text.isdecimal() and len(text) < 18 else None


@may("read the book")
@require_safe
def open_test(request, pk):
    test = found_test(pk)
    if test.closed_at:
        return redirect("test_result", pk)
    return render(request, "shop/tests/open_test.html", page_of(request, OpenSheet(test, request.user)))


def page_of(request, sheet: OpenSheet, **forms) -> dict:
    machine = sheet.machine
    own = {
        "close_form": CloseTestForm(by=request.user, machine=machine, prefix="close"),
        "give_up_form": GiveUpForm(by=request.user, prefix="give-up"),
    }
    return OpenPage(sheet).context() | own | forms


@may("record work")
@require_POST
def keep_test(request, pk):
    """Keep the whole page as it was sent: the way that needs no script."""
    test = found_test(pk)
    sheet = OpenSheet(test, request.user)
    try:
        kept = keep_marks(by=request.user, test=test, marks=marks_of_page(sheet, request.POST), known=sheet.known)
    except Refused as refusal:
        messages.error(request, str(refusal))
        return redirect("test_result" if test.closed_at else "open_test", pk)
    messages.success(request, f"{kept} field{'' if kept == 1 else 's'} kept." if kept else "Everything was kept already.")
    return redirect("open_test", pk)


def keep_what_stands(request, test) -> None:
    """Keep the fields of the page before another act, so that nothing typed is lost; of a closed test the act itself says that it is closed."""
    sheet = OpenSheet(test, request.user)
    if not test.closed_at:
        keep_marks(by=request.user, test=test, marks=marks_of_page(sheet, request.POST), known=sheet.known)


@may("record work")
@require_POST
def mark_test(request, pk):
    """Keep marks that the page sends while it is written; answer with what stands beside the blanks now."""
    test = found_test(pk)
    try:
        kept = keep_marks(by=request.user, test=test, marks=marks_sent(request.body), known=OpenSheet(test, request.user).known)
    except Refused as refusal:
        return JsonResponse({"refused": str(refusal)}, status=409 if test.closed_at else 422)
    return JsonResponse({"kept": kept, **live_answer(OpenSheet(test, request.user))})


@may("record work")
@require_POST
def close_test(request, pk):
    test = found_test(pk)
    form = CloseTestForm(request.POST, by=request.user, machine=test.machine, prefix="close")
    keep_what_stands(request, test)
    if form.is_valid():
        given = {"hours": form.hours(), "note": form.cleaned_data["note"], "token": form.cleaned_data["token"]}
        try:
            actions.close_test(by=request.user, test=test, **given)
            messages.success(request, f"{test} is closed and judged.")
            return redirect("test_result", pk)
        except AlreadyDone:
            return redirect("test_result", pk)
        except Refused as refusal:
            form.add_error(None, refusal.sentences)
    return refused_page(request, test, 422, close_form=form)


@may("record work")
@require_POST
def give_up_test(request, pk):
    test = found_test(pk)
    keep_what_stands(request, test)
    form = GiveUpForm(request.POST, by=request.user, prefix="give-up")
    if form.is_valid():
        try:
            actions.give_up_test(by=request.user, test=test, reason=form.cleaned_data["reason"], token=form.cleaned_data["token"])
            messages.success(request, f"{test} is given up; what was marked stays.")
            return redirect("test_result", pk)
        except AlreadyDone:
            return redirect("test_result", pk)
        except Refused as refusal:
            form.add_error(None, refusal.sentences)
    return refused_page(request, test, 422, give_up_form=form)


def refused_page(request, test, status: int, **forms):
    """Show the open page with the refused form; a test that was closed meanwhile shows its result."""
    if test.closed_at:
        messages.error(request, f"{test} was closed already.")
        return redirect("test_result", test.pk)
    context = page_of(request, OpenSheet(test, request.user), **forms)
    context["sentences"] = next(iter(forms.values())).sentences()
    return render(request, "shop/tests/open_test.html", context, status=status)


@may("read the book")
@require_safe
def test_result(request, pk):
    test = found_test(pk)
    if not test.closed_at:
        return redirect("open_test", pk)
    return render(request, "shop/tests/test_result.html", result_page(test, request.user, request.GET.get("symptom", "")[:20]))


def address(test) -> str:
    return reverse("open_test", args=[test.pk])

"""Pages of the import: files that wait, one file as it was understood, its refused rows, and writing it."""

from functools import partial

from django.contrib import messages
from django.core.paginator import Paginator
from django.db.models import Count
from django.http import FileResponse, HttpResponse, StreamingHttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from fleet.models import OilSample
from shop.editing import act_page, add_sentences
from shop.exchange import desk, taking_out
from shop.exchange.columns import MEANINGS
from shop.exchange.forms import AgainForm, BringForm, MatchForm, WriteForm
from shop.exchange.kinds import KINDS
from shop.exchange.safe_cells import refused_rows_text
from shop.exchange.sample_actions import match_sample as find_machine
from shop.lists import PER_PAGE
from shop.models import ImportFile
from shop.papers.shelf import Damaged
from shop.refusals import Refused
from shop.roles import has_right, may

SHOWN_REFUSALS = 100


@may("import files")
@require_http_methods(["GET", "HEAD", "POST"])
def imports(request):
    """Bring a file, and see which wait or were written."""
    form = BringForm(request.POST or None, request.FILES or None, by=request.user)
    status = 200
    if request.method == "POST":
        status = 422
        if form.is_valid():
            try:
                given = form.cleaned_data
                file = desk.take_in(by=request.user, upload=given["file"], kind=given["kind"], choices=form.choices())
                return redirect("import_file", file.pk)
            except Refused as refusal:
                add_sentences(form, refusal)
    files = ImportFile.objects.select_related("brought_by")[:30]
    words = [meaning for meaning in MEANINGS if meaning.field != "left_out"]
    return render(request, "shop/exchange/imports.html", {"form": form, "files": files, "meanings": words}, status=status)


@may("import files")
@require_safe
def import_file(request, pk):
    """One file as it was understood: what it would write, and what is refused."""
    file = get_object_or_404(ImportFile.objects.select_related("brought_by"), pk=pk)
    return _page(request, file)


def _page(request, file: ImportFile, status: int = 200):
    found, kind = file.found or {}, KINDS[file.kind]
    context = {
        "file": file,
        "found": found,
        "kind": kind,
        "refused": found.get("refused", [])[:SHOWN_REFUSALS],
        "more_refused": max(0, len(found.get("refused", [])) - SHOWN_REFUSALS),
        "shown": [list(zip(kind.headings, row, strict=True)) for row in found.get("shown", [])],
        "put_right": [list(zip(kind.headings, row, strict=True)) for row in found.get("put_right", [])],
        "write_form": WriteForm(initial={"digest": found.get("digest")}),
        "again_form": AgainForm(initial=file.choices),
        "has_stopped": desk.has_stopped(file),
        "may_put_right": has_right(request.user, "correct the record"),
    }
    answer = render(request, "shop/exchange/import_file.html", context, status=status)
    if file.is_moving and not context["has_stopped"]:
        answer["Refresh"] = "2"
    return answer


@may("import files")
@require_POST
def look_again(request, pk):
    """Look at a file once more, with what is said of it now."""
    file = get_object_or_404(ImportFile, pk=pk)
    form = AgainForm(request.POST)
    if file.written_at is not None:
        if desk.has_stopped(file):
            _work(file, desk.judge_rest)
        return redirect("import_file", file.pk)
    if form.is_valid() and (not file.is_moving or desk.has_stopped(file)):
        given = form.cleaned_data
        if given["put_right"].strip() and not has_right(request.user, "correct the record"):
            given["put_right"] = ""
            messages.error(request, "Putting the book right needs the right to correct the record.")
        file.choices = file.choices | given | {"put_right": given["put_right"].strip()}
        file.stage = ImportFile.Stage.LOOKING
        file.save()
        _work(file, desk.look)
    return redirect("import_file", file.pk)


def _work(file: ImportFile, work) -> None:
    try:
        desk.work_on(file, work)
    except Damaged as damage:
        desk.move(file, ImportFile.Stage.REFUSED, words=str(damage))


@may("import files")
@require_POST
def write_import(request, pk):
    """Write a file to the book, as it was shown."""
    file = get_object_or_404(ImportFile, pk=pk)
    form = WriteForm(request.POST)
    if file.written_at is not None:
        return redirect("import_file", file.pk)
    if not form.is_valid() or form.cleaned_data["digest"] != file.found.get("digest") or file.stage != ImportFile.Stage.LOOKED:
        messages.error(request, "This file was looked at anew since the page was opened: look at what it says now.")
        return redirect("import_file", file.pk)
    if file.found["refused"] and not form.cleaned_data["good_rows_only"]:
        messages.error(request, "Rows are refused, so nothing was written. Put them right, or tick that the good rows alone are written.")
        return _page(request, file, status=422)
    claimed = ImportFile.objects.filter(pk=file.pk, stage=ImportFile.Stage.LOOKED).update(
        stage=ImportFile.Stage.WRITING, choices=file.choices | {"good_rows_only": form.cleaned_data["good_rows_only"]}
    )
    if claimed:
        file.refresh_from_db()
        _work(file, partial(desk.write, by=request.user))
    return redirect("import_file", file.pk)


@may("import files")
@require_POST
def throw_import_away(request, pk):
    """Throw away a file of which nothing was written."""
    file = get_object_or_404(ImportFile, pk=pk)
    if file.is_moving and not desk.has_stopped(file):
        messages.error(request, "It is being worked on: wait until that is done.")
        return redirect("import_file", file.pk)
    if file.written_at is not None:
        messages.error(request, "It was written to the book: it stays as proof of what came in.")
        return redirect("import_file", file.pk)
    desk.throw_file_away(file)
    messages.success(request, f"{file.name} is thrown away; nothing of it was written.")
    return redirect("imports")


@may("import files")
@require_safe
def refused_rows(request, pk):
    """The refused rows as a file to put right and bring again."""
    file = get_object_or_404(ImportFile, pk=pk)
    answer = HttpResponse(refused_rows_text(file.found or {}), content_type="text/csv; charset=utf-8")
    answer["X-Content-Type-Options"] = "nosniff"
    answer["Content-Disposition"] = f'attachment; filename="refused-rows-{file.pk}.csv"'
    return answer


@may("read the book")
@require_safe
def unmatched_samples(request):
    """Samples that no machine was found for."""
    rows = OilSample.objects.filter(machine=None).annotate(figures=Count("values")).order_by("-drawn_at", "-pk")
    page = Paginator(rows, PER_PAGE).get_page(request.GET.get("page"))
    return render(request, "shop/exchange/unmatched_samples.html", {"page": page})


@may("import files")
@require_http_methods(["GET", "HEAD", "POST"])
def match_sample(request, pk):
    """Say whose oil a sample was."""
    sample = get_object_or_404(OilSample.objects.prefetch_related("values"), pk=pk)
    if sample.machine_id:
        messages.error(request, f"Sample {sample} is matched already: it is of {sample.machine}.")
        return redirect("unmatched_samples")
    under = f"{sample.unmatched_reason}. Drawn {timezone.localtime(sample.drawn_at):%Y-%m-%d}"
    return act_page(
        request,
        MatchForm,
        lambda given, *, by, token: find_machine(by=by, sample=sample, token=token, **given),
        {},
        title=f"Sample {sample}: whose oil was it?",
        under=under,
        back=reverse("unmatched_samples"),
        button="Match",
        said="The sample is matched.",
        address=lambda made: reverse("unmatched_samples"),
    )


@may("take everything out")
@require_safe
def take_out(request):
    """What can be taken out, as plain files."""
    return render(request, "shop/exchange/take_out.html", {"tables": taking_out.tables_of_book()})


@may("take everything out")
@require_safe
def take_out_book(request):
    """Every table as plain CSV with a file that says what each column is, packed together."""
    packed = taking_out.packed_book()
    name = f"drive-book-{timezone.localdate():%Y-%m-%d}.zip"
    return FileResponse(packed, as_attachment=True, filename=name, content_type="application/zip")


@may("take everything out")
@require_safe
def take_out_readings(request):
    """One row a reading; the file can be brought in again."""
    answer = StreamingHttpResponse(taking_out.reading_lines(), content_type="text/csv; charset=utf-8")
    answer["X-Content-Type-Options"] = "nosniff"
    answer["Content-Disposition"] = f'attachment; filename="readings-{timezone.localdate():%Y-%m-%d}.csv"'
    return answer

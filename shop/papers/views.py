"""Papers put in and taken out: the only way to a kept file."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_http_methods, require_safe

from shop.acts import AlreadyDone
from shop.editing import add_sentences
from shop.models import Paper
from shop.papers.actions import keep_papers
from shop.papers.forms import PaperForm
from shop.papers.places import address_of, place_named
from shop.papers.shelf import Damaged, take_out
from shop.refusals import Refused
from shop.roles import may

SHUT = "default-src 'none'; img-src 'self'; style-src 'unsafe-inline'; sandbox"


@may("read the book")
@require_safe
def paper(request, pk):
    """Pictures are shown, everything else is handed over as a file; a file that is not the one kept is not handed over."""
    found = get_object_or_404(Paper, pk=pk)
    try:
        body = take_out(found)
    except Damaged as damage:
        return render(request, "shop/papers/damaged.html", {"paper": found, "words": str(damage)}, status=410)
    is_picture = found.media_type.startswith("image/")
    answer = HttpResponse(body, content_type=found.media_type if is_picture else "application/octet-stream")
    answer["X-Content-Type-Options"] = "nosniff"
    answer["Content-Security-Policy"] = SHUT
    answer.headers["Content-Disposition"] = (
        f'{"inline" if is_picture else "attachment"}; filename="paper-{found.pk}.{found.stored_name.rsplit(".", 1)[-1]}"'
    )
    return answer


@may("work on orders")
@require_http_methods(["GET", "POST"])
def new_papers(request, place, pk):
    """Put papers beside one record."""
    record = place_named(place, pk)
    form = PaperForm(request.POST or None, request.FILES or None, by=request.user)
    if request.method == "POST" and form.is_valid():
        try:
            kept = keep_papers(
                by=request.user, uploads=form.cleaned_data["files"], kind=form.cleaned_data["kind"], caption=form.cleaned_data["caption"],
                token=form.cleaned_data["token"], **{place: record},
            )  # fmt: skip
            messages.success(request, f"Kept: {', '.join(str(paper) for paper in kept)}.")
            return redirect(address_of(place, record))
        except AlreadyDone:
            return redirect(address_of(place, record))
        except Refused as refusal:
            add_sentences(form, refusal)
    context = {"form": form, "title": f"Photos and papers for {record}", "back": address_of(place, record), "button": "Keep them"}
    return render(request, "shop/_record_page.html", context, status=422 if form.errors else 200)

"""A printed paper as the answer to a request."""

from django.http import HttpResponse

from shop.printing.paper import make_pdf, paper_of


def pdf_answer(request, papers, name: str) -> HttpResponse:
    """Papers on the person's own paper, or on the one asked for by ?paper=."""
    return file_answer(make_pdf(papers, paper_of(request.user, request.GET.get("paper", "")), title=name.removesuffix(".pdf")), name)


def file_answer(body: bytes, name: str) -> HttpResponse:
    answer = HttpResponse(body, content_type="application/pdf")
    answer["Content-Disposition"] = f'inline; filename="{name}"'
    answer["X-Content-Type-Options"] = "nosniff"
    return answer

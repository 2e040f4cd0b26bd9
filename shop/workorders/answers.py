"""A printed paper as the answer to a request."""

from django.http import HttpResponse

from shop.printing.paper import make_pdf, paper_of


def pdf_answer(request, papers, name: str) -> HttpResponse:
    body = make_pdf(papers, paper_of(request.user, request.GET.get("paper", "")), title=name.removesuffix(".pdf"))
    return HttpResponse(body, content_type="application/pdf", headers={"Content-Disposition": f'inline; filename="{name}"', "X-Content-Type-Options": "nosniff"})

"""The first page, which says what needs somebody now, and the find box."""

from django.db import connection
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_safe

from shop.roles import may, open_to_all
from shop.today.rows import found_records, needs_of


@may("read the book")
@require_safe
def today(request):
    return render(request, "shop/today/today.html", {"kinds": needs_of(request.user)})


@may("read the book")
@require_safe
def find(request):
    text = request.GET.get("q", "").replace("\x00", "").strip()[:80]
    found = found_records(text)
    hits = [row for group in found for row in group.rows]
    if len(hits) == 1 and hits[0].url:
        return redirect(hits[0].url)
    return render(request, "shop/today/find.html", {"q": text, "found": found})


@open_to_all
@require_safe
def health(request):
    """Say that the site and its database answer; nothing else is told to strangers."""
    with connection.cursor() as cursor:
        cursor.execute("SELECT 1")
    return HttpResponse("well\n", content_type="text/plain")

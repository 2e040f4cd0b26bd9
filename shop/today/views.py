"""The first page, which says what needs somebody now, the find box, and the answer where something broke."""

import logging
import secrets

from django.db import connection
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.template import loader
from django.views.decorators.http import require_safe

from shop.roles import may, open_to_all
from shop.today.rows import found_records, needs_of

log = logging.getLogger("shop.doors")


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


@open_to_all
def broken(request):
    """Something broke: the person is given a number, under which the log tells what it was."""
    number = secrets.token_hex(4)
    log.error("failure %s: %s %s", number, request.method, request.path[:200], exc_info=True)
    answer = HttpResponse(loader.get_template("500.html").render({"number": number}), status=500)
    answer._has_been_logged = True  # Django would write the same traceback once more
    return answer

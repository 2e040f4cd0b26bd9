"""What holds for every answer: closed doors in the browser, and the end of the shift."""

import logging
from datetime import timedelta

from django.conf import settings
from django.contrib.auth import logout
from django.db import OperationalError
from django.http import HttpResponse
from django.template import loader
from django.utils import timezone
from django.utils.cache import add_never_cache_headers
from django.utils.dateparse import parse_datetime

from shop.keeping.journal import note_refusal

log = logging.getLogger("shop.doors")

POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; font-src 'self'; connect-src 'self'; "
    "manifest-src 'self'; worker-src 'self'; object-src 'none'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
)


def closed_doors(get_response):
    """Say in every answer that nothing from elsewhere may run in the page or frame it, and that records are not kept by caches."""

    def answer(request):
        response = get_response(request)
        response.headers.setdefault("Content-Security-Policy", POLICY)
        response.headers.setdefault("X-Frame-Options", "DENY")
        response.headers.setdefault("Permissions-Policy", "geolocation=(), microphone=(), payment=()")
        if not (request.path.startswith("/static/") and response.status_code < 400):
            response.headers.setdefault("Cache-Control", "private, no-store")
        return response

    return answer


def shift_end(get_response):
    """End a session that was idle for too long or that is older than a shift."""

    def answer(request):
        if request.user.is_authenticated:
            now = timezone.now()
            begun = _moment(request.session, "begun", now)
            seen = _moment(request.session, "seen", now)
            if now - begun > timedelta(hours=settings.SHIFT_HOURS) or now - seen > timedelta(minutes=settings.IDLE_MINUTES):
                logout(request)
            elif now - seen > timedelta(minutes=1) or "seen" not in request.session:
                request.session["begun"], request.session["seen"] = begun.isoformat(), now.isoformat()
        response = get_response(request)
        if request.path.startswith("/sign"):
            add_never_cache_headers(response)
        return response

    return answer


def noted_refusals(get_response):
    """Write every refused page to the log."""

    def answer(request):
        response = get_response(request)
        if response.status_code == 403:
            note_refusal(request, response.status_code)
        return response

    return answer


def told_troubles(get_response):
    """Where the database did not answer, or had no room, say so in words; its transaction has left nothing behind."""

    def answer(request):
        return get_response(request)

    def in_words(request, trouble):
        if not isinstance(trouble, OperationalError):
            return None
        log.error("the database failed: %s %s: %s", request.method, request.path[:200], trouble)
        return HttpResponse(loader.get_template("503.html").render(), status=503, headers={"Retry-After": "30"})

    answer.process_exception = in_words
    return answer


def _moment(session, name, otherwise):
    return parse_datetime(session.get(name, "")) or otherwise

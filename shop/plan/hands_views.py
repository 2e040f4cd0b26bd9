"""Pages of hands: technicians, skills, bays, times away; and of calendar addresses."""

import secrets

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from shop.acts import AlreadyDone, act
from shop.editing import act_page, record_page
from shop.models import Bay, CalendarKey, Skill, Technician, TimeAway
from shop.plan import actions
from shop.plan.calendar import calendar_of
from shop.plan.forms import BayForm, KeyForm, SkillForm, TechnicianForm, TimeAwayForm
from shop.roles import may, open_to_all


def home(*_made) -> str:
    return reverse("hands")


@may("read the book")
@require_safe
def hands(request):
    """Technicians with skills and times away, and bays with the height of their doors."""
    context = {
        "technicians": Technician.objects.prefetch_related("skills", "times_away").select_related("user").order_by("is_retired", "name"),
        "bays": Bay.objects.all(),
        "skills": Skill.objects.all(),
        "today": timezone.localdate(),
    }
    return render(request, "shop/plan/hands.html", context)


@may("plan weeks")
@require_http_methods(["GET", "POST"])
def add_technician(request):
    return record_page(
        request, TechnicianForm, words="Technician added", title="Add a technician", address=home, record=Technician(), keep=actions.keep_technician,
        back=home(),
    )  # fmt: skip


@may("plan weeks")
@require_http_methods(["GET", "POST"])
def edit_technician(request, pk):
    found = get_object_or_404(Technician, pk=pk)
    return record_page(
        request, TechnicianForm, words="Technician changed", title=f"Change {found}", address=home, record=found, keep=actions.keep_technician,
        back=home(),
    )  # fmt: skip


@may("plan weeks")
@require_http_methods(["GET", "POST"])
def add_time_away(request, pk):
    found = get_object_or_404(Technician, pk=pk)

    def do(fields, by, token):
        return actions.put_away(by=by, technician=found, token=token, **fields)

    return act_page(request, TimeAwayForm, do, {}, title=f"{found} is away", address=home, said="Written.", button="Write", back=home())


@may("plan weeks")
@require_POST
def end_time_away(request, pk):
    actions.take_back_time(by=request.user, time=get_object_or_404(TimeAway, pk=pk))
    messages.success(request, "Taken back.")
    return redirect("hands")


@may("plan weeks")
@require_http_methods(["GET", "POST"])
def add_skill(request):
    return record_page(request, SkillForm, words="Skill added", title="Add a skill", address=home, record=Skill(), back=home())


@may("plan weeks")
@require_http_methods(["GET", "POST"])
def add_bay(request):
    return record_page(request, BayForm, words="Bay added", title="Add a bay", address=home, record=Bay(), back=home())


@may("plan weeks")
@require_http_methods(["GET", "POST"])
def edit_bay(request, pk):
    found = get_object_or_404(Bay, pk=pk)
    return record_page(request, BayForm, words="Bay changed", title=f"Change {found}", address=home, record=found, back=home())


@may("plan weeks")
@require_http_methods(["GET", "POST"])
def calendars(request):
    """Secret calendar addresses: make one, see those that stand, revoke."""

    def do(fields, by, token):
        with act("Calendar address made", by=by, token=token) as frame:
            frame.made = CalendarKey.objects.create(secret=secrets.token_urlsafe(32), made_by=by, **fields)
        return frame.made

    keys = CalendarKey.objects.select_related("customer", "technician", "made_by").order_by("revoked_at", "-pk")
    for key in keys:
        key.address = request.build_absolute_uri(reverse("calendar_feed", args=[key.secret]))
    return act_page(
        request, KeyForm, do, {}, title="Calendar addresses", address=lambda _made: reverse("calendars"), said="Made. Give the address to nobody else.",
        template="shop/plan/calendars.html", keys=keys,
    )  # fmt: skip


@may("plan weeks")
@require_POST
def revoke_calendar(request, pk):
    try:
        with act("Calendar address revoked", by=request.user):
            CalendarKey.objects.filter(pk=pk, revoked_at=None).update(revoked_at=timezone.now())
        messages.success(request, "Revoked: the address answers no more.")
    except AlreadyDone:
        pass
    return redirect("calendars")


@open_to_all
@never_cache
@require_safe
def calendar_feed(request, secret):
    """The calendar behind a secret address; one that was revoked, never was, or belongs to somebody who left is not found."""
    of_somebody_here = CalendarKey.objects.filter(revoked_at=None, made_by__is_active=True).exclude(technician__user__is_active=False)
    standing = of_somebody_here.exclude(technician__is_retired=True).exclude(customer__is_retired=True)
    key = standing.select_related("customer", "technician").filter(secret=secret).first()
    if key is None:
        raise Http404("No such calendar.")
    answer = HttpResponse(calendar_of(key), content_type="text/calendar; charset=utf-8")
    answer["Content-Disposition"] = 'inline; filename="drive-work.ics"'
    answer["Referrer-Policy"] = "no-referrer"
    return answer

"""The weeks board, planning runs, bookings, demand, and the plan before the season."""

from datetime import date, timedelta

from django.contrib import messages
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from fleet.models import Machine
from fleet.models.base import ChangedMeanwhile
from shop.acts import AlreadyDone
from shop.changes.rows import meanwhile_words
from shop.due.fleet_due import fleet_due
from shop.due.rows import chosen, due_rows
from shop.due.shop_figures import shop_figures
from shop.editing import add_sentences
from shop.forms_base import ActForm
from shop.models import Booking, PlanRun
from shop.plan import actions, planning
from shop.plan.before_season import season_plan
from shop.plan.board import first_monday, weeks_of_board, what_a_move_breaks
from shop.plan.demand import demand as demand_of
from shop.plan.demand import week_ends
from shop.plan.forms import BookingForm, MoveForm
from shop.plan.weeks import monday_of, mondays_from
from shop.refusals import Refused
from shop.roles import may

FEW = 40  # jobs that a page shows without folding
WEEKS_SHOWN = 8
MOST_UNBOOKED = 200  # tasks without a week that are shown before somebody asks for all


def asked_week(request) -> date:
    """Return the first week the address asks for; this one where it cannot mean any."""
    today = timezone.localdate()
    try:
        asked = monday_of(date.fromisoformat(request.GET.get("from", "")))
    except ValueError:
        return monday_of(today)
    return asked if abs((asked - today).days) < 1500 else monday_of(today)


@may("read the book")
@require_safe
def plan(request):
    """Weeks with their bookings, hours against what there is."""
    first = asked_week(request)
    weeks, _ = weeks_of_board(first, WEEKS_SHOWN)
    context = {
        "weeks": weeks, "earlier": first - timedelta(days=7 * WEEKS_SHOWN), "later": first + timedelta(days=7 * WEEKS_SHOWN),
        "run": PlanRun.objects.select_related("recorded_by").first(), "form": ActForm(by=request.user), "today": timezone.localdate(),
        "open_weeks": _open_weeks(weeks),
    }  # fmt: skip
    return render(request, "shop/plan/plan.html", context)


def _open_weeks(weeks) -> set[date]:
    """Return the weeks shown unfolded: all of a board that is quickly read, else the first with work in it and those that hold too much."""
    busy = [week.monday for week in weeks if week.bookings]
    if sum(len(week.bookings) for week in weeks) <= FEW:
        return {week.monday for week in weeks}
    return {*busy[:1], *(week.monday for week in weeks if week.is_full or week.over)}


@may("plan weeks")
@require_POST
def ask_plan(request):
    """Begin a planning run and go to its page."""
    try:
        run = planning.ask_plan(by=request.user, token=request.POST.get("token", "")[:64])
    except AlreadyDone as before:
        run = before.record
    return redirect("plan_run", pk=run.pk) if run else redirect("plan")


@may("read the book")
@require_safe
def plan_run(request, pk):
    """One run: how far it is, then what it found and what it would change."""
    run = get_object_or_404(PlanRun.objects.select_related("recorded_by"), pk=pk)
    state = planning.state_of(run)
    seconds = int((timezone.now() - run.recorded_at).total_seconds())
    context = {"run": run, "state": state, "seconds": seconds, "found": run.result, "form": ActForm(by=request.user)}
    context["limit"] = int(planning.TIME_LIMIT_S)
    context["percent"] = None if run.gap is None else 100 * run.gap
    context["few"] = FEW
    context["unplaced"] = [job | {"due": date.fromisoformat(job["due"])} for job in run.result.get("unplaced", ())]
    context["weeks"] = _by_week(run) if state in (planning.DONE, planning.TAKEN) else []
    return render(request, "shop/plan/run.html", context)


def _by_week(run: PlanRun) -> list[tuple[date, list[dict]]]:
    out: dict[str, list[dict]] = {}
    for job in run.result.get("jobs", ()):
        out.setdefault(job["week"], []).append(job | {"day": date.fromisoformat(job["day"]) if job["day"] else None})
    return [(date.fromisoformat(week), sorted(out[week], key=lambda job: (str(job["day"]), job["name"]))) for week in sorted(out)]


def _act_on_run(request, pk, do, said: str, to: str):
    run = get_object_or_404(PlanRun, pk=pk)
    try:
        do(by=request.user, run=run, token=request.POST.get("token", "")[:64])
        messages.success(request, said)
    except AlreadyDone:
        pass
    except Refused as refusal:
        messages.error(request, str(refusal))
        return redirect("plan_run", pk=pk)
    except ChangedMeanwhile as meanwhile:
        messages.error(request, meanwhile_words(meanwhile.record))
        return redirect("plan_run", pk=pk)
    return redirect(to) if to == "plan" else redirect(to, pk=pk)


@may("plan weeks")
@require_POST
def take_plan(request, pk):
    return _act_on_run(request, pk, planning.take_plan, "The plan stands on the board. Pinned bookings were left where they are.", "plan")


@may("plan weeks")
@require_POST
def cancel_plan(request, pk):
    return _act_on_run(request, pk, planning.cancel_plan, "Cancelled; nothing was changed.", "plan_run")


@may("plan weeks")
@require_http_methods(["GET", "POST"])
def book(request):
    """Book a job by hand, from nothing or from a task that is due."""
    form = BookingForm(request.POST or None, by=request.user, initial=_wished(request))
    tasks = _tasks_asked(request)
    if request.method == "POST" and form.is_valid():
        try:
            made = actions.book(by=request.user, token=form.cleaned_data["token"], tasks=tasks, **form.fields_of_booking())
            messages.success(request, f"Booked: {made}.")
        except AlreadyDone as before:
            made = before.record
        return redirect("booking", pk=made.pk)
    status = 422 if request.method == "POST" else 200
    return render(
        request, "shop/_record_page.html", {"form": form, "title": "Book a job", "button": "Book", "back": reverse("plan")}, status=status
    )


def _row_asked(request):
    machine, task = request.GET.get("machine", ""), request.GET.get("task", "")
    if not (machine.isdecimal() and task.isdecimal() and len(machine + task) < 16):
        return None
    fleet = fleet_due()
    rows = due_rows(fleet, chosen(fleet, machine_id=int(machine), task_id=int(task)))
    return rows[0] if rows else None


def _wished(request) -> dict:
    row = _row_asked(request)
    if row is None:
        machine = request.GET.get("machine", "")
        known = machine.isdecimal() and len(machine) < 10 and Machine.objects.in_use().filter(pk=machine).exists()
        return {"machine": machine} if known else {}
    day = max(row.slot_day or row.due_day or timezone.localdate(), timezone.localdate())
    return {
        "machine": row.machine.pk,
        "title": f"{row.task}",
        "week_start": monday_of(day),
        "work_h": row.task.work_h,
        "reason": row.reason[:300],
    }


def _tasks_asked(request) -> list[dict]:
    row = _row_asked(request)
    asked = request.POST.get("machine", "")
    if row is None or asked != str(row.machine.pk):
        return []
    return [{"task": row.task.code, "unit": row.unit.tag if row.unit else ""}]


@may("read the book")
@require_safe
def booking(request, pk):
    rows = Booking.objects.select_related("machine__customer", "machine__site", "technician", "bay", "order")
    return render(request, "shop/plan/booking.html", {"booking": get_object_or_404(rows, pk=pk), "form": ActForm(by=request.user)})


@may("plan weeks")
@require_http_methods(["GET", "POST"])
def move_booking(request, pk):
    """Choose a week; what the move breaks is said before it is done."""
    found = get_object_or_404(Booking.objects.select_related("machine"), pk=pk)
    first, count = _weeks_round(found)
    weeks = mondays_from(first, count)
    form = MoveForm(request.POST or None, by=request.user, weeks=weeks, booking=found)
    context = {"booking": found, "form": form, "breaks": None}
    status = 200
    if request.method == "POST":
        status = 422
        if form.is_valid():
            monday = date.fromisoformat(form.cleaned_data["week"])
            broken = what_a_move_breaks(found, monday, first, count)
            context |= {"breaks": broken, "monday": monday}
            if "look" in request.POST:
                return render(request, "shop/plan/move.html", context)
            if broken and not form.cleaned_data["sure"]:
                form.add_error("sure", "The move breaks something, said above: tick this box to move it all the same.")
            else:
                try:
                    actions.move_booking(
                        by=request.user,
                        booking=found,
                        monday=monday,
                        version=form.cleaned_data["version"],
                        token=form.cleaned_data["token"],
                    )
                    messages.success(request, f"{found} now; it is pinned there.")
                    return redirect("booking", pk=found.pk)
                except AlreadyDone:
                    return redirect("booking", pk=found.pk)
                except Refused as refusal:
                    add_sentences(form, refusal)
                except ChangedMeanwhile as meanwhile:
                    status = 409
                    form.add_error(None, meanwhile_words(meanwhile.record))
    return render(request, "shop/plan/move.html", context, status=status)


def _weeks_round(found: Booking) -> tuple[date, int]:
    """Return the first week offered and how many: from this week, or the booking's own where that is earlier."""
    first = min(found.week_start, first_monday(timezone.localdate()))
    last = max(found.week_start, first + timedelta(days=7 * int(shop_figures()["plan_weeks"])))
    return first, (last - first).days // 7 + 1


def _act_on_booking(request, pk, do, said: str):
    found = get_object_or_404(Booking, pk=pk)
    version = request.POST.get("version", "")
    try:
        do(by=request.user, booking=found, version=int(version) if version.isdecimal() else -1, token=request.POST.get("token", "")[:64])
        messages.success(request, said)
    except AlreadyDone:
        pass
    except Refused as refusal:
        messages.error(request, str(refusal))
    except ChangedMeanwhile as meanwhile:
        messages.error(request, meanwhile_words(meanwhile.record))
    return redirect("booking", pk=pk)


@may("plan weeks")
@require_POST
def pin_booking(request, pk):
    wanted = request.POST.get("pin") == "1"
    return _act_on_booking(
        request,
        pk,
        lambda **given: actions.pin_booking(is_pinned=wanted, **given),
        "Pinned." if wanted else "Let loose: the next plan may move it.",
    )


@may("plan weeks")
@require_POST
def cancel_booking(request, pk):
    return _act_on_booking(request, pk, actions.cancel_booking, "Called off; calendars are told with their next look.")


@may("read the book")
@require_safe
def demand(request):
    """Litres, parts and hours that will be wanted, by week, as low, likely and high."""
    first, weeks = monday_of(timezone.localdate()), int(shop_figures()["plan_weeks"])
    context = {"groups": demand_of(fleet_due(), first, weeks), "ends": week_ends(first, weeks), "today": timezone.localdate()}
    return render(request, "shop/plan/demand.html", context)


@may("read the book")
@require_safe
def before_season(request):
    """Hours per week against what there is up to the season starts ahead, and tasks that have no week yet."""
    season = season_plan(fleet_due(), None if request.GET.get("all") else MOST_UNBOOKED)
    return render(request, "shop/plan/before_season.html", {"season": season, "today": timezone.localdate()})

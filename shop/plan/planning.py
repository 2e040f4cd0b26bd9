"""Planning the weeks anew, apart from the page: a run is asked for, worked out by a process of its own, looked at, and taken or left.

A run can be left and come back to, and cancelled without harm: it writes nothing but itself until somebody takes it.
"""

import os
import subprocess
import sys
from collections.abc import Callable
from dataclasses import replace
from datetime import date, timedelta
from time import monotonic
from uuid import uuid4

from django.conf import settings
from django.db import transaction
from django.utils import timezone

from calcs.plan import PACKING, Plan, cost_of_plan, make_plan, plan_changes
from calcs.shop_weeks import ShopWeeks
from calcs.week_days import PlanOfDays, days_of_plan
from shop.acts import act
from shop.due.fleet_due import fleet_due
from shop.due.shop_figures import shop_figures
from shop.models import Bay, Booking, PlanRun, Technician
from shop.plan.board import bookings_between, first_monday, jobs_of_bookings, name_of_booking
from shop.plan.weeks import shop_weeks
from shop.plan.work import Work, work_to_plan
from shop.refusals import Refused

TIME_LIMIT_S = 23.0  # the days after it take some seconds more
GIVEN_UP_S = 180
WAITING, RUNNING, DONE, CANCELLED, FAILED, TAKEN = "waiting", "running", "done", "cancelled", "failed", "taken"


def ask_plan(*, by, token: str = "") -> PlanRun:
    """Ask for the weeks to be planned; the work begins at once in a process of its own."""
    with act("Plan asked for", by=by, token=token) as frame:
        weeks = int(shop_figures()["plan_weeks"])
        run = PlanRun.objects.create(
            first_week=first_monday(timezone.localdate()),
            weeks=weeks,
            recorded_by=by,
            result={"state": WAITING, "word": "waits for its turn"},
        )
        frame.made = run
    transaction.on_commit(lambda: begin(run))
    return run


def begin(run: PlanRun) -> None:
    """Start the work apart from this page; inside the page where the settings say so."""
    if not getattr(settings, "SHOP_PLAN_APART", True):
        work_out(run.pk)
        return
    command = [sys.executable, str(settings.BASE_DIR / "manage.py"), "plan_weeks", str(run.pk)]
    apart = {"start_new_session": True} if os.name == "posix" else {}
    subprocess.Popen(command, stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, **apart)


def cancel_plan(*, by, run: PlanRun, token: str = "") -> PlanRun:
    """Let a run go; what it finds after that is thrown away."""
    with act("Plan cancelled", by=by, token=token) as frame:
        run.refresh_from_db()
        if run.result.get("state") not in (WAITING, RUNNING):
            raise Refused("This run has ended already; there is nothing to cancel.")
        run.result = run.result | {"state": CANCELLED, "word": "cancelled; nothing was changed"}
        run.save(update_fields=["result"])
        frame.made = run
    return run


def state_of(run: PlanRun) -> str:
    """Return the state of a run; one that has not been heard of for long has failed."""
    state = run.result.get("state", FAILED)
    if state in (WAITING, RUNNING) and (timezone.now() - run.recorded_at).total_seconds() > GIVEN_UP_S:
        return FAILED
    return state


def work_out(run_pk: int) -> None:
    """Work a run out and keep what it found, unless it was cancelled meanwhile."""
    if not _say(run_pk, WAITING, RUNNING, "reading what is due"):
        return
    run = PlanRun.objects.get(pk=run_pk)
    try:
        found, gap = _found(run, lambda word: _say(run_pk, RUNNING, RUNNING, word))
    except Exception as fault:
        _say(run_pk, RUNNING, FAILED, f"stopped by a fault: {type(fault).__name__}")
        raise
    with transaction.atomic():
        if _say(run_pk, RUNNING, DONE, "done"):
            run.refresh_from_db()
            run.result, run.gap = run.result | found, gap
            run.save(update_fields=["result", "gap"])


def _say(run_pk: int, before: str, after: str, word: str) -> bool:
    """Write how far a run is; False where it is no longer in the state it should be in."""
    with transaction.atomic():
        run = PlanRun.objects.get(pk=run_pk)
        if run.result.get("state") != before:
            return False
        run.result = run.result | {"state": after, "word": word}
        run.save(update_fields=["result"])
        return True


def _found(run: PlanRun, say) -> tuple[dict, float]:
    due = fleet_due()
    booked = list(bookings_between(run.first_week, run.weeks))
    pinned = [booking for booking in booked if booking.is_pinned]
    works = work_to_plan(due, run.first_week, run.weeks, pinned)
    shop = shop_weeks(run.first_week, run.weeks, pinned)
    works += _pinned_without_hands(pinned, shop)
    say(f"choosing weeks for {len(works)} jobs")
    jobs = [work.job for work in works]
    plan = make_plan(jobs, shop, countdown(TIME_LIMIT_S))
    say(f"giving days and hands to {len(plan.week_of)} jobs")
    days = days_of_plan(jobs, plan.week_of, shop)
    by_days = {"by_days_h": round(cost_of_plan(jobs, shop, days.week_of), 1), "travel_h": round(sum(p.travel_h for p in days.pieces), 1)}
    return _told(works, plan, days, shop, booked) | by_days, plan.gap


def countdown(seconds: float) -> Callable[[], float]:
    """Return what tells the seconds left from now on."""
    ends = monotonic() + seconds
    return lambda: ends - monotonic()


def _pinned_without_hands(pinned, shop: ShopWeeks) -> list[Work]:
    """Return pinned bookings that name no hands as jobs which must stay in their week."""
    loose = [booking for booking in pinned if not booking.technician_id]
    jobs = jobs_of_bookings(loose)
    return [
        Work([], replace(job, pinned_week=shop.mondays.index(booking.week_start)), ["pinned"], booking)
        for job, booking in zip(jobs, loose, strict=True)
    ]


def _told(works: list[Work], plan: Plan, days: PlanOfDays, shop: ShopWeeks, booked) -> dict:
    week_of = days.week_of
    unplaced = {name: plan.unplaced.get(name, why) for name, why in days.left_out.items()}
    before = {_planned_name(booking): shop.mondays.index(booking.week_start) for booking in booked if not booking.is_pinned}
    told = Plan(
        **{name: getattr(plan, name) for name in plan.__dataclass_fields__} | {"week_of": _unpinned(works, week_of), "unplaced": unplaced}
    )
    return {
        "jobs": [_job_words(work, week_of, days, shop) for work in works if work.booking is None and work.job.name in week_of],
        "unplaced": [_unplaced_words(work, unplaced[work.job.name]) for work in works if work.job.name in unplaced],
        "moved": [_moved_words(name, plan.week_of.get(name), week, shop) for name, week in sorted(days.moved.items())],
        "changes": plan_changes(before, told, shop),
        "overbooked": list(plan.overbooked),
        "cost_h": round(plan.cost_h, 1),
        "bound_h": round(plan.bound_h, 1),
        "packing": round(PACKING * 100),
        "stopped": plan.stopped,
        "count": len(works),
    }


def _moved_words(name: str, planned: int | None, week: int, shop: ShopWeeks) -> str:
    """Return what the days changed of the weeks: hands or bay lacked, or there was room after all."""
    now = f"{name}: in the week of {shop.mondays[week]:%-d %b}"
    if planned is None:
        return f"{now}, since days and hands had room after all"
    return f"{now} instead of that of {shop.mondays[planned]:%-d %b}, which had no hands or bay free or gave its place to a dearer job"


def _unpinned(works: list[Work], week_of: dict) -> dict:
    pinned = {work.job.name for work in works if work.booking is not None}
    return {name: week for name, week in week_of.items() if name not in pinned}


def _planned_name(booking: Booking) -> str:
    return booking.title if booking.tasks else name_of_booking(booking)


def _job_words(work: Work, week_of, days: PlanOfDays, shop: ShopWeeks) -> dict:
    pieces = [piece for piece in days.pieces if piece.job == work.job.name]
    monday = shop.mondays[week_of[work.job.name]]
    first = pieces[0] if pieces else None
    return {
        "name": work.job.name,
        "machine": work.machine.pk,
        "tasks": work.tasks,
        "hours": round(work.job.hours, 2),
        "skill": work.job.skill,
        "place": work.job.place,
        "due": str(work.job.due),
        "week": str(monday),
        "day": str(first.day) if first else "",
        "technician": first.technician if first else "",
        "bay": first.bay if first else "",
        "pieces": [f"{piece.day:%a %-d %b} {piece.technician} {piece.hours:g} h" for piece in pieces],
        "words": _why_here(work, monday),
    }


def _why_here(work: Work, monday: date) -> str:
    job, friday = work.job, monday + timedelta(days=4)
    late = (friday - job.due).days
    words = [f"due {job.due:%-d %b %Y}" + (f", {late} day{'s' if late > 1 else ''} over by then" if late > 0 else "")]
    words += [row.reason.split("; ")[-1] for row in work.rows if row.move]
    return "; ".join([*words, *work.words])[:300]


def _unplaced_words(work: Work, reason: str) -> dict:
    return {"name": work.job.name, "machine": work.machine.pk, "hours": round(work.job.hours, 2), "due": str(work.job.due), "why": reason}


def take_plan(*, by, run: PlanRun, token: str = "") -> PlanRun:
    """Put a run on the board: unpinned bookings move, come and are called off; pinned ones are left alone."""
    with act("Plan taken", by=by, token=token) as frame:
        run.refresh_from_db()
        if run.result.get("state") != DONE:
            raise Refused("Only a run that has ended well can be taken, and only once: run the planning again.")
        if PlanRun.objects.filter(pk__gt=run.pk, result__state=TAKEN).exists():
            raise Refused("A later plan was taken already: run the planning again.")
        _put_on_board(run, by)
        run.result = run.result | {"state": TAKEN, "word": "taken"}
        run.save(update_fields=["result"])
        frame.made = run
    return run


def _put_on_board(run: PlanRun, by) -> None:
    hands = {technician.name: technician for technician in Technician.objects.all()}
    bays = {bay.name: bay for bay in Bay.objects.all()}
    old = {booking.title: booking for booking in bookings_between(run.first_week, run.weeks) if not booking.is_pinned}
    for told in run.result["jobs"]:
        fields = {
            "week_start": date.fromisoformat(told["week"]),
            "day": date.fromisoformat(told["day"]) if told["day"] else None,
            "technician": hands.get(told["technician"]),
            "bay": bays.get(told["bay"]),
            "work_h": max(told["hours"], 0.25),
            "tasks": told["tasks"],
            "reason": told["words"],
        }
        _put_booking(old.pop(told["name"][:160], None), told, fields)
    for booking in old.values():
        booking.is_cancelled = True
        booking.reason = "no longer in the plan"
        booking.save_over(booking.version)


def _put_booking(booking: Booking | None, told: dict, fields: dict) -> None:
    if booking is None:
        Booking.objects.create(machine_id=told["machine"], title=told["name"][:160], uid=f"booking-{uuid4()}", **fields)
        return
    changed = [name for name, value in fields.items() if name not in ("work_h", "reason") and getattr(booking, name) != value]
    for name, value in fields.items():
        setattr(booking, name, value)
    if changed:
        booking.save_over(booking.version)

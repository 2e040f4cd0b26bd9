"""Acts on bookings and hands."""

from datetime import date, timedelta
from uuid import uuid4

from django.utils import timezone

from shop.acts import act
from shop.models import Booking, Technician, TimeAway
from shop.plan.weeks import monday_of
from shop.refusals import Refused


def book(*, by, machine, title: str, week_start: date, work_h, token: str = "", **fields) -> Booking:
    """Book a job by hand; it is pinned, so that planning leaves it alone."""
    with act("Booked", by=by, token=token) as frame:
        frame.made = Booking.objects.create(
            machine=machine,
            title=title,
            week_start=monday_of(week_start),
            work_h=work_h,
            is_pinned=True,
            uid=f"booking-{uuid4()}",
            **fields,
        )
    return frame.made


def move_booking(*, by, booking: Booking, monday: date, version: int, token: str = "") -> Booking:
    """Move a booking to another week and pin it there: a person's choice is left alone by the next plan."""
    with act("Booking moved", by=by, token=token) as frame:
        refuse_cancelled(booking)
        shift = monday_of(monday) - booking.week_start
        booking.week_start = monday_of(monday)
        booking.day = booking.day + shift if booking.day else None
        booking.start_at = same_clock(booking.start_at, shift) if booking.start_at else None
        booking.is_pinned = True
        booking.save_over(version)
        frame.made = booking
    return booking


def same_clock(moment, shift: timedelta):
    """Return a moment some days later at the same time by the shop's clock, over a change of the clock as well."""
    local = timezone.localtime(moment)
    return timezone.make_aware(local.replace(tzinfo=None) + shift)


def pin_booking(*, by, booking: Booking, is_pinned: bool, version: int, token: str = "") -> Booking:
    with act("Booking pinned" if is_pinned else "Booking let loose", by=by, token=token) as frame:
        refuse_cancelled(booking)
        booking.is_pinned = is_pinned
        booking.save_over(version)
        frame.made = booking
    return booking


def cancel_booking(*, by, booking: Booking, version: int, reason: str = "", token: str = "") -> Booking:
    """Call a booking off; it stays on record, and calendars are told."""
    with act("Booking called off", by=by, reason=reason, token=token) as frame:
        refuse_cancelled(booking)
        booking.is_cancelled = True
        booking.save_over(version)
        frame.made = booking
    return booking


def refuse_cancelled(booking: Booking) -> None:
    if booking.is_cancelled:
        raise Refused("This booking was called off; make a new one.")


def keep_technician(*, record: Technician, words: str, by, token: str = "", form=None) -> Technician:
    """Keep a technician with skills, over the version that was opened."""
    with act(words, by=by, token=token) as frame:
        if record.pk:
            record.save_over(form.cleaned_data.get("version"))
        else:
            record.save()
        record.skills.set(form.cleaned_data["skills"])
        frame.made = record
    return record


def put_away(*, by, technician: Technician, from_date: date, to_date: date, reason: str = "", token: str = "") -> TimeAway:
    with act("Time away written", by=by, token=token) as frame:
        frame.made = TimeAway.objects.create(technician=technician, from_date=from_date, to_date=to_date, reason=reason)
    return frame.made


def take_back_time(*, by, time: TimeAway, token: str = "") -> None:
    with act("Time away taken back", by=by, token=token):
        time.delete()

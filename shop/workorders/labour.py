"""Hours of work: a clock started and stopped, or times written by hand."""

from django.utils import timezone

from shop.acts import act
from shop.models import LabourEntry
from shop.refusals import Refused
from shop.workorders.lines import refuse_if_ended


def start_clock(*, by, order, technician, kind: str, token: str = "") -> LabourEntry:
    with act("start a clock", by=by, token=token) as frame:
        refuse_if_ended(order)
        running = LabourEntry.objects.filter(technician=technician, ended_at=None).select_related("order").first()
        if running:
            since = timezone.localtime(running.started_at)
            raise Refused(f"The clock of {technician} runs on {running.order} since {since:%H:%M}: stop it first.")
        frame.made = LabourEntry.objects.create(order=order, technician=technician, kind=kind, started_at=timezone.now(), recorded_by=by)
    return frame.made


def stop_clock(*, by, entry: LabourEntry, note: str = "", token: str = "") -> LabourEntry:
    with act("stop a clock", by=by, token=token) as frame:
        stopped = LabourEntry.objects.filter(pk=entry.pk, ended_at=None).update(ended_at=timezone.now(), note=note[:200])
        if not stopped:
            raise Refused("This clock was stopped already.")
        entry.refresh_from_db()
        frame.made = entry
    return entry


def write_hours(*, by, order, technician, kind: str, started_at, ended_at, note: str = "", token: str = "") -> LabourEntry:
    """Keep times that were written by hand; they may not run into the same person's other times."""
    with act("write hours of work", by=by, token=token) as frame:
        refuse_if_ended(order)
        refuse_times(technician, started_at, ended_at)
        frame.made = LabourEntry.objects.create(
            order=order, technician=technician, kind=kind, started_at=started_at, ended_at=ended_at, by_hand=True, note=note, recorded_by=by
        )
    return frame.made


def refuse_times(technician, started_at, ended_at) -> None:
    if ended_at <= started_at:
        raise Refused("The end must be after the beginning.")
    if ended_at > timezone.now():
        raise Refused("The end lies ahead: write the hours when they are done.")
    if (ended_at - started_at).total_seconds() > 16 * 3600:
        raise Refused("More than sixteen hours at a stretch: write each day on its own.")
    other = (
        LabourEntry.objects.filter(technician=technician, started_at__lt=ended_at, ended_at__gt=started_at).select_related("order").first()
    )
    if other:
        begun, ended = timezone.localtime(other.started_at), timezone.localtime(other.ended_at)
        raise Refused(
            f"{technician} worked on {other.order} from {begun:%H:%M} to {ended:%H:%M} on {begun:%-d %b %Y}: times may not overlap."
        )

"""Lengthening an interval: signed, by a quarter at most, for a time, on clean samples; never for what people's safety hangs on."""

from datetime import date

import pandas as pd
from django.utils import timezone

from calcs.calendar_sums import as_date
from calcs.extension import Extension as Proposed
from calcs.extension import judge_extension
from fleet.models import FluidFill, OilSample
from shop.acts import act
from shop.due.fleet_due import as_if
from shop.models import Extension, Finding
from shop.refusals import Refused


def clean_samples(machine, since: date | None) -> int:
    """Return how many samples running, the latest last, were drawn on this fill since a day without a finding against them; one that no laboratory
    has answered yet is not known to be clean."""
    filled = FluidFill.objects.standing().filter(machine=machine, kind__in=["first_fill", "change"]).order_by("-filled_at").first()
    bad = Finding.objects.filter(machine=machine, sign="sample").order_by("-recorded_at").first()
    samples = OilSample.objects.filter(machine=machine, values__isnull=False).distinct()
    if filled is not None:
        samples = samples.filter(drawn_at__gte=filled.filled_at)
    if bad is not None:
        samples = samples.filter(drawn_at__gt=bad.visit.visited_at if bad.visit else bad.recorded_at)
    return (samples.filter(drawn_at__date__gte=since) if since else samples).count()


def judge(row, found, *, by, share: float, expires_on: date, restriction_low: bool, warranty_clause: bool):
    """Return the judgement over one more extension of this row's interval."""
    earlier = list(Extension.objects.filter(rule=row.rule, machine=row.machine).order_by("signed_on"))
    proposed = Proposed(share, by.get_username(), timezone.localdate(), expires_on)
    return judge_extension(
        row.task.kind,
        proposed,
        [Proposed(e.share, str(e.signed_by), e.signed_on, e.expires_on) for e in earlier],
        clean_samples=clean_samples(row.machine, earlier[-1].signed_on if earlier else None),
        maker_permits=row.rule.may_extend,
        restriction_low=restriction_low,
        breakin=bool(found.breakin),
        warranty_clause=warranty_clause,
        safety=row.task.is_safety,
    )


def brought_by(due, place: int, row, share: float) -> dict:
    """Return what one more step of this share would bring: the due now, and the due with it."""
    now = due.rows.iloc[place]
    after = as_if(due, place, factor=due.inputs.factor.iloc[place] * (1 + share))
    points = [{"due_h": known(one.due_h), "due_day": as_date(one.due_day), "state": one.state_word} for one in (now, after)]
    return {"before": points[0], "after": points[1], "interval_h": (known(now.interval_h), known(after.interval_h)), "row": row}


def known(value) -> float | None:
    return None if pd.isna(value) else float(value)


def sign_extension(
    *, by, row, found, share: float, expires_on: date, reason: str, restriction_low=False, warranty_clause=False, token=""
) -> Extension:
    """Sign one more step, if nothing speaks against it."""
    judged = judge(row, found, by=by, share=share, expires_on=expires_on, restriction_low=restriction_low, warranty_clause=warranty_clause)
    if not judged.allowed:
        raise Refused(*[f"Not signed: {words}." for words in judged.reasons])
    with act("Interval extended", by=by, reason=reason, token=token) as frame:
        frame.made = Extension.objects.create(
            rule=row.rule, machine=row.machine, share=share, signed_by=by, signed_on=timezone.localdate(), expires_on=expires_on,
            reason=reason, recorded_by=by,
        )  # fmt: skip
    return frame.made

"""Acts on laboratory results: writing a sheet of them, and finding the machine of a sample that none was found for."""

from __future__ import annotations

from fleet.models import LabValue, Machine, OilSample
from fleet.models.base import serial_key
from shop.acts import act
from shop.advice.review import review_after
from shop.exchange.plans import Overtaken, Plan
from shop.exchange.samples_plan import SampleRow
from shop.refusals import Refused


def record_samples(*, by, plan: Plan, reason: str, token: str = "", laboratory: str = "") -> list[OilSample]:
    """Write results to the samples that wait for them; others make a sample without a machine, to be looked at."""
    if not plan.fresh:
        return []
    with act("Laboratory results imported", by=by, reason=reason[:300], token=token):
        _refuse_overtaken(plan.fresh)
        samples = [_filled(row, laboratory, by) for row in sorted(plan.fresh, key=lambda row: row.line)]
        LabValue.objects.bulk_create(
            LabValue(
                sample=sample,
                item=f.item,
                typed=f.typed,
                value=f.value,
                unit=f.unit,
                is_below_limit=f.is_below_limit,
                method=laboratory[:40],
            )
            for sample, row in zip(samples, sorted(plan.fresh, key=lambda row: row.line), strict=True)
            for f in row.found
        )
        for machine in {sample.machine_id: sample.machine for sample in samples if sample.machine_id}.values():
            review_after(machine)
    return samples


def _refuse_overtaken(rows: list[SampleRow]) -> None:
    labels = {serial_key(label) for label in OilSample.objects.values_list("label", flat=True)}
    taken = [row for row in rows if row.sample is None and serial_key(row.label) in labels]
    filled = LabValue.objects.filter(sample__in=[row.sample.pk for row in rows if row.sample]).exists()
    if taken or filled:
        raise Overtaken("Somebody else wrote results for some of these samples a moment ago: look at the file anew.")


def _filled(row: SampleRow, laboratory: str, by) -> OilSample:
    told = {"laboratory_number": row.lab_number, "laboratory_words": row.words} | ({"laboratory": laboratory[:60]} if laboratory else {})
    if row.sample is None:
        return OilSample.objects.create(
            label=row.label, drawn_at=row.drawn_at, point=row.place, oil_h=row.oil_h, life_h=row.life_h,
            unmatched_reason=row.unmatched[:200], recorded_by=by, **told,
        )  # fmt: skip
    for name, value in told.items():
        setattr(row.sample, name, value or getattr(row.sample, name))
    for name in ("oil_h", "life_h"):
        if getattr(row.sample, name) is None:
            setattr(row.sample, name, getattr(row, name))
    row.sample.save()
    return row.sample


def match_sample(*, by, sample: OilSample, machine: Machine, reason: str, token: str = "") -> OilSample:
    """Say whose oil a sample was."""
    with act("Sample matched", by=by, reason=reason, token=token) as frame:
        claimed = OilSample.objects.filter(pk=sample.pk, machine=None).update(machine=machine, unmatched_reason="")
        if not claimed:
            raise Refused("Somebody else found a machine for this sample a moment ago.")
        sample.refresh_from_db()
        review_after(machine)
        frame.made = sample
    return sample


def sample_shown(row: SampleRow) -> list:
    """Return results as they were understood."""
    whose = str(row.sample.machine) if row.sample and row.sample.machine else f"not known: {row.unmatched}"
    figures = ", ".join(f"{f.item} {f.typed}" for f in row.found[:8])
    more = f" and {len(row.found) - 8} more" if len(row.found) > 8 else ""
    return [row.line, row.label, row.sample.label if row.sample else "–", whose, f"{row.drawn:%Y-%m-%d}", figures + more]

"""Acts on suggestions: the review makes, renews and withdraws them; a person accepts or dismisses them."""

from hashlib import sha256

from django.utils import timezone

from shop.acts import act
from shop.advice.material import has_changed
from shop.advice.signs import Wanted, wanted_of_gauges, wanted_of_oil, wanted_of_units
from shop.models import Advice
from shop.refusals import Refused
from shop.workorders.actions import open_order


def suggest(units=None) -> int:
    """Make, renew and withdraw suggestions by what the last review kept, of these drives or of the whole shop; return how many were written.

    What was answered does not come back unless its evidence has changed by enough to matter.
    """
    wanted = wanted_of_units(units) + ([] if units is not None else wanted_of_oil() + wanted_of_gauges())
    mine = Advice.objects.all() if units is None else Advice.objects.filter(unit__in=units)
    latest: dict[tuple[str, str], Advice] = {}
    for advice in mine.order_by("pk"):
        latest[advice.kind, advice.evidence.get("subject", "")] = advice
    writes = _writes(wanted, latest)
    if writes:
        with act("Suggestions from the review", by=None):
            for write in writes:
                write.save()
    return len(writes)


def _writes(wanted: list[Wanted], latest: dict[tuple[str, str], Advice]) -> list[Advice]:
    """Return the rows to be written: new ones, open ones that stand stronger or again, open ones whose reason is gone."""
    made = [write for found in wanted if (write := _write_of(found, latest.get((found.kind, found.subject)))) is not None]
    still = {(found.kind, found.subject) for found in wanted}
    gone = [advice for key, advice in latest.items() if key not in still and advice.answered_at is None and advice.withdrawn_at is None]
    for advice in gone:
        advice.withdrawn_at = timezone.now()
    return made + gone


def _write_of(found: Wanted, last: Advice | None) -> Advice | None:
    evidence = found.evidence | {"subject": found.subject}
    if last is None:
        return _new(found, evidence, 0)
    if not has_changed(last.evidence, evidence) and last.withdrawn_at is None:
        return None
    if last.answered_at is not None:
        return _new(found, evidence, last.pk)
    last.reason, last.evidence, last.weight, last.withdrawn_at = found.reason, evidence, found.weight, None
    last.machine, last.quantity = found.machine, found.quantity
    return last


def _new(found: Wanted, evidence: dict, after: int) -> Advice:
    key = sha256(f"{found.kind}|{found.subject}|{sorted(evidence.items())}|{after}".encode()).hexdigest()
    return Advice(
        kind=found.kind, machine=found.machine, unit=found.unit, instrument=found.instrument, quantity=found.quantity, reason=found.reason,
        weight=found.weight, evidence=evidence, evidence_key=key,
    )  # fmt: skip


def accept_advice(*, by, advice: Advice, answer: str, opens_order: bool = False, token: str = "") -> Advice:
    """Say that a suggestion will be followed; with `opens_order` an order is opened for it in the same act."""
    with act("Suggestion accepted", by=by, token=token) as frame:
        order = None
        if opens_order:
            if advice.machine is None:
                raise Refused("No machine belongs to this suggestion: an order needs one. Accept it without an order.")
            order = open_order(by=by, machine=advice.machine, unit=advice.unit, complaint=f"{advice.get_kind_display()}. {advice.reason}")
        frame.made = _answer(advice, by, True, answer, order)
    return frame.made


def dismiss_advice(*, by, advice: Advice, answer: str, token: str = "") -> Advice:
    """Put a suggestion aside with a word why; it comes back only when its evidence changes by enough to matter."""
    with act("Suggestion dismissed", by=by, reason=answer[:300], token=token) as frame:
        frame.made = _answer(advice, by, False, answer, None)
    return frame.made


def _answer(advice: Advice, by, is_accepted: bool, answer: str, order) -> Advice:
    if not answer.strip():
        raise Refused("Write in a few words why.")
    fields = {"answered_at": timezone.now(), "answered_by": by, "is_accepted": is_accepted, "answer": answer.strip(), "order": order}
    if not Advice.objects.filter(pk=advice.pk, answered_at=None).update(**fields):
        raise Refused("Somebody answered this a moment ago: open the page anew and look at what was said.")
    advice.refresh_from_db()
    return advice

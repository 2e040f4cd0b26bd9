"""What the review found, as suggestions: one a drive and kind, led by its gravest sign, with the reason in words."""

from collections import defaultdict
from dataclasses import dataclass, field

from fleet.models import DriveUnit, Instrument, Machine, MetalState, UnitEvent, WearGauge, WearShift, WearState
from shop.advice.words import band_of, gauge_words, jump_words, metals_of, off_words, shift_words, sign_words
from shop.models import Advice
from shop.trends.rows import LEAKS_AND_PRESSURES

SOON_H = 2000.0  # a limit that may come within these hours is planned for, a shop setting
GRAVITY = {"jumped": 0, "wearing": 1, "watch": 2}


@dataclass(frozen=True)
class Wanted:
    """A suggestion that the facts call for."""

    kind: str
    subject: str
    reason: str
    weight: float
    quantity: str = ""
    machine: Machine | None = None
    unit: DriveUnit | None = None
    instrument: Instrument | None = None
    evidence: dict = field(default_factory=dict)


def wanted_of_units(units=None) -> list[Wanted]:
    """Return what is called for on these drives, or on all: five queries."""
    states = WearState.objects.select_related("group").exclude(unit__keeping=DriveUnit.Keeping.SCRAPPED)
    states = states if units is None else states.filter(unit__in=units)
    by_unit = defaultdict(list)
    for state in states.order_by("unit_id", "quantity", "direction"):
        by_unit[state.unit_id].append(state)
    events = defaultdict(list)
    for event in UnitEvent.objects.filter(unit__in=list(by_unit)).order_by("happened_on", "pk"):
        events[event.unit_id].append(event)
    placed = DriveUnit.objects.with_place().in_bulk(list(by_unit))
    metals = rising_metals()
    found = []
    for pk, mine in by_unit.items():
        machine = placed[pk].places[0].machine if placed[pk].places else None
        found += _of_unit(placed[pk], machine, mine, metals.get(machine.pk, []) if machine else [], events[pk])
    return found


def rising_metals() -> dict[int, list[MetalState]]:
    """Return by machine the metals that rise there on their own."""
    found = defaultdict(list)
    for state in MetalState.objects.rising().select_related("group", "machine"):
        found[state.machine_id].append(state)
    return found


def in_order(states: list[WearState]) -> list[WearState]:
    """Return the states that are signs, gravest first: jumped, wearing, watch, then the nearest limit."""
    signs = [state for state in states if state.state in GRAVITY]
    return sorted(signs, key=lambda s: (GRAVITY[s.state], float("inf") if s.likely_h is None else s.likely_h, s.quantity, s.direction))


def joint_of(states: list[WearState], metals: list[MetalState]) -> WearState | None:
    """Return the leak or pressure that rises together with metal in the oil: two signs that know nothing of each other."""
    firm = [s for s in in_order(states) if s.state in ("jumped", "wearing") and s.quantity in LEAKS_AND_PRESSURES]
    return firm[0] if firm and metals else None


def _of_unit(unit, machine, states, metals, events) -> list[Wanted]:
    made = [_repeat(unit, machine, states), _cause(unit, machine, states, events), _repair_or_sample(unit, machine, states, metals)]
    return [wanted for wanted in made if wanted is not None]


def _repeat(unit, machine, states) -> Wanted | None:
    off = [state for state in states if state.asks_for_repeat]
    if not off:
        return None
    lead = min(off, key=lambda state: state.step_p)
    evidence = {"word": "off", "tested_on": str(lead.last_tested_on), "level": round(lead.last_ratio, 2)}
    return _wanted(Advice.Kind.REPEAT_TEST, unit, machine, lead, off_words(off), 60.0, evidence)


def _cause(unit, machine, states, events) -> Wanted | None:
    jumped = [state for state in in_order(states) if state.state == "jumped"]
    if not jumped:
        return None
    evidence = {"word": "jumped", "jump_on": str(jumped[0].jump_on), "level": round(jumped[0].level_ratio, 2)}
    return _wanted(
        Advice.Kind.FIND_CAUSE, unit, machine, jumped[0], " ".join(jump_words(state, events) for state in jumped), 80.0, evidence
    )


def _repair_or_sample(unit, machine, states, metals) -> Wanted | None:
    signs = [state for state in in_order(states) if state.state != "jumped" and not state.asks_for_repeat]
    joint = joint_of(states, metals)
    if not signs and not joint:
        return None
    lead = joint or signs[0]
    is_near = any(s.state == "wearing" and s.low_h is not None and s.low_h < SOON_H for s in signs)
    kind = Advice.Kind.PLAN_REPAIR if is_near or joint else Advice.Kind.SAMPLE
    told = "; ".join(sign_words(state) for state in signs[:3]) or sign_words(lead)
    words = f"Two independent signs rise together: {told}; and {metals_of(metals)} in the oil" if joint else told[0].upper() + told[1:]
    words = f"{words}. To the limit: {band_of(lead)}."
    evidence = {
        "word": lead.state,
        "level": round(lead.level_ratio, 2),
        "likely_h": lead.likely_h and round(lead.likely_h),
        "joint": bool(joint),
    }
    return _wanted(kind, unit, machine, lead, words, _weight(lead, bool(joint), is_near), evidence)


def _weight(lead: WearState, is_joint: bool, is_near: bool) -> float:
    nearness = 10.0 / (1.0 + (SOON_H if lead.likely_h is None else lead.likely_h) / 500.0)
    return (100.0 if is_joint else 70.0 if is_near else 30.0) + nearness


def _wanted(kind, unit, machine, lead: WearState, reason: str, weight: float, evidence: dict) -> Wanted:
    told = evidence | {"quantity": lead.quantity, "direction": lead.direction}
    return Wanted(kind, f"drive {unit.tag}", reason[:400], weight, lead.quantity, machine, unit, None, told)


def wanted_of_oil() -> list[Wanted]:
    """Return machines in whose oil metal rises while nothing read on their drives does."""
    signs = set(WearState.objects.filter(state__in=("jumped", "wearing", "watch"), unit__installations__to_date=None)
                .values_list("unit__installations__machine_id", flat=True))  # fmt: skip
    return [
        Wanted(
            Advice.Kind.SAMPLE, f"oil of {metals[0].machine.number}",
            f"{metals_of(metals).capitalize()} in the oil, but no reading of the drive does: draw another sample, and test the drive.",
            40.0, "", metals[0].machine, evidence={"word": "metal", "level": round(max(m.level_ratio for m in metals), 2)},
        )
        for machine_id, metals in rising_metals().items()
        if machine_id not in signs
    ]  # fmt: skip


def wanted_of_gauges() -> list[Wanted]:
    """Return gauges that read off against all others, and dates about which many drives shifted together."""
    by_gauge = defaultdict(list)
    for row in WearGauge.objects.select_related("instrument").order_by("instrument_id", "quantity"):
        if row.is_suspect and row.instrument.status != Instrument.Status.WITHDRAWN:
            by_gauge[row.instrument].append(row)
    found = [_gauge(gauge, rows) for gauge, rows in by_gauge.items()]
    return found + [_shift(shift) for shift in WearShift.objects.select_related("instrument")]


def _gauge(gauge, rows) -> Wanted:
    largest = max(rows, key=lambda row: abs(row.offset))
    evidence = {"word": "gauge off", "level": round(1 + abs(largest.offset), 3)}
    return Wanted(
        Advice.Kind.CHECK_GAUGE,
        f"gauge {gauge.tag}",
        gauge_words(gauge, rows)[:400],
        65.0,
        largest.quantity,
        instrument=gauge,
        evidence=evidence,
    )


def _shift(shift: WearShift) -> Wanted:
    evidence = {"word": "shift", "jump_on": str(shift.from_on), "level": 1.0}
    subject = f"shift {shift.quantity}"
    return Wanted(
        Advice.Kind.CHECK_GAUGE, subject, shift_words(shift), 90.0, shift.quantity, instrument=shift.instrument, evidence=evidence
    )

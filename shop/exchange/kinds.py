"""The kinds of files that are taken in: how each is looked at, written, judged and shown."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from django.utils import timezone

from calcs.quantities import QUANTITIES
from shop.exchange.actions import judge_imported, record_readings
from shop.exchange.hours_plan import hours_shown, plan_hours, record_sent_hours
from shop.exchange.plans import ReadRow
from shop.exchange.reading_plan import plan_readings
from shop.exchange.sample_actions import record_samples, sample_shown
from shop.exchange.samples_plan import plan_samples
from shop.measures import shown_with_unit, spoken


@dataclass(frozen=True)
class Kind:
    """How one kind of file is looked at (`plan`), written (`record`), worked on after (`judge`) and shown."""

    plan: Callable
    record: Callable
    judge: Callable
    shown: Callable
    headings: tuple[str, ...]
    noun: str


def reading_shown(row: ReadRow) -> list:
    """Return a reading as it was understood."""
    entry, quantity = row.entry, QUANTITIES[row.entry.quantity]
    what = f"{quantity.label}, {entry.direction}" if entry.direction else quantity.label
    when = f"{timezone.localtime(row.at):%Y-%m-%d %H:%M}"
    read = (f"{entry.typed} {spoken(entry.typed_unit)}", shown_with_unit(entry.value, quantity.kind))
    beside = (shown_with_unit(entry.oil_temp_c, "temperature"), entry.instrument.tag if entry.instrument else "–")
    return [row.line, row.unit.tag, row.machine.number, when, f"{row.hours.meter_h} h", what, *read, *beside]


def nothing_to_judge(made: list, say: Callable[[int, int], None]) -> None:
    """Say that it is done: nothing of this kind is judged."""
    say(len(made), len(made))


KINDS = {
    "readings": Kind(
        plan_readings,
        lambda *, choices, **given: record_readings(why_put_right=choices.put_right, **given),
        judge_imported,
        reading_shown,
        ("Line", "Drive", "Machine", "When", "Hours", "What was read", "As written", "Understood as", "Oil", "Gauge"),
        "readings",
    ),
    "hours": Kind(
        plan_hours,
        lambda *, choices, **given: record_sent_hours(**given),
        nothing_to_judge,
        hours_shown,
        ("Place", "Machine", "When", "As sent", "Understood as", "State"),
        "readings of hour meters",
    ),
    "samples": Kind(
        plan_samples,
        lambda *, choices, **given: record_samples(laboratory=choices.laboratory, **given),
        nothing_to_judge,
        sample_shown,
        ("Line", "Label as written", "Sample", "Machine", "Drawn", "Found"),
        "samples with results",
    ),
}

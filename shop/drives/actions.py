"""Acts on drives: a unit taken into the book, and what befell it."""

from datetime import date
from decimal import Decimal

from fleet.models import DriveUnit, UnitEvent
from fleet.unit_hours import component_h as hours_of_unit
from shop.acts import act
from shop.advice.review import review_drives
from shop.models import Counter


def add_drive(*, record: DriveUnit, form, words: str, by, token: str = "") -> DriveUnit:
    """Keep a new unit; without a tag it gets the next number."""
    with act(words, by=by, token=token) as frame:
        while not record.tag or DriveUnit.objects.filter(tag=record.tag).exists():
            record.tag = Counter.next_number("drive", "D")
        record.save()
        frame.made = record
    return record


def record_event(
    *, unit: DriveUnit, kind: str, happened_on: date, component_h: Decimal | None, quantities: list[str], note: str, by, token: str = ""
) -> UnitEvent:
    """Record that a unit was rebuilt, repaired or worked on; trends begin anew there."""
    with act(f"Drive {UnitEvent.Kind(kind).label.lower()}", by=by, token=token) as frame:
        hours = component_h if component_h is not None else hours_of_unit(unit, on=happened_on)
        frame.made = UnitEvent.objects.create(
            unit=unit, kind=kind, happened_on=happened_on, component_h=hours, quantities=quantities, note=note, recorded_by=by
        )
        review_drives([unit])
    return frame.made

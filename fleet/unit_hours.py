"""Hours of a unit through all its moves: at a figure of one machine, on a day, or now."""

from __future__ import annotations

from datetime import date, datetime
from decimal import Decimal

from django.utils import timezone

from fleet.judged_hours import life_h_at
from fleet.models import DriveUnit, Installation, Machine


def component_h(unit: DriveUnit, machine: Machine | None = None, life_h: Decimal | None = None, on: date | None = None) -> Decimal:
    """Return the hours of a unit through all its moves.

    With `machine` and `life_h`: when that machine had run so long. Without: on the day `on`, or now, by the last believed reading.
    """
    stays = list(unit.installations.select_related("machine").order_by("from_date", "pk"))
    return hours_over(unit, [stay for stay in stays if on is None or stay.from_date <= on], machine, life_h, on)


def hours_over(unit: DriveUnit, stays: list[Installation], machine=None, life_h=None, on: date | None = None) -> Decimal:
    """Return the hours of a unit over its stays in order; with machine and hours only up to that figure."""
    total = unit.hours_at_birth_h
    last = stay_at(stays, machine, life_h) if machine is not None else None
    for stay in stays:
        if stay == last:
            return total + _run_h(stay, life_h)
        total += _run_h(stay, None if _has_ended(stay, on) else life_h_at(stay.machine, _end_of(on)))
    return total


def hours_now(unit: DriveUnit, stays: list[Installation], life_h: dict[int, Decimal]) -> Decimal:
    """Return the hours of a unit over its stays till now, where the life hours of the machines are known already."""
    runs = (_run_h(stay, None if _has_ended(stay, None) else life_h.get(stay.machine_id, stay.from_life_h)) for stay in stays)
    return unit.hours_at_birth_h + sum(runs, Decimal(0))


def stay_at(stays: list[Installation], machine: Machine, life_h: Decimal) -> Installation | None:
    """Return which stay in a machine a figure of its life hours falls into."""
    here = [stay for stay in stays if stay.machine_id == machine.pk]
    begun = [stay for stay in here if stay.from_life_h <= life_h]
    return (begun or here or [None])[-1]


def _run_h(stay: Installation, life_h: Decimal | None) -> Decimal:
    end = stay.to_life_h if life_h is None else life_h if stay.to_life_h is None else min(life_h, stay.to_life_h)
    return max(end - stay.from_life_h, Decimal(0))


def _has_ended(stay: Installation, on: date | None) -> bool:
    return stay.to_date is not None and (on is None or stay.to_date <= on)


def _end_of(day: date | None) -> datetime | None:
    return timezone.make_aware(datetime.combine(day, datetime.max.time())) if day else None

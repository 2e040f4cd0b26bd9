"""The review with its suggestions: of the whole fleet by command, of one machine after what was read on it."""

import logging
from collections.abc import Iterable

from django.db import transaction
from django.utils import timezone

from fleet.metals import review_metals_of
from fleet.models import DriveUnit, Machine, WearGroup
from fleet.wear import quietly, review_fleet, review_unit
from shop.advice.actions import suggest

log = logging.getLogger(__name__)


def review_shop(say=quietly) -> int:
    """Judge the wear of the whole fleet and write the suggestions that follow; return how many states were kept."""
    kept = review_fleet(say)
    say(f"{suggest()} suggestions written")
    return kept


def review_after(machine: Machine) -> None:
    """Judge anew the drives that were tested in a machine, and its oil, by what the last review kept; before a first review there is nothing to do."""
    review_drives(DriveUnit.objects.filter(tests__machine=machine).distinct().order_by("pk"), machine)


def review_drives(units: Iterable[DriveUnit], machine: Machine | None = None) -> None:
    """Judge drives anew, and suggest what follows.

    It runs inside the act that wrote the readings, so both stand or neither. But readings are facts and this is opinion: should the reckoning
    itself fail, what it began is undone, the failure goes to the log, and the readings stay; the next review sees to the rest.
    """
    if not WearGroup.objects.exists():
        return
    units = list(units)
    try:
        with transaction.atomic():
            _review(units, machine)
    except Exception:
        log.exception("the wear of %s could not be judged anew; run the review", ", ".join(unit.tag for unit in units))


def _review(units: list[DriveUnit], machine: Machine | None) -> None:
    for unit in units:
        review_unit(unit)
    if machine is not None:
        review_metals_of(machine, timezone.now())
    suggest(units)

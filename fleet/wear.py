"""Judging the wear of the whole fleet in one pass, and of one drive from what the last pass kept."""

from collections.abc import Callable
from dataclasses import replace

import pandas as pd
from django.db import transaction
from django.utils import timezone

from calcs.forecast import hours_to_limit
from calcs.trend import FleetFit, fit_fleet, refresh
from fleet.metals import review_metals
from fleet.models import WearGauge, WearGroup, WearShift, WearState
from fleet.wear_keeping import BATCH, as_numbers, by_number, is_readable, keep_gauges, keep_groups, keep_shifts, kept_gauges, states_of
from fleet.wear_series import COLUMNS, WearSeries, wear_series
from fleet.wear_steps import in_shifts, part_at_jumps, without_shifts, words_of_state

PROBABILITIES = (0.1, 0.5, 0.9)
SAID = ["level_ratio", "slope_per_kh", "p_wearing", "n", "weight_own", "state", "last_step_p"]


def quietly(line: str) -> None:
    """Say nothing."""


def review_fleet(say: Callable[[str], None] = quietly) -> int:
    """Fit the fleet and keep what it says of every unit; return how many states were kept. All of it or nothing, same answer twice."""
    found = wear_series()
    say(f"{len(found.rows)} readings in {len(found.series)} series")
    fit = fit_fleet(found.rows[COLUMNS])
    say(f"fitted {len(fit.groups)} groups")
    found, fit, shifts = without_shifts(found, fit)
    series = _judged(found, fit)
    say(f"{int(series.jump_ratio.notna().sum())} records jump")
    now = timezone.now()
    with transaction.atomic():
        for kept in (WearState, WearGroup, WearGauge, WearShift):
            kept.objects.all().delete()
        groups = keep_groups(fit, now)
        keep_gauges(fit.gauges, now)
        states = states_of(series, groups, keep_shifts(shifts), now)
        WearState.objects.bulk_create(states, batch_size=BATCH)
        metals = review_metals(now)
    say(f"kept {len(states)} states of readings, {metals} of wear metals")
    return len(states)


def review_unit(unit) -> int:
    """Judge one unit anew from its readings and the numbers that the last review kept; return how many states were kept."""
    found = wear_series(unit.pk)
    kept = WearGroup.objects.filter(drive_model=unit.drive_model_id)
    groups = by_number(group for group in kept if is_readable(group.numbers))
    known = found.series.group.isin(list(groups))
    shifts = list(WearShift.objects.all())
    rows = found.rows[found.rows.group.isin(list(groups))]
    rows = rows[~in_shifts(rows, shifts)]
    with transaction.atomic():
        WearState.objects.filter(unit=unit).delete()
        if not known.any():
            return 0
        gauges = kept_gauges()
        fit = replace(
            refresh([as_numbers(group.numbers).as_row() for group in groups.values()], rows[COLUMNS], gauges=gauges), gauges=gauges
        )
        series = _judged(WearSeries(rows, found.series[known]), fit)
        states = states_of(series, groups, shifts, timezone.now())
        WearState.objects.bulk_create(states)
    return len(states)


def _judged(found: WearSeries, fit: FleetFit) -> pd.DataFrame:
    """Return every series with what the fit says of it and its hours to the limit; what jumped is judged from its jump on."""
    series = _told(found.series.assign(jump_from_h=float("nan"), jump_to_h=float("nan"), jump_on=pd.NaT, jump_ratio=float("nan")), fit)
    parted = part_at_jumps(found, fit)
    if len(parted.series):
        since = _told(parted.series, refresh(fit, parted.rows[COLUMNS], gauges=fit.gauges))
        series = pd.concat([series.drop(index=since.index), since[series.columns.tolist()]]).sort_index()
    return series.assign(word=words_of_state(series))


def _told(series: pd.DataFrame, fit: FleetFit) -> pd.DataFrame:
    hours = hours_to_limit(fit, series.limit_ratio, PROBABILITIES).reindex(series.index)
    return series.join(fit.series[SAID]).assign(low=hours[0.1], likely=hours[0.5], high=hours[0.9])

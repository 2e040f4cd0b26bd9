"""Judging the wear of the whole fleet in one pass, and of one drive from what the last pass kept."""

from collections.abc import Callable

import numpy as np
import pandas as pd
from django.db import transaction
from django.utils import timezone

from calcs.forecast import hours_to_limit
from calcs.trend import FleetFit, fit_fleet, refresh
from fleet.models import WearGroup, WearState
from fleet.wear_series import PLACE, WearSeries, group_number, group_of, wear_series

PROBABILITIES = (0.1, 0.5, 0.9)
COLUMNS = ["series", "group", "life_h", "ratio", "cv", "scale", "began", "instrument", "family"]
BATCH = 2000


def review_fleet(say: Callable[[str], None] = lambda line: None) -> int:
    """Fit the fleet and keep what it says of every unit; return how many states were kept. All of it or nothing, same answer twice."""
    found = wear_series()
    say(f"{len(found.rows)} readings in {len(found.series)} series")
    fit = fit_fleet(found.rows[COLUMNS])
    say(f"fitted {len(fit.groups)} groups")
    now = timezone.now()
    with transaction.atomic():
        WearState.objects.all().delete()
        WearGroup.objects.all().delete()
        groups = _keep_groups(fit, now)
        states = _states(found, fit, groups, now)
        WearState.objects.bulk_create(states, batch_size=BATCH)
    say(f"kept {len(states)} states")
    return len(states)


def review_unit(unit) -> int:
    """Judge one unit anew from its readings and the numbers that the last review kept; return how many states were kept."""
    found = wear_series(unit.pk)
    groups = by_number(WearGroup.objects.filter(drive_model=unit.drive_model))
    known = found.series.group.isin(list(groups))
    rows = found.rows[found.rows.group.isin(list(groups))]
    with transaction.atomic():
        WearState.objects.filter(unit=unit).delete()
        if not known.any():
            return 0
        fit = refresh([group.numbers for group in groups.values()], rows[COLUMNS].drop(columns="instrument"))
        states = _states(WearSeries(rows, found.series[known]), fit, groups, timezone.now())
        WearState.objects.bulk_create(states)
    return len(states)


def _keep_groups(fit: FleetFit, now) -> dict[int, WearGroup]:
    made = []
    for row in fit.group_rows():
        model_id, quantity = group_of(row["group"])
        numbers = fit.groups.loc[row["group"]]
        made.append(
            WearGroup(
                drive_model_id=model_id, quantity=quantity, numbers=row, units=int(numbers.n_series), reviewed_at=now,
                share_not_wearing=_plain(numbers.share_not_wearing), typical_life_h=_plain(numbers.typical_life_h),
                forecasts_tried=int(numbers.backtest_asked), forecasts_caught=int(numbers.backtest_caught),
            )
        )  # fmt: skip
    WearGroup.objects.bulk_create(made)
    return by_number(made)


def by_number(groups) -> dict[int, WearGroup]:
    return {group_number(group.drive_model_id, PLACE[group.quantity]): group for group in groups}


def _states(found: WearSeries, fit: FleetFit, groups: dict[int, WearGroup], now) -> list[WearState]:
    """Return the state of each unit, quantity and direction since its latest beginning."""
    series = found.series.join(fit.series[["level_ratio", "slope_per_kh", "p_wearing", "n", "weight_own", "state", "last_step_p"]])
    hours = hours_to_limit(fit, found.series.limit_ratio, PROBABILITIES).reindex(series.index)
    series = series.assign(low=hours[0.1], likely=hours[0.5], high=hours[0.9])
    latest = series.sort_values("epoch", kind="stable").drop_duplicates(["unit_id", "quantity", "direction"], keep="last").sort_index()
    return [_state(row, groups[row.group], now) for row in latest.itertuples()]


def _state(row, group: WearGroup, now) -> WearState:
    return WearState(
        unit_id=row.unit_id, group=group, quantity=row.quantity, direction=row.direction, began=row.began, began_h=row.from_h, readings=int(row.n),
        state="too few readings" if row.state == "too_few" else row.state, level_ratio=_plain(row.level_ratio), last_ratio=_plain(row.last_ratio),
        slope_per_kh=_plain(row.slope_per_kh), p_wearing=_plain(row.p_wearing), weight_own=_plain(row.weight_own), step_p=_plain(row.last_step_p),
        limit_ratio=_plain(row.limit_ratio), limit_source=row.limit_source[:200], has_basis=not pd.isna(row.likely), low_h=_plain(row.low),
        likely_h=_plain(row.likely), high_h=_plain(row.high), last_component_h=row.last_h, last_tested_on=row.last_at.date(), reviewed_at=now,
    )  # fmt: skip


def _plain(value) -> float | None:
    """Return a figure, or None where it is not known or beyond all sight (of hours, `has_basis` says which)."""
    return None if pd.isna(value) or not np.isfinite(value) else float(value)

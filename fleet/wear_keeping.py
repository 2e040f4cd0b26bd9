"""What a review keeps: numbers of groups, offsets of gauges, common shifts, states; written in bulk, worked out again at any time."""

from datetime import date, timedelta

import numpy as np
import pandas as pd

from calcs.group import GroupNumbers
from calcs.trend import FleetFit
from fleet.models import Instrument, WearGauge, WearGroup, WearShift, WearState
from fleet.wear_series import PLACE, group_number, group_of
from fleet.wear_steps import FIELDS, SPAN_DAYS

BATCH = 2000
NUMBERS = set(GroupNumbers.__dataclass_fields__)


def as_stored(numbers: GroupNumbers) -> dict:
    """Return numbers as a row that any database can keep: a figure that is not known is null."""
    return {name: plain(value) if isinstance(value, float) else value for name, value in numbers.as_row().items()}


def as_numbers(row: dict) -> GroupNumbers:
    return GroupNumbers.from_row({name: float("nan") if value is None else value for name, value in row.items()})


def is_readable(row: dict) -> bool:
    """Whether a row was kept by the calculation as it is today; one of an older edition waits for the next review."""
    return set(row) == NUMBERS


def keep_groups(fit: FleetFit, now) -> dict[int, WearGroup]:
    made = []
    for numbers in fit.numbers:
        model_id, quantity = group_of(numbers.group)
        made.append(
            WearGroup(
                drive_model_id=model_id, quantity=quantity, numbers=as_stored(numbers), units=int(numbers.n_series), reviewed_at=now,
                share_not_wearing=plain(numbers.share_not_wearing), typical_life_h=plain(numbers.typical_life_h),
                forecasts_tried=int(numbers.backtest_asked), forecasts_caught=int(numbers.backtest_caught),
            )
        )  # fmt: skip
    WearGroup.objects.bulk_create(made)
    return by_number(made)


def by_number(groups) -> dict[int, WearGroup]:
    return {group_number(group.drive_model_id, PLACE[group.quantity]): group for group in groups}


def keep_gauges(gauges: pd.DataFrame | None, now) -> None:
    """Keep the offsets; the frame names a gauge by quantity and tag."""
    tags = dict(Instrument.objects.values_list("tag", "pk"))
    made = []
    for name, row in gauges.iterrows() if gauges is not None else ():
        quantity, tag = name.split(" ", 1)
        made.append(
            WearGauge(
                quantity=quantity,
                instrument_id=tags[tag],
                offset=row.offset,
                uncertainty=row.uncertainty,
                readings=int(row.n),
                reviewed_at=now,
            )
        )
    WearGauge.objects.bulk_create(made)


def kept_gauges() -> pd.DataFrame | None:
    """Return the offsets as the fit takes them."""
    rows = list(WearGauge.objects.values_list("quantity", "instrument__tag", "offset", "uncertainty", "readings"))
    if not rows:
        return None
    index = pd.Index([f"{quantity} {tag}" for quantity, tag, *_ in rows], name="gauge")
    return pd.DataFrame([row[2:] for row in rows], columns=["offset", "uncertainty", "n"], index=index)


def keep_shifts(shifts: pd.DataFrame) -> list[WearShift]:
    tags = dict(Instrument.objects.values_list("tag", "pk"))
    made = []
    for row in shifts.itertuples():
        begun = date(1970, 1, 1) + timedelta(days=int(row.span))
        made.append(
            WearShift(
                quantity=row.quantity, from_on=begun, to_on=begun + timedelta(days=SPAN_DAYS - 1), units=int(row.units), mean_score=row.mean_score,
                instrument_id=tags.get(row.instrument),
            )
        )  # fmt: skip
    return WearShift.objects.bulk_create(made)


def states_of(series: pd.DataFrame, groups: dict[int, WearGroup], shifts: list[WearShift], now) -> list[WearState]:
    """Return the state of each unit, quantity and direction since its latest beginning."""
    latest = series.sort_values("epoch", kind="stable").drop_duplicates(["unit_id", "quantity", "direction"], keep="last").sort_index()
    spans: dict[str, list[WearShift]] = {}
    for shift in shifts:
        spans.setdefault(shift.quantity, []).append(shift)
    return [_state(row, groups[row.group], spans.get(row.quantity, ()), now) for row in latest.itertuples()]


def _state(row, group: WearGroup, shifts, now) -> WearState:
    day = row.last_at.date()
    jump = {name: plain(getattr(row, name)) for name in FIELDS if name != "jump_on"}
    return WearState(
        unit_id=row.unit_id, group=group, quantity=row.quantity, direction=row.direction, began=row.began, began_h=row.from_h, readings=int(row.n),
        state=row.word, level_ratio=plain(row.level_ratio), last_ratio=plain(row.last_ratio),
        slope_per_kh=plain(row.slope_per_kh), p_wearing=plain(row.p_wearing), weight_own=plain(row.weight_own), step_p=plain(row.last_step_p),
        limit_ratio=plain(row.limit_ratio), limit_source=row.limit_source[:200], has_basis=not pd.isna(row.likely), low_h=plain(row.low),
        likely_h=plain(row.likely), high_h=plain(row.high), last_component_h=row.last_h, last_tested_on=day, reviewed_at=now,
        jump_on=None if pd.isna(row.jump_on) else row.jump_on.date(), **jump,
        shift=next((shift for shift in shifts if shift.from_on <= day <= shift.to_on), None),
    )  # fmt: skip


def plain(value) -> float | None:
    """Return a figure, or None where it is not known or beyond all sight (of hours, `has_basis` says which)."""
    return None if pd.isna(value) or not np.isfinite(value) else float(value)

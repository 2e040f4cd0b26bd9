"""One quantity of one unit over its component hours: every reading, those that take part, the lines of each baseline, and the way to the limit."""

from dataclasses import dataclass
from datetime import date
from functools import cached_property

import numpy as np
import pandas as pd

from calcs.line import OwnLine, own_line
from calcs.quantities import QUANTITIES, Quantity
from calcs.wear_limits import worn_ratio
from fleet.models import ConditionAssessment, DriveUnit, UnitEvent, WearState
from fleet.wear_series import wear_series

FAR_AHEAD = 365.25 * 130  # days since 1970: no tick is dated after about 2100


@dataclass(frozen=True)
class Stretch:
    """Readings of one baseline, with the unit's own line through them where there are enough."""

    began: str
    from_h: float
    rows: pd.DataFrame
    line: OwnLine | None


@dataclass(frozen=True)
class LifeOfQuantity:
    quantity: Quantity
    direction: str
    stretches: tuple[Stretch, ...]
    left_out: pd.DataFrame
    events: tuple[UnitEvent, ...]
    state: WearState | None

    @property
    def title(self) -> str:
        return f"{self.quantity.label}{', ' + self.direction if self.direction else ''}"

    @property
    def last_h(self) -> float:
        rows = [s.rows.component_h.max() for s in self.stretches] + ([self.left_out.component_h.max()] if len(self.left_out) else [])
        return float(max(rows, default=0.0))

    @property
    def limit_ratio(self) -> float | None:
        return self.state.limit_ratio if self.state else worn_ratio(self.quantity.code)

    def day_at(self, hours: float) -> date | None:
        """Return about when the unit had, or will have, run so long: between its readings, and ahead at the pace of its record."""
        at, days = self._clock
        if len(at) < 2 or hours < at[0]:
            return None
        if hours <= at[-1]:
            return date.fromtimestamp(float(np.interp(hours, at, days)) * 86400)
        pace = (days[-1] - days[0]) / (at[-1] - at[0])
        ahead = days[-1] + (hours - at[-1]) * pace
        return date.fromtimestamp(ahead * 86400) if ahead < FAR_AHEAD else None

    @cached_property
    def _clock(self) -> tuple[np.ndarray, np.ndarray]:
        """Component hours of the readings beside their days since 1970."""
        known = self.all_rows.dropna(subset="component_h").drop_duplicates("component_h")
        return known.component_h.to_numpy(float), np.array([moment.timestamp() / 86400 for moment in known.tested_at])

    @cached_property
    def all_rows(self) -> pd.DataFrame:
        """Every reading in order, with `weight` 0 for those that take no part."""
        parts = [s.rows for s in self.stretches] + [self.left_out]
        return pd.concat(parts, ignore_index=True).sort_values(["component_h", "tested_at"], kind="stable")


def lives_of(unit: DriveUnit) -> list[LifeOfQuantity]:
    """Return every quantity and direction that was ever read on a unit, those that wear first; a fixed number of queries."""
    found = wear_series(unit.pk)
    states = {(s.quantity, s.direction): s for s in WearState.objects.filter(unit=unit).select_related("group")}
    events = tuple(sorted(unit.events.all(), key=lambda event: (event.happened_on, event.pk)))
    out = _left_out(unit)
    keys = {(q, d) for q, d in zip(found.rows.quantity, found.rows.direction, strict=True)}
    lives = [_life(found.rows, out, events, states.get(key), *key) for key in sorted(keys, key=_place)]
    return sorted(lives, key=lambda life: _urgency(life.state))


def _place(key: tuple[str, str]) -> tuple[int, str]:
    return list(QUANTITIES).index(key[0]), key[1]


def _urgency(state: WearState | None) -> tuple[int, float]:
    """Jumped and wearing first, among them the nearest limit."""
    rank = {"jumped": 0, "wearing": 0, "watch": 1, "steady": 2}.get(state.state if state else "", 3)
    return rank, np.inf if state is None or state.likely_h is None or rank else state.likely_h


def _life(rows, out, events, state, quantity: str, direction: str) -> LifeOfQuantity:
    mine = rows[(rows.quantity == quantity) & (rows.direction == direction)]
    stretches = tuple(_stretch(part) for epoch in _by_epoch(mine) for part in _parted(epoch, state))
    left = out[(out.quantity == quantity) & (out.direction == direction)]
    beside = events_at_jump(state, events)
    touching = tuple(event for event in events if event.touches(quantity) or event.kind == "noted" or event in beside)
    return LifeOfQuantity(QUANTITIES[quantity], direction, stretches, left, touching, state)


def events_at_jump(state: WearState | None, events) -> list[UnitEvent]:
    """Return what befell the unit between the two readings of a jump, whatever it was meant to touch."""
    if state is None or not state.has_jumped:
        return []
    return [event for event in events if state.jump_from_h <= float(event.component_h) <= state.jump_to_h]


def _by_epoch(rows: pd.DataFrame) -> list[pd.DataFrame]:
    return [part for _, part in rows.groupby("epoch", sort=True)]


def _parted(epoch: pd.DataFrame, state: WearState | None) -> list[pd.DataFrame]:
    """Return the readings of one baseline in one piece, or, where the record jumps in it, before and after."""
    if state is None or not state.has_jumped or epoch.from_h.iloc[0] != state.began_h or epoch.component_h.max() < state.jump_to_h:
        return [epoch]
    is_after = epoch.component_h >= state.jump_to_h
    return [part for part in (epoch[~is_after], epoch[is_after]) if len(part)]


def _stretch(part: pd.DataFrame) -> Stretch:
    part = part.sort_values(["life_h", "at"], kind="stable")
    share = np.where(part.cv > 0, part.cv, 0.02)
    line = own_line(part.life_h.to_numpy(), part.ratio.to_numpy(float), share, part.scale.iloc[0])
    rows = part.assign(weight=line.weight if line else 1.0, state="takes part")
    return Stretch(part.began.iloc[0], float(part.from_h.iloc[0]), rows, line)


def _left_out(unit: DriveUnit) -> pd.DataFrame:
    """Readings that stay visible and take no part: not comparable, suspect, impossible, hunting, marked not valid."""
    names = {
        "reading_id": "reading_id", "quantity": "reading__quantity", "direction": "reading__direction", "tested_at": "reading__drive_test__tested_at",
        "component_h": "reading__drive_test__component_h", "ratio": "ratio", "state": "state", "value": "reading__value",
        "stability": "reading__stability", "is_valid": "reading__is_valid",
    }  # fmt: skip
    rows = ConditionAssessment.objects.in_force().filter(reading__drive_test__unit=unit, reading__superseded_by=None)
    frame = pd.DataFrame.from_records(list(rows.values_list(*names.values())), columns=list(names))
    out = (
        frame.state.isin(["not comparable", "suspect instrument", "impossible"])
        | (frame.stability != "steady")
        | ~frame.is_valid.astype(bool)
    )
    frame = frame[out].assign(weight=0.0, cv=np.nan)
    return frame.astype({"component_h": float, "ratio": float})

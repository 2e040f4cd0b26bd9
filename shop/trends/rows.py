"""Rows of the wear pages: drives ranked by hours to their limit, drives that are not known, drive models side by side."""

from dataclasses import dataclass
from datetime import date

import numpy as np
import pandas as pd
from django.utils import timezone

from calcs.calendar_sums import as_date
from calcs.day_reached import date_reached
from calcs.quantities import QUANTITIES
from fleet.models import ConditionAssessment, DriveModel, DriveUnit, Machine, WearState
from shop.due.fleet_facts import fleet_hours, stamp_of_facts
from shop.printing.picture import Picture
from shop.trends.chart import wear_picture
from shop.trends.life_of_quantity import LifeOfQuantity, lives_of
from shop.trends.words import band_words, next_that_decides, score_words, story_of

FEWEST_SIDE_BY_SIDE = 5


@dataclass(frozen=True)
class WearRow:
    """One drive with the quantity that brings it to its limit first."""

    unit: DriveUnit
    machine: Machine | None
    state: WearState
    word: str
    quantity: str
    band: str
    score: str
    likely_on: date | None
    others: int


@dataclass(frozen=True)
class WearChart:
    life: LifeOfQuantity
    large: Picture
    small: Picture
    story: str
    what_next: str
    rows: list

    @property
    def is_open(self) -> bool:
        """Whether the picture is shown at once; what is steady waits behind its line."""
        return self.life.state is None or self.life.state.state in ("wearing", "watch")


def ranked(filters: dict) -> list[WearRow]:
    """Return one row a unit, nearest to its limit first, with a fixed number of queries."""
    states = WearState.objects.ranked().select_related("group")
    units = DriveUnit.objects.with_place()
    if "customer" in filters:
        units = units.filter(installations__to_date=None, installations__machine__customer=filters["customer"])
    if "drive_model" in filters:
        units = units.filter(drive_model=filters["drive_model"])
    found = units.in_bulk()
    rows: dict[int, list[WearState]] = {}
    for state in states:
        if state.unit_id in found:
            rows.setdefault(state.unit_id, []).append(state)
    places = {pk: found[pk].places[0].machine if found[pk].places else None for pk in rows}
    leaders = {pk: leader(states) for pk, states in rows.items()}
    days = days_at_limit([(places[pk], state) for pk, state in leaders.items()])
    made = [
        WearRow(
            unit=found[pk], machine=places[pk], state=state, word=state.state, quantity=quantity_words(state), band=band_words(state),
            score=score_words(state.group), likely_on=day, others=sum(s.state == "wearing" for s in rows[pk] if s is not state),
        )
        for (pk, state), day in zip(leaders.items(), days, strict=True)
    ]  # fmt: skip
    wanted = filters.get("state")
    return [row for row in sorted(made, key=nearness) if not wanted or row.word == wanted]


def leader(states: list[WearState]) -> WearState:
    """Return the state that speaks for its unit: wearing before watch before steady, then the nearest limit."""
    rank = {"wearing": 0, "watch": 1, "steady": 2}
    return min(states, key=lambda s: (rank.get(s.state, 3), np.inf if s.likely_h is None else s.likely_h, s.pk))


def nearness(row: WearRow):
    rank = {"wearing": 0, "watch": 1, "steady": 2}.get(row.word, 3)
    hours = row.state.likely_h
    return rank, np.inf if hours is None else hours, row.unit.tag


def quantity_words(state: WearState) -> str:
    return f"{QUANTITIES[state.quantity].label}{', ' + state.direction if state.direction else ''}"


def days_at_limit(pairs: list[tuple[Machine | None, WearState]]) -> list[date | None]:
    """Return the day each machine is likely to reach those hours, from its own use."""
    hours = fleet_hours(stamp_of_facts())
    place = {pk: row for row, pk in enumerate(hours.machines.pk)}
    known = [(k, place[m.pk], s) for k, (m, s) in enumerate(pairs) if m and m.pk in place and s.likely_h is not None]
    out: list[date | None] = [None] * len(pairs)
    if known:
        last = [max(s.last_tested_on, date(1990, 1, 1)) for _, _, s in known]
        band = date_reached(
            hours.usage, [row for _, row, _ in known], np.array(last, "datetime64[D]"), 0.0, [s.likely_h for _, _, s in known]
        )
        for (k, _, _), day in zip(known, band.likely, strict=True):
            out[k] = as_date(day)
    return out


def wear_charts(unit: DriveUnit) -> list[WearChart]:
    """Return every quantity of a unit as picture, table and words."""
    return [_chart(life) for life in lives_of(unit)]


def _chart(life: LifeOfQuantity) -> WearChart:
    state = life.state
    return WearChart(
        life=life,
        large=wear_picture(life),
        small=wear_picture(life, "small"),
        story=story_of(state) if state and state.level_ratio is not None else "Too few readings that can be judged.",
        what_next=next_that_decides(state) if state else "",
        rows=table_rows(life),
    )


def table_rows(life: LifeOfQuantity) -> list[dict]:
    """Return the readings of a picture as a table, latest first."""
    frame = life.all_rows.iloc[::-1]
    return [
        {
            "component_h": row.component_h, "on": row.tested_at, "value": row.value, "ratio": None if pd.isna(row.ratio) else row.ratio,
            "uncertainty": None if pd.isna(row.cv) else 2 * row.cv * row.value, "weight": row.weight, "state": row.state, "reading_id": row.reading_id,
        }
        for row in frame.itertuples()
    ]  # fmt: skip


def side_by_side(drive_model: DriveModel, quantity: str) -> list[tuple[DriveUnit, float, date]]:
    """Return the latest reading of each unit of a model as a ratio to a new drive; suspects and what cannot be compared are left out."""
    latest = (
        ConditionAssessment.objects.in_force()
        .filter(
            reading__drive_test__unit__drive_model=drive_model, reading__quantity=quantity, reading__superseded_by=None, ratio__isnull=False
        )
        .exclude(state__in=["not comparable", "suspect instrument", "impossible"])
        .order_by("reading__drive_test__unit_id", "-reading__drive_test__tested_at", "-pk")
        .values_list("reading__drive_test__unit_id", "ratio", "reading__drive_test__tested_at")
    )
    first: dict[int, tuple] = {}
    for unit_id, ratio, at in latest:
        first.setdefault(unit_id, (ratio, timezone.localtime(at).date()))
    units = DriveUnit.objects.in_bulk(list(first))
    return sorted(((units[pk], ratio, on) for pk, (ratio, on) in first.items()), key=lambda row: -row[1])

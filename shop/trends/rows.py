"""Rows of the wear pages: drives ranked by hours to their limit, drives that are not known, drive models side by side."""

from collections import Counter
from dataclasses import dataclass
from datetime import date

import numpy as np
import pandas as pd
from django.db.models import Case, F, When
from django.utils import timezone

from calcs.calendar_sums import as_date
from calcs.day_reached import date_reached
from calcs.quantities import QUANTITIES
from fleet.models import ConditionAssessment, DriveModel, DriveUnit, Installation, Machine, MetalState, WearState
from shop.due.fleet_facts import fleet_hours, stamp_of_facts
from shop.models import Advice
from shop.printing.picture import Picture
from shop.trends.chart import wear_picture
from shop.trends.life_of_quantity import LifeOfQuantity, events_at_jump, lives_of
from shop.trends.metals import NAMES, metal_charts
from shop.trends.words import band_words, events_words, next_that_decides, score_words, story_of

FEWEST_SIDE_BY_SIDE = 5
LEAKS_AND_PRESSURES = [code for code, quantity in QUANTITIES.items() if quantity.kind in ("flow", "pressure")]


@dataclass(frozen=True)
class WearRow:
    """One drive with the quantity that brings it to its limit first."""

    unit: DriveUnit
    machine: Machine | None
    state: WearState
    quantity: str
    band: str
    score: str
    likely_on: date | None
    others: int
    metals: str

    @property
    def word(self) -> str:
        return self.state.state

    @property
    def wears_not(self) -> bool:
        return self.word == "steady" and self.state.likely_h is None

    @property
    def when(self) -> str:
        """Return about when the limit is reached at the machine's own use, where it is not reached already."""
        if self.likely_on is None or self.state.likely_h < 10:
            return ""
        return "by now, at its own use" if self.likely_on <= timezone.localdate() else f"about {self.likely_on:%b %Y} at its own use"


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
        return self.life.state is None or self.life.state.state in ("jumped", "wearing", "watch")


def ranked(filters: dict):
    """Return the leading state of each unit, two independent signs first, then by gravity, nearest to its limit first."""
    states = WearState.objects.exclude(unit__keeping=DriveUnit.Keeping.SCRAPPED)
    if "customer" in filters:
        states = states.filter(unit__installations__to_date=None, unit__installations__machine__customer=filters["customer"])
    if "drive_model" in filters:
        states = states.filter(unit__drive_model=filters["drive_model"])
    leading = states.leading()
    if "state" in filters:
        leading = leading.filter(state=filters["state"])
    joint = Case(When(unit__in=units_with_two_signs(), then=0), default=1)
    return leading.select_related("group").order_by(joint, "gravity", F("likely_h").asc(nulls_last=True), "unit__tag")


def units_with_two_signs():
    """Drives whose leak or pressure wears or jumped while metal rises in the oil of the machine they are in: signs that know nothing of each other."""
    running = Installation.objects.running().filter(machine__in=MetalState.objects.rising().order_by().values("machine"))
    firm = WearState.objects.filter(state__in=("jumped", "wearing"), quantity__in=LEAKS_AND_PRESSURES)
    return firm.filter(unit__in=running.values("unit")).values("unit")


def wear_rows(states) -> list[WearRow]:
    """Return the rows of a page of leading states, with a fixed number of queries."""
    states = list(states)
    units = DriveUnit.objects.with_place().in_bulk([state.unit_id for state in states])
    places = [units[s.unit_id].places[0].machine if units[s.unit_id].places else None for s in states]
    days = days_at_limit(list(zip(places, states, strict=True)))
    others = Counter(WearState.objects.filter(unit__in=units, state__in=("jumped", "wearing")).values_list("unit", flat=True))
    metals = metals_rising([machine.pk for machine in places if machine])
    return [
        WearRow(
            unit=units[state.unit_id], machine=machine, state=state, quantity=quantity_words(state), band=band_words(state),
            score=score_words(state.group), likely_on=day, others=others[state.unit_id] - (state.state in ("jumped", "wearing")),
            metals=metals.get(machine.pk, "") if machine and state.state in ("jumped", "wearing") else "",
        )
        for state, machine, day in zip(states, places, days, strict=True)
    ]  # fmt: skip


def metals_rising(machine_ids) -> dict[int, str]:
    """Return by machine the names of the metals that rise in its oil."""
    found: dict[int, list[str]] = {}
    for state in MetalState.objects.rising().filter(machine__in=machine_ids):
        found.setdefault(state.machine_id, []).append(NAMES[state.metal].lower())
    return {pk: ", ".join(names) for pk, names in found.items()}


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


def wear_of_drive(unit: DriveUnit, machine: Machine | None) -> dict:
    """Return what the page of a drive shows of its wear: every quantity, the metals in the oil of its machine, the suggestions that stand."""
    has_both = machine is not None and units_with_two_signs().filter(unit=unit).exists()
    return {
        "wear_charts": wear_charts(unit),
        "metal_charts": metal_charts(machine),
        "two_signs": metals_rising([machine.pk]).get(machine.pk, "") if has_both else "",
        "suggestions": Advice.objects.open().with_places().filter(unit=unit),
    }


def wear_charts(unit: DriveUnit) -> list[WearChart]:
    """Return every quantity of a unit as picture, table and words."""
    return [_chart(life) for life in lives_of(unit)]


def _chart(life: LifeOfQuantity) -> WearChart:
    state = life.state
    return WearChart(
        life=life,
        large=wear_picture(life),
        small=wear_picture(life, "small"),
        story=_story(life),
        what_next=next_that_decides(state) if state else "",
        rows=table_rows(life),
    )


def _story(life: LifeOfQuantity) -> str:
    if life.state is None or life.state.level_ratio is None:
        return "Too few readings that can be judged."
    return f"{story_of(life.state)} {events_words(events_at_jump(life.state, life.events))}".strip()


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

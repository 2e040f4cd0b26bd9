"""Machines of the fleet, their last accepted hours, how they run through the year, and their season blocks; read in bulk."""

import json
from dataclasses import dataclass, replace
from datetime import date
from functools import lru_cache

import numpy as np
import pandas as pd
from django.core.exceptions import EmptyResultSet
from django.db import connection
from django.db.models import FloatField, Max, Q, TextField
from django.db.models.functions import Cast
from django.utils import timezone

from calcs.season import Block
from calcs.season import yearly_blocks as every_year
from calcs.usage import KIND_MONTH_H, PooledRates, UsageTable, pooled_rates, usage_in_pool
from fleet.models import HourMeter, HourReading, Machine
from shop.due.among import Among  # noqa: F401, its import makes the filter known
from shop.due.since import HOURS, READ, Stamp, Touched, followed, stamp_of
from shop.models import SeasonBlock

KINDS = sorted(KIND_MONTH_H)
SAID_OTHERWISE = {"forage": "forage harvester"}
FEW_READINGS = 5000
ON = ("day", "life_h")


@dataclass(frozen=True)
class Pool:
    """What the fleet taught about its kinds and customers, from readings up to one number; and the group of each kind and customer."""

    limit: int
    rates: PooledRates
    groups: dict[tuple[int, int], int]


@dataclass(frozen=True)
class FleetHours:
    """Machines in use, by row; their last accepted hours; and how they run through the year."""

    machines: pd.DataFrame
    usage: UsageTable
    pool: Pool


def frame(queryset, *names: str) -> pd.DataFrame:
    """Return columns as the database hands them over, text and plain numbers: an object made for each of a million cells takes seconds."""
    return pd.DataFrame.from_records(_rows(queryset.values_list(*names), len(names)), columns=[name.replace("__", "_") for name in names])


def _rows(queryset, width: int) -> list[tuple]:
    try:
        sql, given = queryset.query.sql_with_params()
    except EmptyResultSet:  # a list of keys that holds none
        return []
    with connection.cursor() as cursor:
        cursor.execute(sql, given)
        found = cursor.fetchall()
    return found if not found or len(found[0]) == width else [row[:width] for row in found]  # the database adds what it sorts by


@lru_cache(maxsize=4096)
def listed(text: str | None) -> tuple:
    """Return what a list in a column holds, from its text."""
    return tuple(json.loads(text)) if text else ()


def days(values) -> np.ndarray:
    """Return dates or moments, or their text, as days; missing stays missing."""
    return pd.to_datetime(pd.Series(values), utc=True, format="ISO8601").dt.tz_localize(None).to_numpy().astype("datetime64[D]")


def local_days(values) -> np.ndarray:
    """Return moments, or their text in UTC, as days of the shop's own clock; missing stays missing."""
    moments = pd.to_datetime(pd.Series(values), utc=True, format="ISO8601").dt.tz_convert(timezone.get_default_timezone())
    return moments.dt.tz_localize(None).to_numpy().astype("datetime64[D]")


def stamp_of_facts() -> Stamp:
    return stamp_of(READ)


def fleet_hours(stamp: Stamp | None = None) -> FleetHours:
    """Machines, last hours and use by month; worked out anew for machines that were written about."""
    return followed("fleet hours", HOURS, None, _whole, _patched)


def _whole() -> FleetHours:
    machines, confirmed = _machines(), _confirmed(Q())
    limit = pool_limit(HourReading.objects.aggregate(last=Max("pk"))["last"] or 0)
    readings = confirmed[confirmed.put_right_by.isna()]
    stood = (confirmed.pk <= limit) & ~(confirmed.put_right_by <= limit)
    pool = _pool(machines, _placed(confirmed[stood], machines), limit)
    return FleetHours(_with_hours(machines, readings), _usage(machines, readings, pool), pool)


def pool_limit(last: int) -> int:
    """Return up to which reading the fleet teaches its kinds: all while there are few, else anew with each sixty-fourth more.

    A rule that depends on nothing but the readings, so that two servers say the same.
    """
    step = 1 if last < FEW_READINGS else 2 ** (last.bit_length() - 7)
    return last // step * step


def _patched(before: FleetHours, touched: Touched) -> FleetHours | None:
    """Return the fleet with the machines written about put right; None where it must be read as a whole."""
    changed = touched.machines
    last = HourReading.objects.aggregate(last=Max("pk"))["last"] or 0
    place = pd.Series(np.arange(len(before.machines)), index=before.machines.pk).reindex(sorted(changed))
    if pool_limit(last) != before.pool.limit or place.isna().any():
        return None
    place = place.to_numpy(int)
    some = _machines(changed)
    readings = _confirmed(Q(meter__machine__among=changed, superseded_by=None))
    usage = _usage(some, readings, before.pool)
    machines = before.machines.copy()
    machines.loc[place] = _with_hours(some, readings).set_index(pd.Index(place))
    return replace(before, machines=machines, usage=_spliced(before.usage, place, usage))


def _spliced(whole: UsageTable, place: np.ndarray, part: UsageTable) -> UsageTable:
    made = {name: getattr(whole, name).copy() for name in ("month_h", "spread", "basis", "days_seen")}
    for name, values in made.items():
        values[place] = getattr(part, name)
    return UsageTable(**made)


def _machines(only: set[int] | None = None) -> pd.DataFrame:
    """Return machines in use by number, with their kind as the sums know it."""
    found = Machine.objects.in_use() if only is None else Machine.objects.in_use().filter(pk__among=only)
    machines = frame(found.order_by("pk"), "pk", "number", "kind", "customer_id", "site__region", "severity")
    machines["severity"] = machines.severity.map(listed)
    said = machines.kind.replace(SAID_OTHERWISE).map({name: k for k, name in enumerate(KINDS)})
    machines["kind_number"] = said.fillna(KINDS.index("other")).astype(int)
    meters = HourMeter.objects.filter(kind="engine").order_by("fitted_on")
    first = frame(meters if only is None else meters.filter(machine__among=only), "machine_id", "fitted_on").drop_duplicates("machine_id")
    machines["begun"] = days(first.set_index("machine_id").fitted_on.reindex(machines.pk))
    return machines


def _confirmed(which: Q) -> pd.DataFrame:
    """Return confirmed readings of engine meters, those put right later as well: number, by which put right, machine, day, hours.

    Moments come as text: a quarter of a million of them, made one by one, take seconds.
    """
    found = HourReading.objects.filter(which, is_confirmed=True, meter__kind="engine").order_by()
    plain = found.annotate(at=Cast("read_at", TextField()), run_h=Cast("life_h", FloatField()))
    rows = frame(plain, "pk", "superseded_by", "meter__machine_id", "at", "run_h")
    rows = rows.rename(columns={"superseded_by": "put_right_by", "meter_machine_id": "machine_id", "run_h": "life_h"})
    return rows.drop(columns="at").assign(
        day=local_days(rows["at"]), put_right_by=rows.put_right_by.astype(float), life_h=rows.life_h.astype(float)
    )


def _placed(readings: pd.DataFrame, machines: pd.DataFrame):
    """Return row of machine, day and hours of the readings of these machines."""
    place = pd.Series(np.arange(len(machines)), index=machines.pk).reindex(readings.machine_id).to_numpy(float)
    known = ~np.isnan(place)
    return place[known].astype(int), readings.day.to_numpy().astype("datetime64[D]")[known], readings.life_h.to_numpy(float)[known]


def _pool(machines: pd.DataFrame, placed, limit: int) -> Pool:
    pairs = list(zip(machines.kind_number, machines.customer_id, strict=True))
    groups = {pair: k for k, pair in enumerate(sorted(set(pairs)))}
    group = np.array([groups[pair] for pair in pairs], int)
    rates = pooled_rates(*placed, machines.kind_number.to_numpy(int), group, [KIND_MONTH_H[name] for name in KINDS])
    return Pool(limit, rates, groups)


def _usage(machines: pd.DataFrame, readings: pd.DataFrame, pool: Pool) -> UsageTable:
    pairs = zip(machines.kind_number, machines.customer_id, strict=True)
    group = np.array([pool.groups.get(pair, -1) for pair in pairs], int)
    return usage_in_pool(*_placed(readings, machines), machines.kind_number.to_numpy(int), group, pool.rates)


def _with_hours(machines: pd.DataFrame, readings: pd.DataFrame) -> pd.DataFrame:
    last = readings.sort_values(["day", "life_h"]).drop_duplicates("machine_id", keep="last").set_index("machine_id").reindex(machines.pk)
    return machines.assign(reading_h=last.life_h.to_numpy(float), reading_day=last.day.to_numpy().astype("datetime64[D]"))


def season_blocks(machines: pd.DataFrame, today: date) -> list[list[Block]]:
    """Return for each machine, in order, the blocks that hold for it; machines alike share the list."""
    blocks = list(SeasonBlock.objects.filter(is_retired=False))
    like = list(zip(machines.customer_id, machines.kind, machines.site_region.fillna(""), strict=True))
    days_of = {block.pk: block_days(block, years_round(today)) for block in blocks}
    of_like = {key: _blocks_for(blocks, days_of, *key) for key in set(like)}
    return [of_like[key] for key in like]


def _blocks_for(blocks, days_of: dict[int, list[Block]], customer: int, kind: str, region: str) -> list[Block]:
    found = []
    for block in blocks:
        if (
            block.customer_id in (None, customer)
            and block.machine_kind in ("", kind)
            and block.region.casefold() in ("", region.casefold())
        ):
            found += days_of[block.pk]
    return found


def years_round(today: date) -> range:
    """Return last year, this one and the two to come: what a season that returns is looked at for."""
    return range(today.year - 1, today.year + 3)


def block_days(block: SeasonBlock, years: range) -> list[Block]:
    """Return a season block as days: as it stands, or as it returns in some years."""
    if not block.repeats_yearly:
        return [Block(block.name, block.from_date, block.to_date)]
    first, last = (block.from_date.month, block.from_date.day), (block.to_date.month, block.to_date.day)
    return every_year(block.name, first, last, years)

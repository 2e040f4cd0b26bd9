"""The facts that make tasks due, read in bulk for the whole fleet: machines, rules, hours, what was done, what was put off."""

from dataclasses import dataclass
from datetime import date

import numpy as np
import pandas as pd

from calcs.season import Block, BlockTable, block_table
from calcs.season import yearly_blocks as every_year
from calcs.usage import KIND_MONTH_H, UsageTable, usage_table
from fleet.models import FluidFill, HourMeter, HourReading, Installation, Machine
from shop.kept import keep, latest_hashes
from shop.models import Deferral, Extension, Finding, IntervalRule, SeasonBlock, ServiceTask, SeverityFactor, TaskDone

READ = (
    Machine, HourMeter, HourReading, Installation, IntervalRule, ServiceTask, SeverityFactor, TaskDone, Deferral, Extension, Finding, SeasonBlock,
    FluidFill,
)  # fmt: skip


@dataclass(frozen=True)
class FleetHours:
    """Machines in use, by row; their last accepted hours; and how they run through the year."""

    machines: pd.DataFrame
    usage: UsageTable


def frame(queryset, *names: str) -> pd.DataFrame:
    return pd.DataFrame.from_records(list(queryset.values_list(*names)), columns=[name.replace("__", "_") for name in names])


def days(values) -> np.ndarray:
    """Return dates or moments as days; missing stays missing."""
    return pd.to_datetime(pd.Series(values), utc=True).dt.tz_localize(None).to_numpy().astype("datetime64[D]")


def stamp_of_facts() -> tuple[str, ...]:
    return latest_hashes(READ)


def fleet_hours(stamp: tuple[str, ...]) -> FleetHours:
    """Machines, last hours and use by month; kept until hours, meters or machines change."""
    return keep("fleet hours", stamp[:3], _read_hours)


def _read_hours() -> FleetHours:
    machines = frame(Machine.objects.in_use(), "pk", "number", "kind", "customer_id", "site__region", "severity")
    rows = frame(
        HourReading.objects.accepted().filter(meter__kind="engine", meter__machine__status="in_use"),
        "meter__machine_id",
        "read_at",
        "life_h",
    )
    place = pd.Series(np.arange(len(machines)), index=machines.pk)
    machine = place.reindex(rows.meter_machine_id).to_numpy(int) if len(rows) else np.zeros(0, int)
    day, life_h = days(rows.read_at), rows.life_h.astype(float).to_numpy()
    kinds = sorted(KIND_MONTH_H)
    kind = machines.kind.map({name: k for k, name in enumerate(kinds)}).fillna(kinds.index("other")).to_numpy(int)
    customer = np.unique(machines.customer_id, return_inverse=True)[1] if len(machines) else np.zeros(0, int)
    usage = usage_table(machine, day, life_h, kind, customer, [KIND_MONTH_H[name] for name in kinds])
    last = pd.DataFrame({"machine": machine, "day": day, "life_h": life_h}).sort_values(["day", "life_h"]).groupby("machine").last()
    machines["reading_h"] = last.life_h.reindex(range(len(machines))).to_numpy(float)
    machines["reading_day"] = last.day.reindex(range(len(machines))).to_numpy().astype("datetime64[D]")
    first = frame(HourMeter.objects.filter(kind="engine").order_by("fitted_on"), "machine_id", "fitted_on").drop_duplicates("machine_id")
    machines["begun"] = days(first.set_index("machine_id").fitted_on.reindex(machines.pk))
    return FleetHours(machines, usage)


def season_blocks(machines: pd.DataFrame, today: date) -> tuple[BlockTable, dict[int, list[Block]]]:
    """Return the season blocks of every machine; machines of one customer, kind and region share theirs."""
    blocks = list(SeasonBlock.objects.filter(is_retired=False))
    like, which = np.unique(
        machines.customer_id.astype(str) + "|" + machines.kind + "|" + machines.site_region.fillna(""), return_inverse=True
    )
    of_like = [_blocks_for(blocks, *key.split("|", 2), today) for key in like]
    table = block_table(of_like)
    return BlockTable(table.start[which], table.end[which]), {row: of_like[k] for row, k in enumerate(which)}


def _blocks_for(blocks, customer: str, kind: str, region: str, today: date) -> list[Block]:
    found = []
    for block in blocks:
        if (
            block.customer_id in (None, int(customer))
            and block.machine_kind in ("", kind)
            and block.region.casefold() in ("", region.casefold())
        ):
            found += block_days(block, today)
    return found


def block_days(block: SeasonBlock, today: date) -> list[Block]:
    """Return a season block as days: as it stands, or for last year, this one and the two to come where it returns."""
    if not block.repeats_yearly:
        return [Block(block.name, block.from_date, block.to_date)]
    first, last = (block.from_date.month, block.from_date.day), (block.to_date.month, block.to_date.day)
    return every_year(block.name, first, last, range(today.year - 1, today.year + 3))

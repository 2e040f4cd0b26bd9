"""What will be wanted by when: litres by product, filters by number, hours of labour, less what is on the shelf."""

from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from calcs.demand import demand_by_week, to_order
from shop.due.fleet_due import FleetDue
from shop.due.rows import due_rows
from shop.plan.kits import Kits
from shop.plan.weeks import ANY_WORK, mondays_from
from shop.plan.work import interval_days

KINDS = (("L", "Litres by product"), ("pc", "Parts by number"), ("h", "Hours of labour by skill"))


@dataclass(frozen=True)
class Wanted:
    """One item: what is wanted by the end of each week as (its last day, low, likely, high), what is there, and what is short in the end."""

    item: str
    unit: str
    weeks: list[tuple[date, float, float, float]]
    in_hand: float | None
    short: tuple[float, float, float]


def demand(due: FleetDue, first: date, weeks: int) -> list[tuple[str, list[Wanted]]]:
    """Return what is wanted, in three groups, each item by week."""
    mondays = np.array(mondays_from(first, weeks), "datetime64[D]")
    until = mondays[-1] + 6
    low = due.rows.due_low.to_numpy().astype("datetime64[D]") if len(due.rows) else np.array([], "datetime64[D]")
    rows = due_rows(due, np.flatnonzero(~np.isnat(low) & (low <= until)))
    kits = Kits(rows)
    needs = [need for row in rows for need in _needs_of(row, kits)]
    if not needs:
        return []
    return _grouped(due, needs, mondays, kits)


def _needs_of(row, kits: Kits) -> list[tuple]:
    """Return item, unit, quantity and row for everything one task takes."""
    needs = [((row.task.skill.name if row.task.skill else ANY_WORK).capitalize(), "h", float(row.task.work_h), row)]
    needs += [(f"{part.number} {part.name}", part.unit or "pc", quantity, row) for part, quantity in kits.of(row)]
    litres = kits.litres(row)
    return needs + ([(litres[0], "L", litres[1], row)] if litres else [])


def _grouped(due: FleetDue, needs, mondays, kits: Kits) -> list[tuple[str, list[Wanted]]]:
    item = [f"{unit}|{name}" for name, unit, _, _ in needs]
    quantity = [amount for _, _, amount, _ in needs]
    days = [np.array([_day(row, end) for *_, row in needs], "datetime64[D]") for end in ("low", "likely", "high")]
    every = np.array([interval_days(due, row) for *_, row in needs])
    table = demand_by_week(item, quantity, *days, mondays, every)
    names = sorted(set(item))
    in_hand = {name: kits.stock.get(name.split("|", 1)[1].split(" ", 1)[0], 0.0) for name in names if name.split("|")[0] not in ("h", "L")}
    short = to_order(table, in_hand)
    out = []
    for unit, title in KINDS:
        mine = [name for name in names if (name.split("|")[0] == unit) or (unit == "pc" and name.split("|")[0] not in ("h", "L"))]
        out.append((title, [_wanted(name, table, short, in_hand) for name in mine]))
    return [(title, rows) for title, rows in out if rows]


def _day(row, end: str):
    """Return one end of the band of days in which a task falls due; the calendar caps it."""
    day = {"low": row.due_low, "likely": row.due_day, "high": row.due_high}[end]
    return np.datetime64(day if day else "NaT", "D")


def _wanted(name: str, table, short, in_hand) -> Wanted:
    unit, item = name.split("|", 1)
    rows = table.loc[name]
    figures = rows[["low", "likely", "high"]].to_numpy()
    weeks = [(monday.date() + timedelta(days=6), *map(float, row)) for monday, row in zip(rows.index, figures, strict=True)]
    last = tuple(float(value) for value in short.loc[name].to_numpy()[-1])
    return Wanted(item, unit, weeks, in_hand.get(name), last)


def week_ends(first: date, weeks: int) -> list[date]:
    return [monday + timedelta(days=6) for monday in mondays_from(first, weeks)]

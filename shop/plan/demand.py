"""What will be wanted by when: litres by product, filters by number, hours of labour, less what is on the shelf."""

from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from calcs.demand import demand_by_week, to_order
from shop.due.fleet_due import FleetDue
from shop.due.rows import intervals_days
from shop.models import IntervalRule, ServiceTask
from shop.plan.kits import Kits
from shop.plan.weeks import ANY_WORK, mondays_from

KINDS = (("L", "Litres by product"), ("pc", "Parts by number"), ("h", "Hours of labour by skill"))


@dataclass(frozen=True)
class Wanted:
    """One item: what is wanted by the end of each week as (its last day, low, likely, high), what is there, and what is short in the end."""

    item: str
    unit: str
    weeks: list[tuple[date, float, float, float]]
    in_hand: float | None
    short: tuple[float, float, float]


@dataclass(frozen=True)
class Keyed:
    """A machine by its key alone."""

    pk: int


@dataclass(frozen=True)
class Want:
    """A task on a machine, without the words that only a list needs."""

    machine: Keyed
    task: ServiceTask


def demand(due: FleetDue, first: date, weeks: int) -> list[tuple[str, list[Wanted]]]:
    """Return what is wanted, in three groups, each item by week."""
    mondays = np.array(mondays_from(first, weeks), "datetime64[D]")
    if not len(due.rows):
        return []
    places = np.flatnonzero(due.rows.due_low.to_numpy().astype("datetime64[D]") <= mondays[-1] + 6)
    wants = _wants(due, places)
    kits = Kits(wants)
    needs = [(row, need) for row, want in enumerate(wants) for need in _needs_of(want, kits)]
    return _grouped(due, places, needs, mondays, kits) if needs else []


def _wants(due: FleetDue, places: np.ndarray) -> list[Want]:
    part = due.rows.iloc[places]
    tasks = ServiceTask.objects.select_related("skill").in_bulk(part.task_id.unique().tolist())
    machines = {pk: Keyed(pk) for pk in part.machine_id.unique().tolist()}
    return [Want(machines[machine], tasks[task]) for machine, task in zip(part.machine_id.tolist(), part.task_id.tolist(), strict=True)]


def _needs_of(want: Want, kits: Kits) -> list[tuple]:
    """Return item, unit, quantity and number of the part, if it is one, for everything one task takes."""
    task = want.task
    needs = [((task.skill.name if task.skill else ANY_WORK).capitalize(), "h", float(task.work_h), None)]
    needs += [(f"{part.number} {part.name}", part.unit or "pc", quantity, part.number) for part, quantity in kits.of(want)]
    litres = kits.litres(want)
    return needs + ([(litres[0], "L", litres[1], None)] if litres else [])


def _grouped(due: FleetDue, places, needs, mondays, kits: Kits) -> list[tuple[str, list[Wanted]]]:
    row = np.array([row for row, _ in needs])
    item = [f"{unit}|{name}" for _, (name, unit, *_) in needs]
    number_of = {name: number for name, (_, (*_, number)) in zip(item, needs, strict=True) if number is not None}
    quantity = [amount for _, (_, _, amount, _) in needs]
    days = [due.rows[name].to_numpy().astype("datetime64[D]")[places][row] for name in ("due_low", "due_day", "due_high")]
    table = demand_by_week(item, quantity, *days, mondays, _every_days(due, places)[row])
    names = sorted(set(item))
    in_hand = {name: kits.stock.get(number, 0.0) for name, number in number_of.items()}
    short = to_order(table, in_hand)
    out = []
    for unit, title in KINDS:
        mine = [name for name in names if (name in number_of if unit == "pc" else name not in number_of and name.startswith(f"{unit}|"))]
        out.append((title, [_wanted(name, table, short, in_hand) for name in mine]))
    return [(title, rows) for title, rows in out if rows]


def _every_days(due: FleetDue, places) -> np.ndarray:
    rules = due.rows.rule_id.iloc[places]
    months = dict(IntervalRule.objects.filter(pk__among=set(rules)).values_list("pk", "every_months"))
    return intervals_days(due, places, [months.get(rule) for rule in rules])


def _wanted(name: str, table, short, in_hand) -> Wanted:
    unit, item = name.split("|", 1)
    rows = table.loc[name]
    figures = rows[["low", "likely", "high"]].to_numpy()
    weeks = [(monday.date() + timedelta(days=6), *map(float, row)) for monday, row in zip(rows.index, figures, strict=True)]
    last = tuple(float(value) for value in short.loc[name].to_numpy()[-1])
    return Wanted(item, unit, weeks, in_hand.get(name), last)


def week_ends(first: date, weeks: int) -> list[date]:
    return [monday + timedelta(days=6) for monday in mondays_from(first, weeks)]

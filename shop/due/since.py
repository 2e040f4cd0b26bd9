"""What was written since something was worked out over the fleet: the machines it touches, so that only these are worked out anew."""

import json
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from threading import RLock
from typing import Any

from django.db import connection

from fleet.models import DriveUnit, FluidFill, HourMeter, HourReading, Installation, Machine, Site
from shop.models import Deferral, Extension, Finding, IntervalRule, SeasonBlock, ServiceTask, SeverityFactor, ShopFigure, TaskDone
from shop.models.changes import ChangeEntry

READ = (
    Machine, HourMeter, HourReading, Installation, DriveUnit, IntervalRule, ServiceTask, SeverityFactor, TaskDone, Deferral, Extension, Finding,
    SeasonBlock, FluidFill, Site, ShopFigure,
)  # fmt: skip
HOURS = (Machine, HourMeter, HourReading, Site)
OF_ONE_MACHINE = {model._meta.db_table for model in (HourMeter, Installation, TaskDone, Deferral, Extension, Finding, FluidFill)}
MOST_ENTRIES, MOST_MACHINES = 400, 2000  # beyond that it is quicker to work out the whole fleet
ONLY_PRINTED = ("document_id", "page", "may_extend", "version")  # of a rule: no sum reads them
GROUPING = ("kind", "customer_id", "status", "site_id", "number")
_kept: dict[str, tuple[tuple, Any]] = {}
_lock = RLock()  # due needs hours


@dataclass(frozen=True)
class Stamp:
    """The latest change entry of the tables read: its number, its hash, and the day."""

    entry: int
    hash: str
    day: Any


def stamp_of(models: Iterable, day=None) -> Stamp:
    """Return the latest change entry of these tables; one query, a look at the index for each table."""
    table = ChangeEntry._meta.db_table
    one = f'SELECT coalesce(max(id), 0) AS id FROM {table} WHERE "table" = %s'
    tables = [model._meta.db_table for model in models]
    with connection.cursor() as cursor:
        latest = f"SELECT max(id) FROM ({' UNION ALL '.join([one] * len(tables))}) AS latest"
        cursor.execute(f"SELECT id, hash FROM {table} WHERE id = ({latest})", tables)
        return Stamp(*(cursor.fetchone() or (0, "")), day)


@dataclass(frozen=True)
class Touched:
    """The machines written about, and for which tasks: None for all of them."""

    machines: set[int]
    tasks: set[int] | None = None


def followed(name: str, models, day, whole: Callable[[], Any], patch: Callable[[Any, Touched], Any]) -> Any:
    """Return what `whole()` gave at first, put right by `patch(old, touched)` for the machines written about since."""
    stamp = stamp_of(models, day)
    found = _kept.get(name)
    if found is not None and found[0] == stamp:
        return found[1]
    with _lock:  # eight people who look at once wait for one sum, instead of each doing it
        found = _kept.get(name)
        if found is None or found[0] != stamp:
            found = _kept[name] = (stamp, _made(found, models, day, whole, patch))
    return found[1]


def _made(before: tuple[Stamp, Any] | None, models, day, whole, patch) -> Any:
    touched = touched_since(before[0], models) if before is not None and before[0].day == day else None
    made = None
    if touched is not None:
        made = patch(before[1], touched) if touched.machines else before[1]
    return whole() if made is None else made


def touched_since(stamp: Stamp, models) -> Touched | None:
    """Return what entries after `stamp` touch; None where that cannot be said or the machines are very many."""
    if stamp.entry and not ChangeEntry.objects.filter(pk=stamp.entry, hash=stamp.hash).exists():
        return None
    tables = [model._meta.db_table for model in models]
    after = ChangeEntry.objects.filter(pk__gt=stamp.entry, table__in=tables).order_by("pk")
    entries = list(after.values_list("table", "kind", "old", "new")[: MOST_ENTRIES + 1])
    if len(entries) > MOST_ENTRIES:
        return None
    found = _Names()
    for table, kind, old, new in entries:
        if not found.add(table, kind, [json.loads(side) for side in (old, new) if side]):
            return None
    machines = found.machines()
    return Touched(machines, found.tasks if found.rules_alone else None) if len(machines) <= MOST_MACHINES else None


class _Names:
    """Machines named by change entries, straight or through a meter, a unit or a rule; and the tasks of the rules."""

    def __init__(self):
        self.direct, self.meters, self.units, self.models, self.tasks = set(), set(), set(), set(), set()
        self.rules_alone = True

    def add(self, table: str, kind: str, sides: list[dict]) -> bool:
        """Take one entry in; False where it may touch the whole fleet."""
        self.rules_alone &= table == IntervalRule._meta.db_table
        if table in OF_ONE_MACHINE:
            self.direct |= {side["machine_id"] for side in sides}
        elif table == HourReading._meta.db_table and kind == "insert":
            self.meters |= {side["meter_id"] for side in sides}
        elif table == Machine._meta.db_table and kind == "update" and all(sides[0][name] == sides[1][name] for name in GROUPING):
            self.direct |= {side["id"] for side in sides}
        elif table == DriveUnit._meta.db_table:
            self.units |= {side["id"] for side in sides}
        elif table == IntervalRule._meta.db_table:
            self._add_scopes(sides)
        else:
            return False
        return True

    def _add_scopes(self, sides: list[dict]) -> None:
        if len(sides) == 2 and all(sides[0][name] == sides[1][name] for name in sides[0] if name not in ONLY_PRINTED):
            return
        self.tasks |= {side["task_id"] for side in sides}
        self.direct |= {side["machine_id"] for side in sides}
        self.units |= {side["unit_id"] for side in sides}
        self.models |= {side["drive_model_id"] for side in sides}

    def machines(self) -> set[int]:
        found = self.direct - {None}
        if self.meters:
            found |= set(HourMeter.objects.filter(pk__in=self.meters).values_list("machine_id", flat=True))
        if self.units - {None}:
            found |= set(Installation.objects.filter(unit__in=self.units - {None}).values_list("machine_id", flat=True))
        if self.models - {None}:
            running = Installation.objects.running().filter(unit__drive_model__in=self.models - {None})
            found |= set(running.values_list("machine_id", flat=True))
        return found

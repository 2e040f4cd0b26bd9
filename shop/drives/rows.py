"""What the list and the page of drives hold."""

from collections import defaultdict
from dataclasses import dataclass
from datetime import datetime

from django.db.models import Exists, F, OuterRef, Q, Window
from django.db.models.functions import RowNumber
from django.utils import timezone

from calcs.quantities import QUANTITIES, Quantity
from calcs.thousands import grouped
from fleet.history import HistoryRow, history_of, in_order
from fleet.hours import life_h_by_machine, stays_of
from fleet.models import ConditionAssessment, DriveUnit, Installation, Reading
from fleet.unit_hours import hours_now
from shop.models import WorkOrder

State = ConditionAssessment.State
GRAVITY = [
    State.IMPOSSIBLE,
    State.OUTSIDE_LOW,
    State.OUTSIDE_HIGH,
    State.SUSPECT_INSTRUMENT,
    State.UNDECIDED,
    State.NOT_COMPARABLE,
    State.INSIDE,
]
LOOKED_FOR = {
    "outside": [State.OUTSIDE_LOW, State.OUTSIDE_HIGH],
    "undecided": [State.UNDECIDED],
    "doubtful": [State.IMPOSSIBLE, State.SUSPECT_INSTRUMENT, State.NOT_COMPARABLE],
}


@dataclass(frozen=True)
class Verdict:
    """The latest judged reading of one quantity, one way, on one drive."""

    quantity: Quantity | None
    direction: str
    state: str
    at: datetime

    @property
    def words(self) -> str:
        label = self.quantity.label if self.quantity else "Reading"
        return f"{label}, {self.direction}" if self.direction else label


def latest_verdicts(unit_ids) -> dict[int, list[Verdict]]:
    """Return the latest verdict of each quantity and direction for these drives, gravest first, in one query."""
    rows = (
        ConditionAssessment.objects.in_force()
        .filter(reading__drive_test__unit__in=list(unit_ids), reading__superseded_by=None, reading__is_valid=True)
        .order_by("reading__drive_test__tested_at", "reading_id")
        .values_list("reading__drive_test__unit", "reading__quantity", "reading__direction", "state", "reading__drive_test__tested_at")
    )
    latest = {(unit, code, way): (state, at) for unit, code, way, state, at in rows}
    found = defaultdict(list)
    for (unit, code, way), (state, at) in latest.items():
        found[unit].append(Verdict(QUANTITIES.get(code), way, state, at))
    for verdicts in found.values():
        verdicts.sort(key=lambda verdict: GRAVITY.index(verdict.state))
    return found


def units_listed(wanted: dict):
    """Drives that answer to the filters, with model, place and installations."""
    units = DriveUnit.objects.naming(wanted["q"]) if wanted.get("q") else DriveUnit.objects.all()
    if "drive_model" in wanted:
        units = units.filter(drive_model=wanted["drive_model"])
    if "place" in wanted:
        units = units.filter(_place(wanted["place"]))
    if "verdict" in wanted:
        units = units.filter(pk__in=units_with_latest(LOOKED_FOR[wanted["verdict"]]))
    return units.with_place().prefetch_related("installations")


def _place(wanted: str) -> Q:
    fitted = Exists(Installation.objects.running().filter(unit=OuterRef("pk")))
    return Q(fitted) if wanted == "fitted" else ~Q(fitted) & Q(keeping=wanted)


def units_with_latest(states):
    """Drives that have a verdict in one of these states which no later reading of the same quantity and direction has replaced."""
    newest_first = [F("drive_test__tested_at").desc(), F("pk").desc()]
    place = Window(RowNumber(), partition_by=[F("drive_test__unit"), F("quantity"), F("direction")], order_by=newest_first)
    latest = Reading.objects.standing().filter(is_valid=True, assessments__is_in_force=True).annotate(place=place).filter(place=1)
    judged = ConditionAssessment.objects.in_force().filter(state__in=states, reading__in=latest.values("pk"))
    return judged.values("reading__drive_test__unit")


def readings_listed(unit: DriveUnit, quantity: str = ""):
    """Readings of a drive that stand, latest first, with their verdict."""
    readings = Reading.objects.standing().of(unit).with_verdicts().order_by("-drive_test__tested_at", "quantity", "direction", "-pk")
    return readings.filter(quantity=quantity) if quantity else readings


def drive_page(unit: DriveUnit) -> dict:
    """Return what the page of one drive shows besides its readings."""
    stays = list(unit.installations.select_related("machine__customer").order_by("from_date", "pk"))
    running = next((stay for stay in stays if stay.to_date is None), None)
    life_h = life_h_by_machine(stay.machine_id for stay in stays if stay.to_date is None)
    component_h = hours_now(unit, stays, life_h)
    orders = list(WorkOrder.objects.filter(unit=unit).select_related("machine"))
    return {
        "unit": unit,
        "running": running,
        "component_h": component_h,
        "stays": stays_of(unit, stays, life_h),
        "history": in_order([*history_of(unit, stays), *_order_rows(orders)]),
        "verdicts": latest_verdicts([unit.pk])[unit.pk],
        "warranty": warranty_words(unit, component_h),
        "orders": [order for order in orders if order.state not in WorkOrder.ENDED],
    }


def _order_rows(orders: list[WorkOrder]):
    for order in (order for order in orders if order.released_at):
        words = f"Order {order.number} released: {order.correction}"
        yield HistoryRow(order.released_at, order.life_h, None, "work order", words, ("order", order.pk))


def warranty_words(unit: DriveUnit, component_h) -> str:
    """Return in a sentence whether warranty still holds."""
    if unit.warranty_to is None and unit.warranty_to_h is None:
        return "No warranty on record."
    ended = (unit.warranty_to and unit.warranty_to < timezone.localdate()) or (unit.warranty_to_h and unit.warranty_to_h < component_h)
    limits = [f"{unit.warranty_to:%-d %B %Y}"] if unit.warranty_to else []
    limits += [f"{grouped(unit.warranty_to_h, 0)} component hours"] if unit.warranty_to_h else []
    payer = f" ({unit.warranty_payer})" if unit.warranty_payer else ""
    return f"Warranty{payer} {'ended at' if ended else 'runs to'} {' or '.join(limits)}, whichever comes first."

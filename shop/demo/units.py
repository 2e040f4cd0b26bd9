"""Forty-five drive units, where each was fitted from when to when, and what befell them."""

from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal

from fleet.models import DriveUnit, Installation, UnitEvent
from fleet.models.base import folded, serial_key
from shop.demo import stories
from shop.demo.book import Book
from shop.demo.times import dice, moment

REBUILT = {"D-00007": 640, "D-00031": 380}  # unit: rebuilt so many days ago, by the shop
BOUGHT_REBUILT = {"D-00018", "D-00045"}
WORKED_ON_ELSEWHERE = {"D-00036": 290}


@dataclass
class Stay:
    """A unit in a machine, with the component hours it came with."""

    unit: DriveUnit
    machine: object
    position: str
    from_date: date
    to_date: date | None
    came_with_h: Decimal
    from_life_h: Decimal

    def covers(self, day: date) -> bool:
        return self.from_date <= day and (self.to_date is None or day < self.to_date)

    def component_h(self, life_h: Decimal) -> Decimal:
        return self.came_with_h + life_h - self.from_life_h


def make_units(book: Book) -> None:
    slots = [(machine, side) for machine in book.machines.values() for side in (("left", "right") if machine.is_dual else ("main",))]
    for place, (machine, side) in enumerate(slots):
        unit = _unit(book, f"D-{place + 1:05d}", machine.drive_code, book.uses[machine.number].begun)
        unit.home = (machine, side)
    spare = _unit(book, stories.SPARE_UNIT, "HD75", book.span.ago(900))
    spare.home = None
    DriveUnit.objects.bulk_create(book.units.values())
    book.stays = [stay for unit in book.units.values() for stay in _stays(book, unit)]
    Installation.objects.bulk_create(_installations(book))
    UnitEvent.objects.bulk_create(_events(book))


def _unit(book: Book, tag: str, code: str, born: date) -> DriveUnit:
    throw = dice("unit", tag)
    serial = f"{int(throw.integers(101, 9990)):05d}" if code in ("HD75", "LM38") else f"{code}-{int(throw.integers(1001, 9990))}"
    is_used, is_rebuilt = tag == stories.unit_of("unknown_history"), tag in BOUGHT_REBUILT
    unit = DriveUnit(
        tag=tag,
        serial=serial,
        serial_key=serial_key(serial),
        search_text=folded(tag, serial),
        drive_model=book.models[code],
        birth="used" if is_used else "rebuilt" if is_rebuilt else "new",
        born_on=None if is_used else born - timedelta(days=40),
        keeping="at_repair" if tag == stories.LEFT_UNIT else "in_store",
        core_value_cents=90_000,
        note="Plate hard to read, came with the machine at an auction" if is_used else "",
    )
    if is_rebuilt:
        unit.warranty_to, unit.warranty_to_h, unit.warranty_payer = book.span.ago(-120), Decimal(1500), "Rebuilder"
    book.units[tag] = unit
    return unit


def _stays(book: Book, unit: DriveUnit):
    """Yield where the unit was; three units take part in the move."""
    moved_on = book.span.ago(stories.MOVE_AGO)
    goes_out = unit.tag in (stories.unit_of("moved"), stories.LEFT_UNIT)
    zero = Decimal("0.0")
    if unit.home:
        machine, side = unit.home
        use = book.uses[machine.number]
        begun = book.span.start if unit.birth == "used" else use.begun
        yield Stay(unit, machine, side, begun, moved_on if goes_out else None, zero, use.life_h(begun))
    if unit.tag == stories.unit_of("moved"):
        so_far = book.uses[stories.MOVED_FROM].life_h(moved_on)
        yield Stay(unit, book.machines[stories.MOVED_TO], "main", moved_on, None, so_far, book.uses[stories.MOVED_TO].life_h(moved_on))
    if unit.tag == stories.SPARE_UNIT:
        day = moved_on + timedelta(days=stories.GAP_DAYS)
        yield Stay(unit, book.machines[stories.MOVED_FROM], "main", day, None, zero, book.uses[stories.MOVED_FROM].life_h(day))


def _installations(book: Book):
    for stay in book.stays:
        use = book.uses[stay.machine.number]
        yield Installation(
            unit=stay.unit,
            machine=stay.machine,
            position=stay.position,
            from_date=stay.from_date,
            from_life_h=stay.from_life_h,
            to_date=stay.to_date,
            to_life_h=use.life_h(stay.to_date) if stay.to_date else None,
            reason=""
            if stay.unit.home and stay.machine is stay.unit.home[0]
            else "Harvest could not wait: unit taken from another machine",
            removal_reason=_why_out(stay),
            recorded_by=book.users["tilde"],
            recorded_at=moment(max(stay.from_date, book.span.start), 90),
        )


def _why_out(stay: Stay) -> str:
    if stay.to_date is None:
        return ""
    return "Block face broken, debris in the loop" if stay.unit.tag == stories.LEFT_UNIT else "Lent to the windrower for the harvest"


def stay_on(book: Book, tag: str, day: date) -> Stay | None:
    return next((stay for stay in book.stays if stay.unit.tag == tag and stay.covers(day)), None)


def component_h_on(book: Book, tag: str, day: date) -> Decimal:
    stay = stay_on(book, tag, day)
    return stay.component_h(book.uses[stay.machine.number].life_h(day))


def _events(book: Book):
    for tag, ago in REBUILT.items():
        yield _event(book, tag, ago, "rebuilt", [], "Rebuilt in the shop: block kits, plates lapped, seals")
    for tag, ago in WORKED_ON_ELSEWHERE.items():
        yield _event(book, tag, ago, "outside_work", [], "Another shop had the motor apart; no papers came with it")
    yield _event(book, stories.unit_of("bad_repair"), stories.BAD_REPAIR_AGO, "repaired", ["main_relief"], "Relief cartridges exchanged")


def _event(book: Book, tag: str, ago: int, kind: str, quantities: list[str], note: str) -> UnitEvent:
    day = book.span.ago(ago)
    return UnitEvent(
        unit=book.units[tag],
        kind=kind,
        happened_on=day,
        component_h=component_h_on(book, tag, day),
        quantities=quantities,
        note=note,
        recorded_by=book.users["tilde"],
        recorded_at=moment(day, 480),
    )

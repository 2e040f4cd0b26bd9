"""Forty machines with their owners, tyres and meters."""

from dataclasses import dataclass
from datetime import date

from fleet.models import HourMeter, Machine, Ownership
from fleet.models.base import folded, serial_key
from shop.demo.book import Book
from shop.demo.stories import METER_CHANGED_AGO, machine_of
from shop.demo.times import dice, moment, tenth
from shop.demo.use import Use, begun_on


@dataclass(frozen=True)
class Kind:
    """Machines of one kind and make in the demo."""

    count: int
    kind: str
    maker: str
    model: str
    drive: str
    serial: str  # pattern, filled with a running number
    rated_rpm: float
    idle_rpm: float
    power_kw: float
    mass_kg: float
    tyre: str
    radius_m: float
    ratio: float
    height_m: float
    severity: tuple[str, ...] = ()
    is_dual: bool = False


KINDS = (
    Kind(8, "combine", "Dunvarra", "D780", "VK110", "D780-{:05d}", 2000, 950, 260, 15500, "800/65 R32", 0.92, 38, 3.95, ("dust",)),
    Kind(
        3, "forage", "Merrowby", "F410", "VK110", "{:06d}", 1950, 950, 330, 13200, "710/70 R34", 0.90, 36, 3.85, ("dust", "long transport")
    ),
    Kind(3, "windrower", "Hollowick", "W180", "HD75", "HW180-{:05d}", 2300, 1000, 130, 6900, "600/65 R28", 0.72, 40, 3.4, ("dust",)),
    Kind(4, "windrower", "Tarnbeck", "SW24 Twin", "TX45", "TB24{:04d}", 2300, 1000, 110, 6200, "480/70 R24", 0.66, 24, 3.3, (), True),
    Kind(6, "sprayer", "Aldersund", "P36", "HD75", "A36.{:04d}", 2200, 900, 150, 9800, "380/90 R46", 0.90, 46, 3.75, ("long transport",)),
    Kind(3, "tractor", "Pellandine", "145H", "HD75", "{:05d}", 2200, 850, 107, 6400, "540/65 R38", 0.82, 42, 3.05, ("couplers",)),
    Kind(3, "tractor", "Pellandine", "210H", "VK110", "PL210{:05d}", 2100, 850, 155, 8900, "650/65 R38", 0.85, 31, 3.2, ("couplers",)),
    Kind(6, "loader", "Merrowby", "L32", "LM38", "ML-{:04d}", 2400, 900, 55, 4800, "15.5/70-18", 0.47, 17, 2.6, ("water",)),
    Kind(4, "mower", "Tarnbeck", "R15", "LM38", "R15/{:04d}", 2400, 1100, 32, 1900, "26x12-12", 0.33, 15, 2.2),
)


def make_machines(book: Book) -> None:
    rows = [row for kind in KINDS for row in [kind] * kind.count]
    for place, kind in enumerate(rows):
        number = f"M-{place + 1:05d}"
        throw = dice("machine", number)
        begun = begun_on(number, book.span, throw)
        machine = _machine(book, number, kind, begun.year, throw)
        book.machines[number] = machine
        book.uses[number] = Use.of(machine, begun, book.span, throw)
    Machine.objects.bulk_create(book.machines.values())
    Ownership.objects.bulk_create(_owners(book))
    HourMeter.objects.bulk_create(_meters(book))


def _machine(book: Book, number: str, kind: Kind, year: int, throw) -> Machine:
    customer = book.customers[int(throw.integers(0, len(book.customers)))]
    serial = kind.serial.format(int(throw.integers(101, 9899)) if number != "M-00025" else 123)
    severity = list(kind.severity) + (["many operators"] if customer.number == "C-00007" else [])
    severity += ["unknown fluid"] if number == machine_of("unknown_history") else []
    machine = Machine(
        number=number,
        kind=kind.kind,
        maker=kind.maker,
        model=kind.model,
        serial=serial,
        serial_key=serial_key(serial),
        year=year,
        search_text=folded(number, kind.maker, kind.model, serial),
        customer=customer,
        site=customer.yards[place_of(number, customer)],
        engine_rated_speed_rpm=kind.rated_rpm,
        engine_idle_speed_rpm=kind.idle_rpm,
        engine_power_kw=kind.power_kw,
        mass_kg=kind.mass_kg,
        tyre=kind.tyre,
        rolling_radius_m=kind.radius_m,
        final_ratio=kind.ratio,
        height_m=kind.height_m,
        severity=severity,
        shares_oil_with="Implement couplers" if "couplers" in kind.severity else "",
    )
    machine.drive_code, machine.is_dual = kind.drive, kind.is_dual
    return machine


def place_of(number: str, customer) -> int:
    return int(number[-2:]) % len(customer.yards)


def _owners(book: Book):
    for number, machine in book.machines.items():
        begun = book.uses[number].begun
        if number == machine_of("unknown_history"):
            begun = book.span.start
        yield Ownership(machine=machine, customer=machine.customer, from_date=begun)


def _meters(book: Book):
    """Meters of every machine, running ones kept on the machine as `meters_in_order`."""
    for number, machine in book.machines.items():
        use = book.uses[number]
        first = HourMeter(machine=machine, fitted_on=use.begun, **_by(book, use.begun))
        machine.meters_in_order = [first]
        if number == machine_of("meter"):
            machine.meters_in_order.append(_replaced(book, first, use))
        yield from machine.meters_in_order


def _replaced(book: Book, first: HourMeter, use: Use) -> HourMeter:
    day = book.span.ago(METER_CHANGED_AGO)
    first.ended_on, first.end_meter_h, first.end_reason = day, use.life_h(day), "Display dead, replaced by the dealer"
    return HourMeter(machine=first.machine, fitted_on=day, start_meter_h=tenth(0), start_life_h=use.life_h(day), **_by(book, day))


def _by(book: Book, day: date) -> dict:
    return {"recorded_by": book.users["olof"], "recorded_at": moment(max(day, book.span.start), 30)}


def meter_on(machine: Machine, day: date) -> HourMeter:
    """Return the meter that was on the machine on a day; on the day of a change the old one, read before it came off."""
    return next(meter for meter in machine.meters_in_order if meter.ended_on is None or day <= meter.ended_on)

"""What was filled into every machine: the ledger that the oil of each test comes from."""

from datetime import timedelta
from decimal import Decimal

from fleet.fluid_in_use import oil_after
from fleet.models import FluidFill
from shop.demo import stories
from shop.demo.book import Book
from shop.demo.times import dice, moment
from shop.demo.work import OIL_OF_MODEL

OTHER_OIL = {"M-00038": "Verda 46 E", "M-00004": "Longrun 46 Z"}
TRUE_OIL_WHEN_UNKNOWN = "Hydrol 46"


def own_oil(book: Book, machine):
    return book.fluids[OTHER_OIL.get(machine.number, OIL_OF_MODEL[machine.drive_code])]


def capacity_l(book: Book, machine) -> float:
    return book.models[machine.drive_code].system_oil_l


def make_fills(book: Book, done: list) -> None:
    """Make first fills, changes where the task was done, and top-ups; the machine with mixed oil gets the wrong can."""
    changes = {(row.machine.number, row.done_on): row for row in done if row.task.code == "FLUID" and row.was_done}
    for number, machine in book.machines.items():
        book.ledgers[number] = sorted(_fills(book, machine, changes), key=lambda fill: fill.filled_at)
    FluidFill.objects.bulk_create(fill for fills in book.ledgers.values() for fill in fills)
    links = [
        (call.row, fill)
        for number, calls in book.calls.items()
        for call in calls
        for fill in book.ledgers[number]
        if fill.filled_at == call.at
    ]
    through = type(links[0][0]).fills.through
    through.objects.bulk_create(through(visit=visit, fluidfill=fill) for visit, fill in links)


def _fills(book: Book, machine, changes: dict):
    use, number, full = book.uses[machine.number], machine.number, capacity_l(book, machine)
    begun = max(use.begun, book.span.start) if number == stories.machine_of("unknown_history") else use.begun
    is_unknown = number == stories.machine_of("unknown_history")
    yield _fill(book, machine, begun, moment(begun, 60), "first_fill", None if is_unknown else own_oil(book, machine), full, 0, "olof")
    for (of, day), row in changes.items():
        if of == number and row.visit is None:
            yield _fill(book, machine, day, moment(day, 200), "change", own_oil(book, machine), 0.9 * full, 0.9 * full, "olof")
    throw = dice("fills", number)
    for call in book.calls[number]:
        if (number, call.day) in changes:
            yield _change(book, call, full)
        elif throw.random() < 0.18 or _gets_wrong_can(book, call):
            litres = 6.0 if _gets_wrong_can(book, call) else round(float(throw.uniform(0.5, 3)), 1)
            yield _fill(book, machine, call.day, call.at, "top_up", _oil_at(book, call), litres, 0, call.who)


def _gets_wrong_can(book: Book, call) -> bool:
    ago = (book.span.as_of - call.day).days
    return call.machine.number == stories.machine_of("mixed_oil") and ago <= stories.OIL_MIXED_AGO + 40


def _oil_at(book: Book, call):
    return book.fluids["Allfield 10W-30"] if _gets_wrong_can(book, call) else own_oil(book, call.machine)


def _change(book: Book, call, full: float) -> FluidFill:
    share = 0.45 if _gets_wrong_can(book, call) else 0.95 if call.machine.number == stories.machine_of("unknown_history") else 0.9
    litres = full if share == 0.95 else share * full
    return _fill(book, call.machine, call.day, call.at, "change", _oil_at(book, call), litres, litres, call.who)


def _fill(book: Book, machine, day, at, kind: str, product, fill_l: float, drained_l: float, who: str) -> FluidFill:
    return FluidFill(
        machine=machine,
        kind=kind,
        product=product,
        filled_at=at,
        life_h=book.uses[machine.number].life_h(day),
        fill_l=Decimal(f"{fill_l:.2f}"),
        drained_l=Decimal(f"{drained_l:.2f}"),
        is_measured=kind != "first_fill",
        batch=f"B{at:%y%m}-{machine.pk % 7 + 1:02d}" if product and kind == "change" else "",
        recorded_by=book.users[who],
        recorded_at=max(at + timedelta(hours=2), moment(book.span.start, 45)),
    )


def true_oil(book: Book, machine, at):
    """Return what really is in the machine, also where the book does not know it."""
    before = [fill for fill in book.ledgers[machine.number] if fill.filled_at <= at]
    found = oil_after(before, capacity_l(book, machine)).oil
    return found or oil_after([_known(book, before[0])]).oil


def _known(book: Book, fill: FluidFill) -> FluidFill:
    return FluidFill(
        machine=fill.machine,
        kind="first_fill",
        product=book.fluids[TRUE_OIL_WHEN_UNKNOWN],
        filled_at=fill.filled_at,
        life_h=fill.life_h,
        fill_l=fill.fill_l,
        drained_l=0,
    )

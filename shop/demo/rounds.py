"""Service calls at every machine, and the hours read at each of them."""

from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal

from fleet.models import HourReading
from shop.demo import stories
from shop.demo.book import Book
from shop.demo.machines import meter_on
from shop.demo.times import dice, moment, workday
from shop.models import Visit

WALT_LEFT_AGO = 430  # days
SILENT = "M-00017"  # no hours read of late
DIGIT_SWAP = {"M-00008": 200, "M-00028": 95}


@dataclass
class Call:
    """One call at a machine, before it becomes a row."""

    machine: object
    day: date
    minutes: int
    who: str
    life_h: Decimal
    row: Visit | None = None
    hours: HourReading | None = None

    @property
    def at(self):
        return moment(self.day, self.minutes)


def make_calls(book: Book) -> None:
    for number in book.machines:
        book.calls[number] = list(_calls(book, number))
    HourReading.objects.bulk_create(_hours_at_calls(book))
    HourReading.objects.bulk_create(_hours_between(book))
    every = sorted((call for calls in book.calls.values() for call in calls), key=lambda call: (call.at, call.machine.number))
    for place, call in enumerate(every):
        call.row = Visit(
            number=f"V-{place + 1:05d}",
            machine=call.machine,
            visited_at=call.at,
            visited_by=book.users[call.who],
            hour_reading=call.hours,
            life_h=call.life_h,
            recorded_by=book.users[call.who],
            recorded_at=call.at + timedelta(hours=2),
        )
    Visit.objects.bulk_create(call.row for call in every)


def _calls(book: Book, number: str):
    throw, span, use = dice("calls", number), book.span, book.uses[number]
    day = span.start + timedelta(days=int(throw.integers(4, 45)))
    last = span.as_of - timedelta(days=75 if number == SILENT else 4)
    while day <= last:
        day_of_work = workday(day)
        yield Call(
            book.machines[number], day_of_work, int(throw.integers(30, 470)), _who(span, day_of_work, throw), use.life_h(day_of_work)
        )
        day += timedelta(days=int(throw.integers(44, 71)))


def _who(span, day: date, throw) -> str:
    walt_is_here = (span.as_of - day).days > WALT_LEFT_AGO
    return str(throw.choice(["tilde", "kaisa", "walt"] if walt_is_here else ["tilde", "kaisa"]))


def _hours_at_calls(book: Book):
    for calls in book.calls.values():
        for call in calls:
            call.hours = _hours(book, call.machine, call.day, call.at, call.life_h, "typed", call.who)
            yield call.hours


def _hours(book: Book, machine, day: date, at, life_h: Decimal, origin: str, who: str) -> HourReading:
    meter = meter_on(machine, day)
    read = life_h - meter.start_life_h + meter.start_meter_h
    return HourReading(
        meter=meter, read_at=at, meter_h=read, life_h=life_h, typed=str(read), origin=origin, recorded_by=book.users[who], recorded_at=at
    )


def _hours_between(book: Book):
    """Hours that customers phone in or machines send, and two with swapped digits that nobody has confirmed."""
    for number, machine in book.machines.items():
        throw = dice("hours", number)
        origin = "telematics" if machine.kind in ("combine", "forage", "sprayer") else "typed"
        for day in _free_days(book, number, throw):
            yield _hours(book, machine, day, moment(day, 600), book.uses[number].life_h(day), origin, "olof")
        if number in DIGIT_SWAP:
            yield _swapped(book, machine, book.span.ago(DIGIT_SWAP[number]))
    machine = book.machines[stories.machine_of("meter")]
    day = machine.meters_in_order[0].ended_on
    yield _hours(book, machine, day, moment(day, 620), machine.meters_in_order[0].end_meter_h, "photo", "olof")


def _free_days(book: Book, number: str, throw):
    last = book.span.as_of - timedelta(days=75 if number == SILENT else 2)
    taken = {call.day for call in book.calls[number]}
    day = book.span.start + timedelta(days=int(throw.integers(1, 20)))
    while day <= last:
        if day not in taken:
            yield day
        day += timedelta(days=int(throw.integers(24, 40)))


def _swapped(book: Book, machine, day: date) -> HourReading:
    true = book.uses[machine.number].life_h(day)
    digits = str(int(true))
    wrong = Decimal(digits[0] + digits[2] + digits[1] + digits[3:] + ".0") if digits[1] != digits[2] else true + 1900
    row = _hours(book, machine, day, moment(day, 610), true, "typed", "olof")
    row.meter_h = row.life_h = wrong
    row.typed, row.is_confirmed = str(wrong), False
    row.question = f"{wrong} does not follow the reading before it; {true} was expected by then. Were two digits swapped?"
    return row

"""A plain second book of one hour meter's life, and random hands that write in both: the two must agree after every step.

Run the long form: python tests/faults/meters.py
"""

import random
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from decimal import Decimal

from fleet.models import HourMeter, HourReading, Machine
from shop.machines.actions import replace_meter
from shop.refusals import Refused
from shop.visits.actions import record_hours
from shop.visits.corrections import correct_hours
from shop.visits.entries import HoursEntry

TENTH = Decimal("0.1")


@dataclass
class PlainBook:
    """What the plain book holds: meters with where they begin, and readings believed on each, as (moment, meter hours)."""

    meters: list = field(default_factory=list)  # [fitted on, first day after, start of meter, life hours at start, readings]

    def life(self) -> list[tuple[datetime, Decimal]]:
        """Return moment and life hours of every reading believed, in order of time."""
        return sorted((at, start_life + hours - start) for _, _, start, start_life, readings in self.meters for at, hours in readings)

    def fits_others(self, at: datetime, hours: Decimal, slot: int) -> bool:
        """Say whether life hours run on between this reading and those of the other meters; it matters on the day of a replacement."""
        begins, ends, start, start_life, _ = self.meters[slot]
        if at.date() not in (begins, ends and ends[0]):
            return True
        life, mine = start_life + hours - start, self.meters[slot]
        others = [(day, meter[3] + figure - meter[2]) for meter in self.meters if meter is not mine for day, figure in meter[4]]
        return all(figure <= life if day <= at else figure >= life for day, figure in others)

    def holds(self, at: datetime, hours: Decimal, slot: int = -1) -> bool:
        """Say whether a reading can stand among its neighbours: never less than before, never more than after, no day longer than a day."""
        begins, ends, start, _, readings = self.meters[slot]
        if at.date() < begins or (ends and at.date() > ends[0]):
            return False
        steps = [(begins, start), *((day.date(), figure) for day, figure in sorted(readings) if day <= at)]
        after = [(day.date(), figure) for day, figure in sorted(readings) if day > at] + ([ends] if ends else [])
        (last_day, last), following = max(steps, key=lambda step: (step[0], step[1])), after[:1]
        fits = last <= hours <= last + 24 * ((at.date() - last_day).days + 1)
        return (
            fits
            and self.fits_others(at, hours, slot)
            and all(hours <= more <= hours + 24 * ((day - at.date()).days + 1) for day, more in following)
        )


def live_through(seed: int, machine: Machine, by, steps: int = 30) -> dict[str, int]:
    """Let random hands write `steps` times; compare after each; return how often each kind of thing happened."""
    chance, now = random.Random(seed), datetime(2022, 1, 3, 9, tzinfo=UTC)
    HourMeter.objects.create(machine=machine, fitted_on=now.date())
    book, told = (
        PlainBook([[now.date(), None, Decimal(0), Decimal(0), []]]),
        {"kept": 0, "refused": 0, "doubted": 0, "replaced": 0, "corrected": 0},
    )
    true_h = Decimal(0)
    for _ in range(steps):
        days = chance.randrange(0, 40)
        now, true_h = (
            now + timedelta(days=days, hours=chance.randrange(0, 5)),
            true_h + Decimal(chance.randrange(0, 10 * max(days, 1) * 10)) / 10,
        )
        happened = chance.choices((read_true, read_wrong, read_late, put_new_meter, put_right), (8, 4, 3, 1, 2))[0]
        happened(chance, machine, by, book, now, true_h, told)
        compare(machine, book, f"seed {seed}")
    return told


def shown(book: PlainBook, true_h: Decimal) -> Decimal:
    """Return what the meter now fitted shows when the machine has run so long."""
    _, _, start, start_life, readings = book.meters[-1]
    return (
        max(true_h - start_life + start, *(figure for _, figure in readings), start)
        if readings
        else max(true_h - start_life + start, start)
    )


def read_true(chance, machine, by, book, now, true_h, told):
    write(machine, by, book, now, shown(book, true_h), told, keep=False)


def read_wrong(chance, machine, by, book, now, true_h, told):
    hours = max(Decimal(0), shown(book, true_h) * Decimal(chance.choice(["0.1", "0.9", "1.1", "10", "3"]))).quantize(TENTH)
    write(machine, by, book, now, hours, told, keep=chance.random() < 0.5)


def read_late(chance, machine, by, book, now, true_h, told):
    """A reading that is written into the past."""
    write(machine, by, book, now - timedelta(days=chance.randrange(1, 60)), shown(book, true_h), told, keep=chance.random() < 0.3)


def write(machine, by, book, at, hours, told, keep):
    slots = [k for k in range(len(book.meters)) if book.holds(at, hours, k)]
    try:
        reading = record_hours(by=by, machine=machine, at=at, hours=HoursEntry(hours, str(hours), keep))
    except Refused:
        told["refused"] += 1
        assert not keep, "a reading that is kept as read is never refused"
        return
    assert reading.is_confirmed is bool(slots), f"{hours} h on {at}: believed {reading.is_confirmed}, the plain book says {bool(slots)}"
    told["kept" if reading.is_confirmed else "doubted"] += 1
    if reading.is_confirmed:
        number = list(machine.meters.order_by("fitted_on", "pk").values_list("pk", flat=True)).index(reading.meter_id)
        assert number in slots
        book.meters[number][4].append((at, hours))


def put_new_meter(chance, machine, by, book, now, true_h, told):
    last = book.meters[-1]
    ended, start = shown(book, true_h), Decimal(chance.choice([0, 0, 5]))
    if not book.holds(now, ended) or now.date() <= last[0] or any(at.date() >= now.date() for at, _ in last[4]):
        return
    replace_meter(
        meter=machine.meters.get(ended_on=None), on=now.date(), end_meter_h=ended, start_meter_h=start, reason="glass broken", by=by
    )
    written = HourReading.objects.filter(meter__machine=machine).latest("pk")
    last[1] = (now.date(), ended)
    last[4].append((written.read_at, ended))
    book.meters.append([now.date(), None, start, last[3] + ended - last[2], []])
    told["replaced"] += 1


def put_right(chance, machine, by, book, now, true_h, told):
    """A believed reading of the meter now fitted is corrected by a tenth, if that can stand."""
    readings = book.meters[-1][4]
    if not readings:
        return
    at, hours = chance.choice(readings)
    row = HourReading.objects.accepted().filter(meter__machine=machine, read_at=at, meter_h=hours).first()
    readings.remove((at, hours))
    if row is None or not book.holds(at, hours + TENTH):
        readings.append((at, hours))
        return
    correct_hours(by=by, reading=row, hours=HoursEntry(hours + TENTH, str(hours + TENTH), True), reason="misread by a tenth")
    readings.append((at, hours + TENTH))
    told["corrected"] += 1


def compare(machine, book, where) -> None:
    kept = list(HourReading.objects.accepted().of(machine).order_by("read_at", "life_h").values_list("read_at", "life_h"))
    assert kept == book.life(), where
    lives = [life for _, life in kept]
    assert lives == sorted(lives), f"{where}: life hours run backwards"
    assert HourReading.objects.standing().of(machine).filter(is_confirmed=False, question="").count() == 0

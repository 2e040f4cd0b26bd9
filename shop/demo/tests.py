"""Drive tests and their readings: what the drive really shows, with the errors of gauge, hand and thermometer, typed as people type."""

from dataclasses import dataclass, replace
from datetime import date, timedelta
from decimal import Decimal

import numpy as np

from calcs.baselines import Conditions
from calcs.quantities import quantity_of
from calcs.uncertainty import reading_uncertainty
from calcs.units import from_house, to_house
from fleet.models import DriveTest, Reading
from shop.demo import stories
from shop.demo.book import Book
from shop.demo.lives import Life, WornDrive, drive_spec, life_of, worn_drive
from shop.demo.oils import true_oil
from shop.demo.sheet import SHEET, Line, gauge_for
from shop.demo.times import dice
from shop.demo.units import stay_on

SCATTER = {"flow": 0.014, "pressure": 0.003, "ground speed": 0.004, "speed": 0.003}  # of the reading, from one try to the next
DRAINS = ("pump_case_flow", "motor_case_flow")  # both are always read where the plumbing is the story
NO_TEMPERATURE = 0.015  # share of tests where nobody read the oil temperature
COLD = 0.03  # share of tests done on cold oil
OIL_SPREAD_K = 7.0


@dataclass
class Round:
    """One unit tested at one call: what is true, and what was written down."""

    test: DriveTest
    drive: WornDrive
    throw: np.random.Generator
    days_ago: int
    sign: str  # decimal sign of the person
    is_us: bool
    is_series: bool
    case_bar: float | None  # case pressure where the tester had a gauge on it


def make_tests(book: Book) -> None:
    """Make the tests of every second call, with their readings."""
    lives = {tag: life_of(book, tag) for tag in book.units}
    calls = sorted((call for n, all_calls in book.calls.items() for call in _test_calls(n, all_calls)), key=lambda call: call.at)
    rounds = [_round(book, call, unit, lives[unit.tag]) for call in calls for unit in _units_at(book, call)]
    for place, one in enumerate(rounds):
        one.test.number = f"T-{place + 1:05d}"
    book.tests = DriveTest.objects.bulk_create(one.test for one in rounds)
    Reading.objects.bulk_create(reading for one in rounds for reading in _readings(book, one))
    _link(book)


def _test_calls(number: str, calls: list) -> list:
    return calls[int(number[-1]) % 2 :: 2] if len(calls) > 2 else calls


def _units_at(book: Book, call) -> list:
    fitted = [unit for unit in book.units.values() if stay_on(book, unit.tag, call.day)]
    return [unit for unit in fitted if stay_on(book, unit.tag, call.day).machine is call.machine]


def _round(book: Book, call, unit, life: Life) -> Round:
    throw = dice("sheet", unit.tag, len([c for c in book.calls[call.machine.number] if c.day < call.day]))
    stay, days_ago = stay_on(book, unit.tag, call.day), (book.span.as_of - call.day).days
    hours = stay.component_h(call.life_h)
    oil_temp = _oil_temp(throw)
    rpm = float(round(call.machine.engine_rated_speed_rpm * (1 + throw.normal(0, 0.004))))
    spec = drive_spec(unit.drive_model, call.machine)
    truth = Conditions(oil_temp_c=oil_temp, engine_speed_rpm=rpm, case_pressure_bar=float(throw.uniform(0.2, 0.7)))
    drive = worn_drive(life, spec, true_oil(book, call.machine, call.at), truth, float(hours), call.day)
    test = _test(book, call, unit, hours, throw, oil_temp, rpm)
    is_series = unit.tag == stories.unit_of("series_drain") and days_ago < 700
    test.drains = _drains(is_series, days_ago, throw)
    return Round(test, drive, throw, days_ago, "," if call.who == "kaisa" else ".", call.who == "walt", is_series, _case_read(truth, throw))


def _oil_temp(throw) -> float:
    return float(throw.uniform(28, 40)) if throw.random() < COLD else float(np.clip(throw.normal(63, OIL_SPREAD_K), 47, 83))


def _case_read(truth: Conditions, throw) -> float | None:
    return round(truth.case_pressure_bar * 20) / 20 if throw.random() < 0.6 else None


def _drains(is_series: bool, days_ago: int, throw) -> str:
    if is_series:
        return "series" if days_ago > 150 else ""
    return "separate" if throw.random() < 0.6 else ""


def _test(book: Book, call, unit, hours: Decimal, throw, oil_temp: float, rpm: float) -> DriveTest:
    written = None if throw.random() < NO_TEMPERATURE else float(round((oil_temp + throw.normal(0, 0.45)) * 2) / 2)
    side = 35 if stay_on(book, unit.tag, call.day).position == "right" else 0
    return DriveTest(
        unit=unit,
        machine=call.machine,
        tested_at=call.at + timedelta(minutes=40 + side),
        tested_by=book.users[call.who],
        life_h=call.life_h,
        component_h=hours,
        oil_temp_c=written,
        engine_speed_rpm=rpm,
        ambient_c=_ambient(call.day, throw),
        temperature_point="Tank, upper third",
        fluid=_named_oil(book, call, throw),
        recorded_at=call.at + timedelta(hours=3),
    )


def _ambient(day: date, throw) -> float:
    return float(round(11 - 10 * np.cos(2 * np.pi * (day.timetuple().tm_yday - 20) / 365) + throw.normal(0, 3)))


def _named_oil(book: Book, call, throw):
    """Return the product that the tester named: the one of the first fill, or nothing."""
    first = book.ledgers[call.machine.number][0].product
    return first if throw.random() < 0.5 else None


def _readings(book: Book, one: Round):
    for line in SHEET:
        wanted = one.throw.random() < line.share or (one.is_series and line.quantity in DRAINS)
        if wanted and (line.quantity != "flushing_flow" or one.drive.spec.flushing_flow_lpm):
            yield _reading(book, one, line)


def _reading(book: Book, one: Round, line: Line) -> Reading:
    quantity = quantity_of(line.quantity)
    gauge = book.instruments[gauge_for(line, one)]
    true = max(0.0, true_value(one, line))
    tries = [_tried(one, line, gauge, true, quantity.kind) for _ in range(3 if line.is_repeated and one.throw.random() < 0.3 else 1)]
    unit = gauge.row.unit
    typed = _typed(float(np.mean(tries)), unit, quantity.kind, gauge.row.resolution, one.sign)
    value = float(to_house(float(typed.replace(",", ".")), unit, quantity.kind))
    return Reading(
        drive_test=one.test,
        quantity=line.quantity,
        direction=line.direction,
        typed=typed,
        typed_unit=unit,
        value=value,
        unit=quantity.unit,
        repeats=[round(t, 2) for t in tries] if len(tries) > 1 else [],
        instrument=gauge.row,
        port=line.port,
        loop_pressure_bar=line.loop_bar,
        engine_speed_rpm=one.drive.conditions.engine_speed_rpm if not line.is_idle else line.rpm(one.test.machine),
        case_pressure_bar=one.case_bar if line.port == "CH" else None,
        taken_at=one.test.tested_at + timedelta(minutes=line.minute),
        recorded_by=one.test.tested_by,
        recorded_at=one.test.recorded_at,
    )


def _tried(one: Round, line: Line, gauge, true: float, kind: str) -> float:
    off = gauge.error(true, kind, one.days_ago) if true else 0.0
    own = 0.2 * reading_uncertainty(gauge.house_step(), true, kind)
    return max(0.0, true + off + float(one.throw.normal(0, np.hypot(SCATTER.get(kind, 0.01) * true, own if true else 0.0))))


def _typed(value: float, unit: str, kind: str, step: float, sign: str) -> str:
    shown = round(float(from_house(value, unit, kind)) / step) * step
    digits = max(0, -int(np.floor(np.log10(step) + 1e-9)))
    return f"{shown:.{digits}f}".replace(".", sign)


def true_value(one: Round, line: Line) -> float:
    """Return what a perfect gauge would show."""
    here = replace(
        one.drive.conditions,
        direction=line.direction,
        loop_pressure_bar=line.loop_bar,
        engine_speed_rpm=line.rpm(one.test.machine) if line.is_idle else one.drive.conditions.engine_speed_rpm,
    )
    if line.quantity in ("top_speed", "main_relief"):
        here = replace(here, loop_pressure_bar=None)
    drive = replace(one.drive, conditions=here)
    if one.is_series and line.quantity in ("pump_case_flow", "total_case_return"):
        return float(drive.charge_delivery())
    return line.truth(one, drive) if line.truth else drive.reads(line.quantity)


def _link(book: Book) -> None:
    """Tell each visit which tests were part of it."""
    by_call = {(call.machine.pk, call.day): call.row for calls in book.calls.values() for call in calls}
    through = next(iter(by_call.values())).tests.through
    through.objects.bulk_create(through(visit=by_call[test.machine_id, test.tested_at.date()], drivetest=test) for test in book.tests)

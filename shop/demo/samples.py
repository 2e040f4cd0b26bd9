"""Oil samples: wear metals that the true wear gives off, additives of what is really in, and a few that no machine could be found for."""

from datetime import timedelta
from decimal import Decimal

import numpy as np

from fleet.fluid_in_use import oil_after
from fleet.models import LabValue, OilSample
from shop.demo import stories
from shop.demo.book import Book
from shop.demo.lives import life_of
from shop.demo.oils import capacity_l
from shop.demo.times import dice, moment, tenth
from shop.demo.units import stay_on

METALS = {"Fe": 2.6, "Cu": 1.6, "Cr": 0.12, "Al": 0.35, "Pb": 0.25, "Sn": 0.08, "Si": 0.6}  # ppm in 100 h of a healthy drive
CARRIED = {"Fe": 4.0, "Cu": 2.5, "Cr": 0.3, "Al": 1.0, "Pb": 0.6, "Sn": 0.2, "Si": 5.0}
WEARS = {"Fe": 1.4, "Cu": 2.2, "Cr": 1.0, "Pb": 0.8, "Sn": 1.0}  # how strongly a metal follows the growth of the leakage
SHARE_SAMPLED = 0.24
PENDING_DAYS = 40  # younger samples are still at the laboratory
LABS = (("Lab Ostrevik", "ICP, ours"), ("Labor Tannhain", "RDE, theirs"))


def make_samples(book: Book) -> None:
    rows, values = [], []
    calls = sorted((call for calls in book.calls.values() for call in calls), key=lambda call: (call.at, call.machine.number))
    for call in calls:
        throw = dice("sample", call.machine.number, book.calls[call.machine.number].index(call))
        fills = [fill for fill in book.ledgers[call.machine.number] if fill.filled_at < call.at]
        if fills and (throw.random() < SHARE_SAMPLED or call.machine.number in _watched()):
            rows.append(_sample(book, call, fills, len(rows)))
            values.append([] if _is_pending(book, call) else list(_values(book, call, fills, throw, rows[-1])))
    OilSample.objects.bulk_create([*rows, *_unmatched(book)])
    LabValue.objects.bulk_create(value for of_sample in values for value in of_sample)


def _is_pending(book: Book, call) -> bool:
    return (book.span.as_of - call.day).days < PENDING_DAYS


def _watched() -> set[str]:
    return {stories.machine_of(code) for code in ("wearing_out", "mixed_oil")}


def _oil_h(call, fills) -> float:
    last = max((fill for fill in fills if fill.kind != "top_up"), key=lambda fill: fill.filled_at)
    return float(call.life_h - last.life_h)


def _lab(book: Book, call) -> int:
    return int((book.span.as_of - call.day).days > 760)


def _sample(book: Book, call, fills, place: int) -> OilSample:
    return OilSample(
        label=f"LK-{place + 1:05d}",
        machine=call.machine,
        point="Test port before the return filter",
        drawn_at=call.at - timedelta(minutes=10),
        life_h=call.life_h,
        oil_h=tenth(max(0.0, _oil_h(call, fills))),
        laboratory=LABS[_lab(book, call)][0],
        laboratory_number="" if _is_pending(book, call) else f"{call.day:%y}-{40000 + place * 7}",
        recorded_by=book.users[call.who],
        recorded_at=call.at + timedelta(days=6),
    )


def _wear(book: Book, call) -> float:
    """Return how much the leakage of the worst unit in the machine has grown."""
    grown = 1.0
    for tag in book.units:
        stay = stay_on(book, tag, call.day)
        if stay and stay.machine is call.machine:
            life = life_of(book, tag)
            grown = max(grown, life.pump_index(float(stay.component_h(call.life_h))) / life.base)
    return grown


def _values(book: Book, call, fills, throw: np.random.Generator, sample: OilSample):
    hours, wear, method = _oil_h(call, fills), _wear(book, call), LABS[_lab(book, call)][1]
    for metal, rate in METALS.items():
        ppm = CARRIED[metal] + rate * (1 + WEARS.get(metal, 0.0) * (wear - 1)) * hours / 100
        yield _value(sample, metal, ppm * float(throw.normal(1, 0.08)), "ppm", method)
    for item, figure in _additives(book, fills).items():
        yield _value(sample, item, figure * float(throw.normal(1, 0.03)), "ppm", method)
    oil = oil_after(fills, capacity_l(book, call.machine)).oil
    if oil:
        yield _value(sample, "V40", oil.nu40_mm2s * float(throw.normal(1, 0.01)), "mm2/s", "D445", 1)
        yield _value(sample, "V100", oil.nu100_mm2s * float(throw.normal(1, 0.01)), "mm2/s", "D445", 2)
    yield _value(sample, "Water", float(throw.lognormal(-3.6, 0.5)), "%", "KF", 3, least=0.05 if throw.random() < 0.5 else 0.01)
    yield _value(sample, "TAN", 0.5 + hours / 4000 + float(throw.normal(0, 0.05)), "mgKOH/g", "D664", 2)
    code = throw.integers((19, 17, 13), (22, 20, 16))
    yield LabValue(sample=sample, item="ISO4406", typed="/".join(map(str, code)), method="ISO 11500")


def _additives(book: Book, fills) -> dict[str, float]:
    """Return zinc, calcium and phosphorus of the mix, by litres."""
    machine = fills[0].machine
    litres = oil_after(fills, capacity_l(book, machine)).litres
    known = [(book.additives[product.name], amount) for product, amount in litres if product]
    total = sum(amount for _, amount in known)
    return {item: sum(figures[item] * amount for figures, amount in known) / total for item in ("Zn", "Ca", "P")} if known else {}


def _value(sample: OilSample, item: str, figure: float, unit: str, method: str, digits: int = 0, least: float = 1.0) -> LabValue:
    is_below = figure < least
    typed = f"<{least:g}" if is_below else f"{figure:.{digits}f}"
    return LabValue(
        sample=sample, item=item, typed=typed, value=None if is_below else float(typed), unit=unit, is_below_limit=is_below, method=method
    )


def _unmatched(book: Book):
    for label, ago, reason in (
        ("LK99 012", 33, "No sample of ours carries this label"),
        ("HYDR TANK 2", 120, "The label names no machine, and three stood in the yard that day"),
    ):
        day = book.span.ago(ago)
        yield OilSample(
            label=label,
            drawn_at=moment(day, 300),
            laboratory=LABS[0][0],
            laboratory_number=f"U-{ago}",
            unmatched_reason=reason,
            laboratory_words="Sample label illegible",
            life_h=Decimal("1204.0") if ago > 50 else None,
            recorded_by=book.users["olof"],
            recorded_at=moment(day, 480),
        )

"""What may be picked on a form of readings: drives, instruments, units; asked of the database once for all lines."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date

from django.utils import timezone

from calcs.units import from_house, to_house, units_for
from fleet.judging_facts import instrument_state
from fleet.models import DriveUnit, Instrument, Reading
from shop.measures import HOUSE_UNITS, spoken, units_of

READS = {  # what an instrument of a kind can show; a stopwatch counts turns of a wheel or fills a measured can
    Instrument.Kind.PRESSURE: {"pressure"},
    Instrument.Kind.FLOW: {"flow"},
    Instrument.Kind.TEMPERATURE: {"temperature", "temperature difference"},
    Instrument.Kind.SPEED: {"speed", "ground speed"},
    Instrument.Kind.GROUND_SPEED: {"ground speed"},
    Instrument.Kind.TIME: {"time", "speed", "flow"},
}
FAR, NEAR = 4.0, 2.5  # how far a figure lies from the last one before it is asked about; common practice, no source


@dataclass
class Shelf:
    """The drives that may be read, the instruments in service and the person's own units."""

    by: object
    units: list[DriveUnit]
    instruments: dict[str, Instrument] = field(default_factory=dict)
    gauge_choices: list[tuple[str, str]] = field(default_factory=list)
    in_units: dict[str, str] = field(default_factory=dict)
    last: dict[tuple[int, str, str], float] = field(default_factory=dict)

    @classmethod
    def of(cls, by, units, day: date | None = None, also: Instrument | None = None, not_this=None) -> Shelf:
        """Return the units that may be read and the instruments in service, each with a word if nothing covers it on the day."""
        day = day or timezone.localdate()
        rows = list(Instrument.objects.in_service().prefetch_related("calibrations"))
        rows += [also] if also is not None and also not in rows else []
        choices = [("", "not stated"), *((str(row.pk), gauge_words(row, day)) for row in rows)]
        return cls(by, list(units), {str(row.pk): row for row in rows}, choices, units_of(by), last_readings(units, not_this))

    @property
    def unit_choices(self) -> list[tuple[str, str]]:
        return [(str(unit.pk), str(unit)) for unit in self.units]

    def unit(self, key) -> DriveUnit | None:
        return next((unit for unit in self.units if str(unit.pk) == str(key)), self.units[0] if len(self.units) == 1 else None)

    def last_of(self, key, quantity: str, direction: str) -> float | None:
        unit = self.unit(key)
        return self.last.get((unit.pk, quantity, direction)) if unit else None

    def gauges_for(self, kind: str) -> list[tuple[str, str]]:
        """Return the instruments that can show a kind of measure."""
        return [(key, words) for key, words in self.gauge_choices if not key or kind in READS[self.instruments[key].kind]]

    def units_in_order(self, kind: str) -> list[str]:
        """Return the units of a kind, the person's own first."""
        own = self.in_units.get(kind, HOUSE_UNITS[kind])
        return sorted(units_for(kind), key=lambda unit: unit != own)


def last_readings(units, not_this: Reading | None = None) -> dict[tuple[int, str, str], float]:
    """Return what was read last on each drive, by quantity and direction."""
    rows = Reading.objects.standing().filter(drive_test__unit__in=list(units), is_valid=True).exclude(pk=not_this.pk if not_this else None)
    seen = rows.order_by("drive_test__tested_at", "pk").values_list("drive_test__unit", "quantity", "direction", "value")
    return {(unit, quantity, direction): value for unit, quantity, direction, value in seen}


def unlike_last(last: float | None, number: float, unit: str, kind: str) -> str:
    """Return a question where a figure is far from the last one of its kind and another unit would bring it near; else nothing."""
    house = to_house(number, unit, kind)
    if last is None or last <= 0 or house <= 0 or 1 / FAR < house / last < FAR:
        return ""
    near = [other for other in units_for(kind) if other not in (unit, "inHg") and 1 / NEAR < to_house(number, other, kind) / last < NEAR]
    was = f"{from_house(last, unit, kind):.3g} {spoken(unit)}"
    return f"The last reading was {was}: was this one read in {' or '.join(near)}?" if near else ""


def gauge_words(instrument: Instrument, day: date) -> str:
    """Return an instrument as it is picked from a list: tag, scale, class, and whether it may be trusted."""
    scale = f"{instrument.span_low:g} to {instrument.span_high:g} {spoken(instrument.unit)}"
    classed = f", class {instrument.accuracy_class_pct:g}" if instrument.accuracy_class_pct is not None else ""
    state = instrument_state(list(instrument.calibrations.all()), day)
    doubt = "" if state.value == "good" else f" ({state.value})"
    return f"{instrument.tag} {scale}{classed}{doubt}"

"""Gauges and meters with their calibrations, and the error each of them really has."""

from dataclasses import dataclass
from datetime import timedelta

from calcs import uncertainty
from calcs.units import UNITS, to_house
from fleet.models import Calibration, Instrument
from shop.demo.book import Book
from shop.demo.stories import GAUGE_DROPPED_AGO, GAUGE_ERROR_BAR, HIGH_GAUGE
from shop.demo.times import dice, moment

# tag, kind, maker, serial, from, to, unit, class, basis, smallest step, place
GAUGES = (
    ("G-01", "pressure", "Orrel", "00123", 0, 60, "bar", 0.6, "span", 0.2, "Van 1"),
    ("G-02", "pressure", "Orrel", "00124", 0, 60, "bar", 0.6, "span", 0.2, "Bay 1"),
    ("G-03", "pressure", "Pellgauge", "P-7741", 0, 1000, "psi", 1.0, "span", 5, "Van 2"),
    ("G-07", "pressure", "Orrel", "00098", 0, 60, "bar", 1.0, "span", 0.2, "Bay 2"),
    ("G-11", "pressure", "Orrel", "01204", 0, 600, "bar", 1.0, "span", 2, "Van 1"),
    ("G-12", "pressure", "Orrel", "01205", 0, 600, "bar", 1.0, "span", 2, "Bay 1"),
    ("G-13", "pressure", "Pellgauge", "P-9020", 0, 10000, "psi", 1.0, "span", 50, "Van 2"),
    ("G-14", "pressure", "Orrel", "00777", 0, 600, "bar", 1.6, "span", 5, "Store"),
    ("G-21", "pressure", "Orrel", "00310", 0, 10, "bar", 1.0, "span", 0.05, "Bay 1"),
    ("G-22", "pressure", "Senska", "S22-0041", 0, 4, "bar", 0.25, "span", 0.01, "Bay 1"),
    ("F-01", "flow", "Strömfels", "0440-17", 0.5, 60, "L/min", 1.5, "reading", 0.1, "Van 1"),
    ("F-02", "flow", "Strömfels", "0440-18", 0.5, 60, "L/min", 1.5, "reading", 0.1, "Bay 1"),
    ("F-03", "flow", "Pellgauge", "PF-331", 0.2, 16, "gpm", 2.0, "reading", 0.05, "Van 2"),
    ("N-01", "speed", "Rotavane", "000551", 0, 10000, "rpm", 0.05, "reading", 1, "Van 1"),
    ("V-01", "ground_speed", "Rotavane", "000832", 0, 80, "km/h", 0.5, "reading", 0.1, "Van 1"),
    ("T-01", "temperature", "Senska", "ST-118", -20, 150, "degC", 0.5, "span", 0.5, "Van 1"),
    ("S-01", "time", "Rotavane", "SW-09", 0, 3600, "s", 0.1, "reading", 0.1, "Bay 1"),
)
LAST_CHECKED = {"G-07": 345, "G-14": 35, "G-12": 345, "G-21": 402}  # days ago; others within the year


@dataclass(frozen=True)
class Gauge:
    """An instrument and its true error: a lasting one within its class, and one from a day on."""

    row: Instrument
    lasting: float  # in standard uncertainties of its class

    def house_step(self) -> uncertainty.Instrument:
        factor = UNITS[self.row.unit].factor
        span = None if self.row.accuracy_basis == "reading" else (self.row.span_high - self.row.span_low) * factor
        by_reading = self.row.accuracy_class_pct if self.row.accuracy_basis == "reading" else None
        by_span = self.row.accuracy_class_pct if span else None
        return uncertainty.Instrument(self.row.tag, by_span, span, self.row.resolution * factor, by_reading)

    def error(self, value: float, kind: str, days_ago: int) -> float:
        """Return how far off the gauge stands at a true value, without scatter."""
        dropped = GAUGE_ERROR_BAR if self.row.tag == HIGH_GAUGE and days_ago <= GAUGE_DROPPED_AGO else 0.0
        return dropped + self.lasting * uncertainty.reading_uncertainty(self.house_step(), value, kind)


def make_instruments(book: Book) -> None:
    for tag, kind, maker, serial, low, high, unit, percent, basis, step, place in GAUGES:
        row = Instrument.objects.create(
            tag=tag,
            kind=kind,
            maker=maker,
            serial=serial,
            span_low=low,
            span_high=high,
            unit=unit,
            accuracy_class_pct=percent,
            accuracy_basis=basis,
            resolution=step,
            location=place,
            status="withdrawn" if tag == "G-14" else "in_service",
        )
        book.instruments[tag] = Gauge(row, float(dice("gauge", tag).normal(0, 0.15)))
        Calibration.objects.bulk_create(_calibrations(book, row))


def _calibrations(book: Book, row: Instrument):
    last = LAST_CHECKED.get(row.tag, int(dice("calibration", row.tag).integers(40, 300)))
    for years in (3, 2, 1, 0):
        day = book.span.ago(last + 365 * years)
        failed = row.tag == "G-14" and years == 0
        yield Calibration(
            instrument=row,
            done_on=day,
            due_on=day + timedelta(days=365),
            result="failed" if failed else "good",
            certificate=f"KL-{day:%y}{row.pk:03d}",
            found_bias=-14.0 if failed else None,
            recorded_by=book.users["kaisa"],
            recorded_at=moment(day, 300),
            note="Pointer had slipped on its shaft" if failed else "",
        )


def house_value(typed: float, unit: str) -> float:
    return float(to_house(typed, unit))

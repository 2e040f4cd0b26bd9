"""A reading's own mark: what was read where, when and under which conditions. The same row meets itself, whatever file it comes in."""

from __future__ import annotations

import hashlib
from datetime import UTC, datetime

from fleet.models import DriveUnit, Reading


def row_key(unit: DriveUnit, at: datetime, entry) -> str:
    """Return the mark of a row that is about to be written."""
    own = (entry.oil_temp_c, entry.engine_speed_rpm, entry.loop_pressure_bar, entry.case_pressure_bar)
    gauge = entry.instrument.tag if entry.instrument else ""
    return _mark(unit, at, entry.quantity, entry.direction, entry.port, gauge, entry.stability, [entry.value, *own, *entry.repeats[1:]])


def reading_key(reading: Reading) -> str:
    """Return the mark of a reading in the book, with the conditions that hold for it."""
    test = reading.drive_test
    own = (reading.at_oil_temp_c, reading.at_engine_speed_rpm, reading.loop_pressure_bar, reading.case_pressure_bar)
    gauge = reading.instrument.tag if reading.instrument else ""
    figures = [reading.value, *own, *reading.repeats[1:]]
    return _mark(test.unit, test.tested_at, reading.quantity, reading.direction, reading.port, gauge, reading.stability, figures)


def _mark(unit, at, quantity, direction, port, gauge, stability, figures) -> str:
    what = [unit.drive_model.code, unit.serial_key, at.astimezone(UTC).isoformat(), quantity, direction, port, gauge, stability]
    told = "\x1f".join([*what, *("" if figure is None else f"{figure:.9g}" for figure in figures)])
    return hashlib.sha256(told.encode()).hexdigest()

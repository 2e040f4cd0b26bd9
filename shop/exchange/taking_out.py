"""Everything taken out as plain files: one CSV a table with ISO dates, decimal points and units in the names, and a file that explains them."""

from __future__ import annotations

import csv
import io
import json
import re
import tempfile
import zipfile
from collections.abc import Iterator
from datetime import date, datetime, time
from decimal import Decimal

from django.apps import apps
from django.db import models
from django.utils import timezone

from calcs.units import UNITS
from fleet.models import HourReading, Reading
from shop.exchange.safe_cells import safe_cell

KEPT_BACK = {"shop.FormToken", "shop.CurrentAct", "shop.CalendarKey", "shop.ImportFile"}  # doors and secrets, no facts
SECRETS = {"password", "secret"}
SHARED = {"auth.User", "auth.User_groups", "auth.Group"}
AT_ONCE = 1000
TAIL_UNITS = {
    "bar": "bar", "rpm": "rev/min", "lpm": "L/min", "kmh": "km/h", "c": "degree Celsius", "h": "hours", "l": "litres", "cc": "cm3/rev", "kw": "kW",
    "kg": "kg", "kgm3": "kg/m3", "mm2s": "mm2/s", "m": "metres", "nm": "N.m", "pct": "per cent", "cents": "hundredths of the shop's currency",
    "days": "days", "months": "months", "km": "km", "min": "minutes", "s": "seconds", "bytes": "bytes", "kh": "thousand hours",
}  # fmt: skip
READING_HEADINGS = (
    "row", "drive_tag", "serial", "drive_model", "machine", "tested_at", "meter_hours", "tested_by", "quantity", "direction", "value", "unit",
    "value_in_house_unit", "house_unit", "instrument", "oil_temp_c", "engine_speed_rpm", "loop_pressure_bar", "case_at_bar", "port", "needle",
    "further_values", "is_valid", "invalid_reason", "note", "component_hours", "verdict", "as_read",
)  # fmt: skip


def models_of_book() -> list:
    """Return every table that holds facts of the shop."""
    found = [
        model
        for model in apps.get_models(include_auto_created=True)
        if model._meta.app_label in {"fleet", "shop"} or model._meta.label in SHARED
    ]
    return sorted((model for model in found if model._meta.label not in KEPT_BACK), key=lambda model: model._meta.db_table)


def fields_of(model) -> list[models.Field]:
    return [each for each in model._meta.local_concrete_fields if each.name not in SECRETS]


def tables_of_book() -> list[dict]:
    """Return what is taken out, with how many rows there are."""
    return [
        {"file": f"{model._meta.db_table}.csv", "holds": model._meta.verbose_name_plural, "rows": model._base_manager.count()}
        for model in models_of_book()
    ]


def packed_book():
    """Return an open file with everything packed together; it goes away when it is closed."""
    packed = tempfile.TemporaryFile()  # noqa: SIM115  handed over open; the answer that sends it closes it
    write_book(packed)
    packed.seek(0)
    return packed


def write_book(target) -> dict[str, int]:
    """Write everything to a file or a path; return rows by table."""
    counts = {}
    with zipfile.ZipFile(target, "w", zipfile.ZIP_DEFLATED) as packed:
        for model in models_of_book():
            counts[model._meta.db_table] = _pack(packed, f"{model._meta.db_table}.csv", rows_of(model)) - 1
        _pack(packed, "readings.csv", reading_rows())
        _pack(packed, "schema.csv", schema_rows())
    return counts


def _pack(packed: zipfile.ZipFile, name: str, rows) -> int:
    written = 0
    with packed.open(name, "w") as member, io.TextIOWrapper(member, "utf-8", newline="") as text:
        writer = csv.writer(text, lineterminator="\r\n")
        for row in rows:
            writer.writerow([safe_cell(plain(cell)) for cell in row])
            written += 1
    return written


def rows_of(model) -> Iterator[list]:
    """Yield the headings of a table, then its rows in the order they were written."""
    names = [each.attname for each in fields_of(model)]
    yield names
    yield from model._base_manager.order_by("pk").values_list(*names).iterator(chunk_size=AT_ONCE)


def plain(cell):
    """Return a value of the book as a cell: times with their zone, numbers as numbers, lists as JSON."""
    if isinstance(cell, bool):
        return "true" if cell else "false"
    if isinstance(cell, datetime):
        return timezone.localtime(cell).isoformat() if timezone.is_aware(cell) else cell.isoformat()
    if isinstance(cell, (date, time)):
        return cell.isoformat()
    if isinstance(cell, Decimal):
        return cell
    if isinstance(cell, (list, dict)):
        return json.dumps(cell, ensure_ascii=False, sort_keys=True)
    return cell


def schema_rows() -> Iterator[list]:
    """Yield what every column of every table holds."""
    yield ["table", "column", "holds", "type", "unit", "may_be_empty", "points_at"]
    for model in models_of_book():
        for each in fields_of(model):
            target = each.related_model._meta.db_table if each.related_model else ""
            yield [
                model._meta.db_table,
                each.attname,
                each.verbose_name,
                type_of(each),
                unit_of(each.attname),
                each.null or each.blank,
                target,
            ]


def type_of(each: models.Field) -> str:
    """Return a column's type in plain words."""
    words = {
        models.BooleanField: "true or false", models.DateTimeField: "moment, ISO 8601", models.DateField: "day, ISO 8601",
        models.IntegerField: "whole number", models.FloatField: "number", models.DecimalField: "number, exact", models.JSONField: "JSON",
    }  # fmt: skip
    kind = each.target_field if each.related_model else each
    return next((word for base, word in words.items() if isinstance(kind, base)), "text")


def unit_of(name: str) -> str:
    """Return the unit that the last word of a column's name says."""
    tail = re.split(r"_", name)[-1]
    return TAIL_UNITS.get(tail, "") if "_" in name else ""


def reading_rows() -> Iterator[list]:
    """Yield one row for each reading that stands, with headings that the import understands."""
    yield list(READING_HEADINGS)
    some = Reading.objects.standing().with_verdicts().select_related("drive_test__tested_by").order_by("pk")
    hours = meter_hours_by_test()
    for reading in some.iterator(chunk_size=AT_ONCE):
        yield _reading_row(reading, hours)


def _reading_row(reading: Reading, hours: dict) -> list:
    test = reading.drive_test
    return [
        reading.pk, test.unit.tag, test.unit.serial, test.unit.drive_model.code, test.machine.number, test.tested_at,
        hours.get((test.machine_id, test.tested_at), test.life_h), test.tested_by.get_username(), reading.quantity, reading.direction,
        reading.typed, reading.typed_unit, reading.value, reading.unit, reading.instrument.tag if reading.instrument else "",
        reading.at_oil_temp_c, reading.at_engine_speed_rpm, reading.loop_pressure_bar, reading.case_pressure_bar, reading.port,
        reading.stability, "; ".join(further(reading)), reading.is_valid, reading.invalid_reason, reading.note, test.component_h,
        reading.verdicts[0].state if reading.verdicts else "", "yes",
    ]  # fmt: skip


def further(reading: Reading) -> list[str]:
    """Return the further values of a reading in the unit it was written in."""
    unit = UNITS.get(reading.typed_unit)
    if unit is None:
        return []
    return [f"{(value - unit.offset) / unit.factor:.12g}" for value in reading.repeats[1:]]


def meter_hours_by_test() -> dict:
    """Return what the meter showed, by machine and moment."""
    rows = HourReading.objects.standing().values_list("meter__machine", "read_at", "meter_h")
    return {(machine, at): meter_h for machine, at, meter_h in rows}


def reading_lines() -> Iterator[str]:
    """Yield the lines of the file of readings, one after the other."""
    for row in reading_rows():
        out = io.StringIO()
        csv.writer(out, lineterminator="\r\n").writerow([safe_cell(plain(cell)) for cell in row])
        yield out.getvalue()

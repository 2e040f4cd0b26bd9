"""Sheets about the small invented shop floor, in every form a sheet comes in."""

import csv
import io
from datetime import datetime, timedelta

import openpyxl

LONG = [
    "serial", "model", "tested_at", "meter_hours", "quantity", "direction", "value", "unit", "oil_temp_C", "engine_rpm", "loop_bar", "gauge", "note",
]  # fmt: skip
READS = (
    ("charge_neutral", "", "21.8", "bar", "G-11"),
    ("charge_stroked", "forward", "20.6", "bar", "G-11"),
    ("main_relief", "forward", "402", "bar", "G-12"),
    ("main_relief", "reverse", "399", "bar", "G-12"),
    ("pump_case_flow", "", "6.4", "L/min", "F-01"),
)


def long_rows(tests: int = 2, reads=READS) -> list[list[str]]:
    """Rows of a sheet with one row a reading, headings first; every row can be taken."""
    rows = [LONG]
    for place in range(tests):
        at = datetime(2026, 3, 10, 9, 30) + timedelta(days=place)
        same = ["H75-0188", "H75", at.strftime("%Y-%m-%dT%H:%M"), f"{1211 + place / 2:.1f}"]
        rows += [[*same, what, way, value, unit, "61", "2290", "", gauge, ""] for what, way, value, unit, gauge in reads]
    return rows


def as_csv(rows, delimiter=",", encoding="utf-8", line_end="\n") -> bytes:
    out = io.StringIO()
    csv.writer(out, delimiter=delimiter, lineterminator=line_end).writerows(rows)
    return out.getvalue().encode(encoding)


def as_workbook(rows, change=lambda book: None) -> bytes:
    book = openpyxl.Workbook()
    for row in rows:
        book.active.append(list(row))
    change(book)
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


# what makes a row of long_rows bad: column, what stands there, words of the refusal
FAULTS = {
    "serial": [("99999", "No drive has"), ("", "No serial"), ("=HYPERLINK(1)", "formula")],
    "model": [("TX45", "is a H75")],
    "tested_at": [("2026-02-31T09:30", "no moment"), ("2099-03-12T09:30", "future"), ("soon", "no date"), ("03/04/2026", "may mean"), ("", "No date")],
    "meter_hours": [
        ("12.0", "hard to believe"), ("1,234", "may mean"), ("", "Write what the hour meter shows"), ("abc", "no number"), ("-5", "cannot stand"),
        ("99999", "hard to believe"),
    ],
    "quantity": [("charge_nutral", "nothing that is read"), ("", "not said")],
    "value": [
        ("", "No reading"), ("abt 22", "no number has"), ("NaN", "finite"), ("1e999", "beyond"), ("1,234", "may mean"), ("1_0", "no number has"),
        ("--", "no digit"), ("3000", "was it read in"), ("-99", "cannot be"), ("220000", "cannot be"),
    ],
    "unit": [("barg", "No unit"), ("L/min", "no unit of pressure"), ("", "No unit")],
    "oil_temp_C": [("610", "above 200"), ("warm", "no number has"), ("-300", "below")],
    "engine_rpm": [("9000", "above"), ("-1", "below")],
    "gauge": [("G-99", "No instrument"), ("F-01", "cannot show")],
    "note": [("x" * 241, "too long")],
}  # fmt: skip

WIDE = (
    "#bay sheet;spring\n\nSerial no.;Machine;Date;Time;Hours;By;Oil;Engine;Charge N;Relief F;Relief R;Pump drain;Drain at;Remarks\n"
    ";;;;h;;°C;1/min;bar;bar;bar;l/min;bar;\n"
    "H75-0188;M-00001;14.03.2026;13:09;1211,4;ti;56,0;1990;22,4;401;;6,2;200;after wash\n"
    ";;;;;;;;;;;;;\n"
    "H75-0188;M-00001;16.03.2026;08:05;1212,9;ti;;2003;22,1;402;398;6,4;200;\n"
)
SNAPSHOT = (
    '<?xml version="1.0"?>\n<Fleet version="1"><Equipment><EquipmentHeader><OEMName>Hollowick</OEMName><EquipmentID>M-00001</EquipmentID>'
    "<SerialNumber>HW180-00421</SerialNumber></EquipmentHeader>"
    '<CumulativeOperatingHours datetime="2026-03-20T04:50:10Z"><Hour>1214.9</Hour></CumulativeOperatingHours></Equipment></Fleet>'
)
SNAPSHOT_AS_JSON = (
    '{"Fleet": {"Equipment": [{"EquipmentHeader": {"OEMName": "Hollowick", "EquipmentID": "M-00001", "SerialNumber": "HW180-00421"}, '
    '"CumulativeOperatingHours": {"Datetime": "2026-03-20T04:50:10Z", "Hour": 1214.9}}]}}'
)
LAB = (
    "LabNo,SampleLabel,Sampled,Unit,HrsOil,HrsUnit,Fluid,V40,Water%,Fe,Cu,Cr,ISO4406,Comment\n"
    'T-1,LK 00001,2026-03-12,M-00001,200,1211,HYDROL46,"46,1",650 ppm,<1,22,ND,20/18/14,\n'
    "T-2,LK-777,2026-03-12,HYD,200,1211,46,46.2,..,12,8,1,19/17/13,resample\n"
)

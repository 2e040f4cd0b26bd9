"""Files as sheets: encodings, signs between cells, line numbers, limits; workbooks that would unpack beyond all measure."""

import io
import zipfile
from datetime import date, datetime

import openpyxl
import pytest
from openpyxl.utils.datetime import CALENDAR_MAC_1904

from shop.exchange.limits import MOST_BYTES
from shop.exchange.sheets import NumberCell, column_letters, read_sheets
from shop.refusals import Refused
from tests.shop.exchange.sheets_of_floor import as_csv, as_workbook, long_rows

ROWS = [["serial", "note"], ["00123", "größe 5"]]


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "cp1252"])
@pytest.mark.parametrize("delimiter", [",", ";", "\t"])
@pytest.mark.parametrize("line_end", ["\n", "\r\n"])
def test_the_same_cells_come_out_however_the_text_is_kept(encoding, delimiter, line_end):
    sheet = read_sheets(as_csv(ROWS, delimiter, encoding, line_end))[0]
    assert sheet.rows == [(1, ["serial", "note"]), (2, ["00123", "größe 5"])]
    assert any("Windows" in note for note in sheet.notes) == (encoding == "cp1252")


def test_lines_are_counted_as_a_spreadsheet_shows_them():
    sheet = read_sheets(b'a,b\n\n"one\ntwo",c\nd,e\n')[0]
    assert [line for line, _ in sheet.rows] == [1, 3, 4]


def test_a_comma_inside_a_figure_does_not_part_cells_where_semicolons_do():
    assert read_sheets(b"a;b;c\n1,5;2,5;3,5\n4,5;5,5;6,5\n")[0].rows[1][1] == ["1,5", "2,5", "3,5"]


@pytest.mark.parametrize(
    "body, words",
    [
        (b"", "empty"),
        (b"  \n ", "empty"),
        (b"a,b\n1,\x00\n", "zero byte in line 2"),
        (b"a,b\n1,\x01\n", "no text"),
        (b'a,b\n1,"open\n', "quotation mark"),
        (b"a,b\n1," + b"x" * 2001, "2\u202f001 signs"),
        (b"a,b\n1," + b"x" * 200_000, "longer than"),
        (b"a,b\n" + b"1," * 5000 + b"1", "5001 columns"),
        (b"a,b\n" + b"1,2\n" * 20_001, "20\u202f000 rows"),
        (b"%PDF-1.4", "PDF"),
        (b"\xd0\xcf\x11\xe0", "old kind"),
        (b"a,b\n\x81\x8d", "cannot be read"),
        (b"a" * (MOST_BYTES + 1), "10 MB"),
    ],
)
def test_what_is_no_sheet_is_refused_with_the_reason(body, words):
    with pytest.raises(Refused, match=words):
        read_sheets(body)


def test_a_shielded_formula_is_read_as_the_text_it_was():
    assert read_sheets(b"a,b\n'=1+1,'tis so\n")[0].rows[1][1] == ["=1+1", "'tis so"]


def test_columns_are_named_as_a_spreadsheet_names_them():
    assert [column_letters(place) for place in (0, 25, 26, 51, 52, 701, 702)] == ["A", "Z", "AA", "AZ", "BA", "ZZ", "AAA"]


def test_a_workbook_keeps_leading_zeros_days_and_times():
    def change(book):
        page = book.active
        page["A3"], page["A3"].number_format = 123, "00000"
        page["B3"], page["C3"], page["D3"] = date(2026, 3, 14), datetime(2026, 3, 14, 13, 9), True

    rows = read_sheets(as_workbook([["serial", "day", "when", "ok"], ["00123", 1.234, 5800, None]], change))[0].rows
    assert rows[1][1] == ["00123", "1.2340", "5800", ""]
    assert isinstance(rows[1][1][1], NumberCell)
    assert rows[2][1] == ["00123", "2026-03-14", "2026-03-14T13:09:00", "yes"]


def test_a_workbook_that_counts_from_1904_says_so():
    def change(book):
        book.epoch = CALENDAR_MAC_1904
        book.active["A2"] = 43903

    sheet = read_sheets(as_workbook([["day", "b"]], change))[0]
    assert sheet.epoch.year == 1904


def test_a_formula_without_a_kept_value_is_shown_as_a_formula_not_as_nothing():
    rows = read_sheets(as_workbook([["a", "b"], ["=1+1", "x"]]))[0].rows
    assert rows[1][1] == ["=1+1", "x"]


def bomb(name: str, body: bytes) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(as_workbook(long_rows()))) as packed, zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as anew:
        for part in packed.namelist():
            anew.writestr(part, body if part == name else packed.read(part))
        if name not in packed.namelist():
            anew.writestr(name, body)
    return out.getvalue()


SHEET = "xl/worksheets/sheet1.xml"
HEAD = b'<worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><sheetData>'
TAIL = b"</sheetData></worksheet>"


def many_members() -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as packed:
        for number in range(1_001):
            packed.writestr(f"xl/{number}.xml", b"<a/>")
    return out.getvalue()


def far_cell() -> bytes:
    return as_workbook([["a", "b"]], lambda book: book.active.__setitem__("BA200000", "far"))


@pytest.mark.parametrize(
    "make, words",
    [
        (lambda: bomb(SHEET, HEAD + b" " * 30_000_000 + TAIL), "100 to 1"),
        (lambda: bomb("xl/media/x.bin", b"\x00" * 60_000_000), "50 MB"),
        (many_members, "1\u202f001 parts"),
        (far_cell, "row 200\u202f000"),
        (lambda: bomb(SHEET, HEAD + b'<row r="1"><c r="ZZ1" t="inlineStr"><is><t>x</t></is></c></row>' + TAIL), "column ZZ"),
        (lambda: bomb("xl/nested.zip", b"PK"), "another packed file"),
        (lambda: bomb(SHEET, b'<!DOCTYPE a [<!ENTITY b "c">]>' + HEAD + TAIL), "entities"),
        (lambda: bomb(SHEET, HEAD + b"<row>" * 100 + TAIL), "damaged"),
        (lambda: bomb(SHEET, b"no xml"), "damaged"),
        (lambda: as_workbook(long_rows())[:-300], "damaged"),
    ],
)
def test_a_workbook_beyond_the_limits_is_refused_before_it_is_opened(make, words):
    body = make()
    with pytest.raises(Refused, match=words):
        read_sheets(body)


def test_a_workbook_without_a_sheet_of_cells_gives_an_empty_one():
    book, out = openpyxl.Workbook(), io.BytesIO()
    book.save(out)
    assert read_sheets(out.getvalue())[0].rows == []

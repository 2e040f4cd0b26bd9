"""Sheets of readings: understood, refused cell by cell, written once however often they come."""

import random
from datetime import date
from decimal import Decimal

import pytest

from fleet.models import ConditionAssessment, DriveModel, DriveTest, DriveUnit, HourReading, Installation, Reading
from shop.models import Act
from shop.refusals import Refused
from tests.faults import bad_rows
from tests.shop.exchange.sheets_of_floor import FAULTS, LONG, WIDE, as_csv, as_workbook, long_rows


def dump():
    """What stands in the book of readings, by content alone."""
    rows = Reading.objects.order_by("drive_test__tested_at", "quantity", "direction", "pk").values_list(
        "drive_test__unit__serial",
        "drive_test__tested_at",
        "drive_test__life_h",
        "quantity",
        "direction",
        "value",
        "oil_temp_c",
        "superseded_by",
    )
    return list(rows), list(HourReading.objects.order_by("read_at", "meter_h").values_list("read_at", "meter_h", "is_confirmed"))


def reasons(plan):
    return {(refusal.line, refusal.column.split(" ")[0]): refusal.reason for refusal in plan.refused}


def test_a_good_sheet_is_written_with_hours_tests_and_verdicts(bring, floor):
    plan = bring(as_csv(long_rows()))
    assert (len(plan.fresh), plan.refused, plan.known) == (10, [], 0)
    test = DriveTest.objects.order_by("tested_at").last()
    assert (test.origin, test.oil_temp_c, test.engine_speed_rpm, test.life_h) == ("imported", 61.0, 2290.0, Decimal("1211.5"))
    assert HourReading.objects.filter(origin="imported", is_confirmed=True).count() == 2
    assert ConditionAssessment.objects.in_force().count() == 10
    assert Reading.objects.get(drive_test=test, quantity="main_relief", direction="forward").typed == "402"


def test_an_import_is_one_act_with_the_file_as_its_reason(bring):
    bring(as_csv(long_rows()))
    assert list(Act.objects.values_list("name", "reason")) == [("Readings imported", "a sheet")]


@pytest.mark.parametrize(
    "again",
    [
        lambda rows: as_csv(rows),
        lambda rows: as_csv([rows[0], *random.Random(4).sample(rows[1:], len(rows) - 1)]),
        lambda rows: as_csv(rows, ";", "utf-16", "\r\n"),
        lambda rows: as_workbook(rows),
        lambda rows: as_csv([["a remark above"], *rows, *rows[1:4]]),
        lambda rows: as_csv([[*row[:6], row[6].replace("21.8", "21,80"), *row[7:]] for row in rows]),
        lambda rows: as_csv([list(reversed(row)) for row in rows]),
    ],
    ids=["same", "shuffled", "saved anew", "workbook", "with doubles", "other decimal sign", "columns turned round"],
)
def test_the_same_rows_add_nothing_however_they_come_again(bring, again):
    bring(as_csv(long_rows()))
    before = dump()
    plan = bring(again(long_rows()))
    assert (len(plan.fresh), plan.known, plan.refused) == (0, 10, [])
    assert dump() == before


def test_the_order_of_rows_does_not_matter(look, floor, technician):
    rows, dice = long_rows(4), random.Random(11)
    whole = {row.key for row in look(as_csv(rows)).fresh}
    for _ in range(20):
        dice.shuffle(body := rows[1:])
        plan = look(as_csv([rows[0], *body]))
        assert {row.key for row in plan.fresh} == whole and not plan.refused


def test_a_row_that_differs_from_the_book_is_refused_until_a_reason_is_given(bring):
    bring(as_csv(long_rows(1)))
    changed = long_rows(1)
    changed[1][6] = "22.9"
    plan = bring(as_csv(changed))
    assert reasons(plan)[(2, "G")].startswith("The book has 21.8 bar")
    assert Reading.objects.count() == 5
    plan = bring(as_csv(changed), put_right="misread, the sheet is right")
    assert (len(plan.amended), plan.known, Reading.objects.count()) == (1, 4, 6)
    new = Reading.objects.standing().get(quantity="charge_neutral")
    assert (new.value, new.supersedes.value, new.correction_reason) == (22.9, 21.8, "misread, the sheet is right")
    assert bring(as_csv(changed)).known == 5
    assert bring(as_csv(long_rows(1))).known == 5, "the old sheet does not undo the correction"
    assert Reading.objects.count() == 6


def test_a_reading_typed_on_a_page_is_known_when_it_comes_in_a_file(bring, look):
    bring(as_csv(long_rows(1)))
    Reading.objects.update(content_key=None)
    assert look(as_csv(long_rows(1))).known == 5


def test_two_figures_for_one_reading_refuse_each_other(look):
    rows = long_rows(1)
    rows.append([*rows[1][:6], "23.0", *rows[1][7:]])
    plan = look(as_csv(rows))
    assert set(reasons(plan)) == {(2, "G"), (7, "G")}
    assert len(plan.fresh) == 4


def test_a_sheet_with_one_row_a_test_is_read_with_blanks_as_not_read(bring):
    plan = bring(WIDE.encode("utf-8-sig"))
    assert (plan.refused, len(plan.fresh)) == ([], 7)
    first = Reading.objects.get(quantity="charge_neutral", drive_test__life_h=Decimal("1211.4"))
    assert (first.value, first.typed, first.at_oil_temp_c, first.loop_pressure_bar) == (22.4, "22,4", 56.0, None)
    drain = Reading.objects.get(quantity="pump_case_flow", drive_test=first.drive_test)
    assert (drain.loop_pressure_bar, first.drive_test.note) == (200.0, "after wash")
    cold = DriveTest.objects.get(life_h=Decimal("1212.9"))
    assert cold.oil_temp_c is None


def test_initials_stand_for_the_one_person_who_has_them(bring, technician):
    bring(WIDE.replace(";ti;", ";ti ;").encode())
    assert set(DriveTest.objects.values_list("tested_by", flat=True)) == {technician.pk}
    assert "tested by" not in "".join(DriveTest.objects.values_list("note", flat=True))


def test_units_of_the_sheet_become_those_of_the_book(bring):
    us = [
        ("main_relief", "forward", "5800", "psi", ""),
        ("pump_case_flow", "", "1.7", "gpm", ""),
        ("top_speed", "forward", "18.6", "mph", ""),
    ]
    rows = long_rows(1, us)
    rows[0] = ["oil_temp_F" if name == "oil_temp_C" else name for name in rows[0]]
    bring(as_csv(rows))
    found = {reading.quantity: reading for reading in Reading.objects.all()}
    assert found["main_relief"].value == pytest.approx(5800 * 0.0689475729, rel=1e-8)  # NIST SP 811: 1 psi = 6894.757 Pa
    assert found["pump_case_flow"].value == pytest.approx(1.7 * 3.785411784)  # NIST SP 811
    assert found["top_speed"].value == pytest.approx(18.6 * 1.609344)  # NIST SP 811
    assert found["top_speed"].at_oil_temp_c == pytest.approx((61 - 32) / 1.8)


@pytest.mark.parametrize(("column", "text", "words"), [(column, *fault) for column, faults in FAULTS.items() for fault in faults])
def test_each_fault_is_named_by_line_column_value_and_reason(look, column, text, words):
    rows = long_rows(2)
    rows[3] = list(rows[1])
    rows[3][LONG.index("tested_at")] = "2026-03-10T09:45"
    rows[3][LONG.index(column)] = text
    plan = look(as_csv(rows))
    assert {refusal.line for refusal in plan.refused} == {4}
    found = [refusal for refusal in plan.refused if refusal.column.endswith(f" {column}")]
    assert found and found[0].value == text.strip()[:200]
    assert any(words in refusal.reason for refusal in plan.refused)
    assert all(refusal.instead for refusal in plan.refused)


def test_known_bad_rows_in_a_good_sheet_are_listed_exactly(floor, technician):
    """Six of the sheets of 200 rows of which the script tries 500: every spoilt row is found at its cell, and no other."""
    told = bad_rows.tried(6, 20260310, technician)
    assert told["spoilt"] > 40 and told["found at their cell, with value, reason and what to write"] == told["spoilt"]
    assert (told["missed"], told["refused and not spoilt"], told["good rows not taken"]) == (0, 0, 0)


def test_what_is_asked_about_stands_where_the_sheet_says_as_read(look):
    rows = long_rows(1)
    rows[0] = [*rows[0], "As read"]
    rows[1:] = [[*row, ""] for row in rows[1:]]
    rows[1][6], rows[1][-1] = "58", "yes"  # bar: above what a charge pump gives
    plan = look(as_csv(rows))
    assert plan.refused == []
    assert "as read, though" in plan.fresh[0].entry.note


def test_a_row_too_short_or_too_long_is_refused_as_a_row(look):
    rows = long_rows(1)
    rows[1], rows[2] = rows[1][:9], [*rows[2], "one", "more"]
    found = {refusal.line: refusal.reason for refusal in look(as_csv(rows)).refused}
    assert found == {2: "Columns are missing: 9 of 13 are there.", 3: "More columns than headings: 15 for 13."}


def test_hours_of_one_machine_that_cannot_both_be_true_refuse_each_other(look):
    rows = long_rows(2)
    for row in rows[1:6]:
        row[3] = "1219.0"  # then 1211.5 the day after
    plan = look(as_csv(rows))
    assert {refusal.line for refusal in plan.refused} == set(range(2, 12))
    assert all("both cannot be true" in refusal.reason for refusal in plan.refused)


def test_nothing_is_written_when_a_row_is_refused_and_good_rows_were_not_asked_for(floor, technician, as_technician):
    from django.core.files.uploadedfile import SimpleUploadedFile

    from shop.models import ImportFile

    rows = long_rows(1)
    rows[2][6] = "abc"
    as_technician.post("/imports/", {"kind": "readings", "file": SimpleUploadedFile("a.csv", as_csv(rows))})
    file = ImportFile.objects.get()
    assert as_technician.post(f"/imports/{file.pk}/write/", {"digest": file.found["digest"]}).status_code == 422
    assert Reading.objects.count() == 0


def test_a_drive_is_found_in_the_machine_it_was_in_on_that_day(look, floor):
    floor.installation.to_date, floor.installation.to_life_h = date(2026, 3, 10), Decimal("1211.0")
    floor.installation.save()
    plan = look(as_csv(long_rows(2)))
    assert {refusal.line for refusal in plan.refused} == {7, 8, 9, 10, 11}
    assert "was in no machine on 2026-03-11" in plan.refused[0].reason


def test_a_serial_on_drives_of_two_models_needs_the_model(look, floor):
    other = DriveModel.objects.get()
    other.pk, other.code = None, "H90"
    other.save()
    unit = DriveUnit.objects.create(tag="D-00090", serial="H75-0188", drive_model=other)
    Installation.objects.create(unit=unit, machine=floor.machine, position="rear", from_date=date(2021, 4, 1), from_life_h=0)
    assert look(as_csv(long_rows(1))).refused == []
    rows = [[cell for place, cell in enumerate(row) if place != 1] for row in long_rows(1)]
    assert "several models" in look(as_csv(rows)).refused[0].reason


def test_a_serial_that_lost_its_zeros_is_named_as_it_should_be(look, floor):
    floor.unit.serial = "00123"
    floor.unit.save()
    rows = [[cell.replace("H75-0188", "123") for cell in row] for row in long_rows(1)]
    assert look(as_csv(rows)).refused[0].instead == "Perhaps 00123: spreadsheets drop leading zeros"


@pytest.mark.parametrize(
    ("body", "words"),
    [
        (b"a,b,c\n1,2,3\n", "No row of headings"),
        (b"serial,date,hours,value\n", "what was read"),
        (b"serial,quantity,value,hours,unit\n1,2,3,4,5\n", "the day of the test"),
        (b"serial,date,hours,charge n\n1,2,3,4\n", "No unit stands for D"),
        (b"serial,serial no,date,hours,value,quantity\n", "both mean"),
        (b"serial,date,hours,value,quantity,charge n [bar]\n", "Keep one of the two"),
        (b"serial,date,hours,charge n\n,,,km/h\n", "no unit of pressure"),
        (b"serial,date,hours,charge n [bar]\n,,,psi\n", "Settle on one"),
    ],
)
def test_a_sheet_that_cannot_be_understood_is_refused_with_what_is_missing(look, body, words):
    with pytest.raises(Refused, match=words):
        look(body)


def test_columns_that_are_not_understood_are_named(look):
    rows = [[*row, "x"] for row in long_rows(1)]
    rows[0][-1] = "Colour of the oil"
    assert look(as_csv(rows)).unknown == ["N “Colour of the oil”"]

"""Everything taken out: plain, explained, harmless in a spreadsheet, and the readings come in again as they went out."""

import csv
import io
import zipfile

import pytest
from django.core.management import CommandError, call_command

from fleet.models import ConditionAssessment, Machine, Reading
from shop.exchange.safe_cells import safe_cell
from shop.exchange.taking_out import models_of_book, write_book
from tests.shop.exchange.sheets_of_floor import as_csv, long_rows


def taken(response) -> bytes:
    return b"".join(response.streaming_content)


def table(packed: zipfile.ZipFile, name: str) -> list[dict]:
    return list(csv.DictReader(io.StringIO(packed.read(name).decode())))


@pytest.mark.parametrize(
    "text", ["=1+1", "+cmd", "-x", "@a", "\ta", "\ra", "\x00=a", "  =a", "\u3000=a", "＝a", "＋a", "－a", "＠a", "\n=a"]
)
def test_a_text_that_a_spreadsheet_would_run_is_shielded(text):
    assert safe_cell(text).startswith("'")


@pytest.mark.parametrize("text", ["-5.2", "+3", "22,9", "1e-3", "abc", "a=b", "00123", "", "x-y"])
def test_numbers_and_plain_texts_stay_as_they_are(text):
    assert safe_cell(text) == text


@pytest.mark.parametrize(("value", "shown"), [(-5.2, "-5.2"), (3, "3"), (None, "")])
def test_figures_are_figures(value, shown):
    assert safe_cell(value) == shown


def test_the_readings_taken_out_and_brought_in_again_add_nothing(bring, as_manager):
    rows = long_rows(2)
    rows[0] = [*rows[0], "Further values", "Port"]
    rows[1:] = [[*row, "", ""] for row in rows[1:]]
    rows[1][-2:] = ["21.9; 21.7", "M2"]
    rows[3][6:8] = ["5805", "psi"]
    bring(as_csv(rows))
    body = taken(as_manager.get("/take-out/readings.csv"))
    plan = bring(body)
    assert (plan.refused, plan.known, len(plan.fresh)) == ([], 10, 0)


def test_the_readings_taken_out_fill_an_empty_book_with_the_same_figures(bring, as_manager, look):
    bring(as_csv(long_rows(2)))
    body = taken(as_manager.get("/take-out/readings.csv"))
    before = sorted(Reading.objects.values_list("content_key", "value"))
    ConditionAssessment.objects.all().delete()
    Reading.objects.all().delete()
    plan = look(body)
    assert sorted((row.key, row.entry.value) for row in plan.fresh) == before


def test_the_whole_book_is_packed_with_every_row_and_column_explained(bring, floor, as_manager):
    bring(as_csv(long_rows(1)))
    Machine.objects.update(note="=HYPERLINK(1)")
    packed = zipfile.ZipFile(io.BytesIO(taken(as_manager.get("/take-out/book.zip"))))
    assert {f"{model._meta.db_table}.csv" for model in models_of_book()} | {"readings.csv", "schema.csv"} == set(packed.namelist())
    for model in models_of_book():
        assert len(table(packed, f"{model._meta.db_table}.csv")) == model._base_manager.count(), model
    assert table(packed, "fleet_machine.csv")[0]["note"] == "'=HYPERLINK(1)"
    explained = {(row["table"], row["column"]): row for row in table(packed, "schema.csv")}
    assert explained[("fleet_reading", "loop_pressure_bar")]["unit"] == "bar"
    assert explained[("fleet_reading", "drive_test_id")]["points_at"] == "fleet_drivetest"
    headings = {
        model._meta.db_table: packed.read(f"{model._meta.db_table}.csv").decode().split("\r\n")[0].split(",") for model in models_of_book()
    }
    assert {(name, column) for name, columns in headings.items() for column in columns} == set(explained)


def test_no_secret_goes_out(bring, floor, technician, as_manager):
    packed = zipfile.ZipFile(io.BytesIO(taken(as_manager.get("/take-out/book.zip"))))
    whole = b"".join(packed.read(name) for name in packed.namelist() if name != "schema.csv")
    assert technician.password.encode() not in whole
    assert "password" not in table(packed, "auth_user.csv")[0]


def test_only_the_manager_takes_everything_out(floor, as_manager, as_technician, as_office, as_stranger):
    for address in ("/take-out/", "/take-out/book.zip", "/take-out/readings.csv"):
        assert as_manager.get(address).status_code == 200
        assert as_technician.get(address).status_code == as_office.get(address).status_code == 403
        assert as_stranger.get(address).status_code == 302


def test_the_command_writes_one_file_and_never_over_another(floor, tmp_path):
    target = tmp_path / "book.zip"
    call_command("export_book", target, stdout=io.StringIO())
    assert zipfile.ZipFile(target).testzip() is None
    with pytest.raises(CommandError, match="there already"):
        call_command("export_book", target)
    assert write_book(io.BytesIO())["fleet_machine"] == 1

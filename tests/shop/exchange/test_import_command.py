"""The command takes what the page takes, tells every refused row, and fails where one was refused."""

import io

import pytest
from django.core.management import CommandError, call_command

from fleet.models import Reading
from tests.shop.exchange.sheets_of_floor import as_csv, long_rows


@pytest.fixture
def run(floor, manager, tmp_path):
    def told(body: bytes, *more) -> str:
        path, out = tmp_path / "sheet.csv", io.StringIO()
        path.write_bytes(body)
        try:
            call_command("import_readings", str(path), *more, stdout=out)
        except CommandError as trouble:
            out.write(f"FAILED {trouble}")
        return out.getvalue()

    return told


def spoilt() -> bytes:
    rows = long_rows(1)
    rows[2][6] = "abc"
    return as_csv(rows)


def test_a_good_sheet_is_written_and_the_second_time_adds_nothing(run):
    assert "10 readings in 2 tests" in run(as_csv(long_rows()))
    assert "10 were there already" in run(as_csv(long_rows()))
    assert Reading.objects.count() == 10


def test_one_bad_row_keeps_all_out_and_is_named(run):
    told = run(spoilt())
    assert "line 3, column G value: “abc”" in told
    assert "FAILED 1 of 5 rows were refused; nothing was written." in told
    assert Reading.objects.count() == 0


def test_good_rows_alone_are_written_where_that_is_asked_for(run):
    assert "FAILED 1 of 5 rows were refused; the others were written." in run(spoilt(), "--good-rows-only")
    assert Reading.objects.count() == 4


def test_looking_only_writes_nothing(run):
    run(as_csv(long_rows()), "--try")
    assert Reading.objects.count() == 0


def test_the_order_of_days_and_the_decimal_sign_can_be_stated(run):
    body = as_csv(
        [[cell.replace("2026-03-10T09:30", "10/03/2026 09:30").replace("21.8", "21,800") for cell in row] for row in long_rows(1)]
    )
    assert "may mean" in run(body)
    assert "5 readings" in run(body, "--day-first", "--decimal", ",")
    assert Reading.objects.get(quantity="charge_neutral").value == 21.8


def test_somebody_must_answer_for_it(run, floor, counter, tmp_path):
    assert "FAILED Nobody here is called nobody." in run(as_csv(long_rows()), "--by", "nobody")
    assert "may not import files" in run(as_csv(long_rows()), "--by", counter.username)
    with pytest.raises(CommandError, match="cannot be read"):
        call_command("import_readings", str(tmp_path / "not there.csv"))

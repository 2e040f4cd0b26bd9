"""One cell: numbers, days, times. What could mean two things is asked about on every way in alike."""

from datetime import date, time

import pytest
from django.utils import timezone
from openpyxl.utils.datetime import MAC_EPOCH, WINDOWS_EPOCH

from calcs.figures import read_number
from shop.exchange.cells import CellRefused, clock_of, day_of, local_moment, moment_of, plain_number, unmistakable
from shop.exchange.sheets import NumberCell


@pytest.mark.parametrize(
    "text, order, day",
    [
        ("2025-03-14", "", date(2025, 3, 14)),
        ("2024-02-29", "", date(2024, 2, 29)),
        ("2025/03/14", "", date(2025, 3, 14)),
        ("14.03.2025", "", date(2025, 3, 14)),
        ("4.3.2025", "", date(2025, 3, 4)),
        ("14/03/2025", "", date(2025, 3, 14)),
        ("10/23/2026", "", date(2026, 10, 23)),
        ("03/03/2025", "", date(2025, 3, 3)),
        ("03/04/2025", "day", date(2025, 4, 3)),
        ("03/04/2025", "month", date(2025, 3, 4)),
        ("03-04-25", "day", date(2025, 4, 3)),
        ("14 Mar 2025", "", date(2025, 3, 14)),
    ],
)
def test_a_day_that_is_clear_or_stated_is_read(text, order, day):
    assert day_of(text, order) == day


@pytest.mark.parametrize("text", ["03/04/2025", "09/11/26", "3-4-2025"])
def test_a_day_that_may_be_two_is_refused_with_both_named(text):
    with pytest.raises(CellRefused, match=" or "):
        day_of(text, "")


@pytest.mark.parametrize("text", ["2025-02-31", "31.04.2025", "29.02.2023", "soon", "", "45365", "00/00/0000", "2025-13-01", "99999", "1"])
def test_what_is_no_day_is_refused(text):
    with pytest.raises(CellRefused):
        day_of(text, "day")


def test_day_numbers_of_a_workbook_count_from_its_own_epoch():
    assert day_of("45365", "", WINDOWS_EPOCH) == date(
        2024, 3, 14
    )  # ECMA-376, part 1, 18.17.4: serial 1 is 1900-01-01, with a 29 February 1900
    assert day_of("43903", "", MAC_EPOCH) == date(2024, 3, 14)  # 1462 days apart


CLOCKS = [("13:09", time(13, 9)), ("1:05 pm", time(13, 5)), ("12:00 am", time(0)), ("0.5", time(12)), ("08.30", time(8, 30))]


@pytest.mark.parametrize("text, clock", CLOCKS)
def test_a_time_of_day_is_read(text, clock):
    assert clock_of(text) == clock


@pytest.mark.parametrize("text", ["25:00", "13:61", "noon", "13", "1.5"])
def test_what_is_no_time_of_day_is_refused(text):
    with pytest.raises(CellRefused):
        clock_of(text)


def test_a_moment_keeps_its_zone_and_without_one_is_the_shops_own():
    with timezone.override("Europe/Berlin"):
        assert moment_of("2025-07-09T12:00", "").isoformat() == "2025-07-09T10:00:00+00:00"
        assert moment_of("2025-07-09T12:00Z", "").isoformat() == "2025-07-09T12:00:00+00:00"
        assert moment_of("09.07.2025 23:30", "").isoformat() == "2025-07-09T21:30:00+00:00"


def test_the_hour_that_summer_time_takes_or_doubles_is_asked_about():
    with timezone.override("Europe/Berlin"):
        with pytest.raises(CellRefused, match="does not exist"):
            local_moment(date(2025, 3, 30), time(2, 30))
        with pytest.raises(CellRefused, match="comes twice"):
            local_moment(date(2025, 10, 26), time(2, 30))
        assert moment_of("2025-10-26T02:30+01:00", "").isoformat() == "2025-10-26T01:30:00+00:00"


@pytest.mark.parametrize("text", ["2025-02-30T10:00", "0000-00-00T00:00", "9999-12-31T23:59-12:00", "2025-01-01T99:00"])
def test_a_moment_that_never_was_is_refused(text):
    with pytest.raises(CellRefused):
        moment_of(text, "")


@pytest.mark.parametrize("number", [1.234, 12.345, 123.456, 0.5, 1234.0, 5800.0, -3.125, 1e-7, 999.999, 22.9])
def test_a_number_written_out_reads_back_as_itself(number):
    assert read_number(unmistakable(number)) == number


def test_a_stated_decimal_sign_settles_a_figure_that_leaves_it_open():
    assert read_number(plain_number("1,234", ",")) == 1.234
    assert read_number(plain_number("1.234", ",")) == 1234
    assert plain_number("1,234", None) == "1,234"  # left for the form, which asks


def test_a_number_of_a_workbook_is_not_read_by_the_decimal_sign_of_texts():
    assert read_number(plain_number(NumberCell("22.9"), ",")) == 22.9

"""A typed number: read as meant, asked about, or refused with a reason."""

import contextlib
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from calcs.figures import DoubtfulNumber, NumberRefused, read_number


@pytest.mark.parametrize(
    ("text", "number"),
    [
        ("20.6", 20.6),
        ("20,6", 20.6),
        (" 7 ", 7),
        ("-3,5", -3.5),
        ("+4", 4),
        ("1 234.5", 1234.5),
        ("1'234.5", 1234.5),
        ("1,234.5", 1234.5),
        ("1.234,5", 1234.5),
        ("1\u00a0234,5", 1234.5),
        ("1\u202f234", 1234),
        ("1\u2019234.5", 1234.5),
        ("0.125", 0.125),
        ("0,125", 0.125),
        (".5", 0.5),
        ("5.", 5),
        ("1234.567", 1234.567),
        ("1,234,567", 1234567),
        ("1.234.567", 1234567),
        ("1.5e3", 1500),
        ("1.234e0", 1.234),
        ("\u22122.5", -2.5),
        ("12.3456", 12.3456),
        ("1 234.567", 1234.567),
        ("00123", 123),
        ("0", 0),
        ("1,234,567.8", 1234567.8),
    ],
)
def test_a_figure_is_read_as_meant(text, number):
    assert read_number(text) == number


@pytest.mark.parametrize(
    ("text", "readings"), [("1,234", ("1234", "1.234")), ("1.234", ("1234", "1.234")), ("-12,500", ("12500", "12.500"))]
)
def test_three_digits_after_a_lone_separator_are_asked_about(text, readings):
    with pytest.raises(DoubtfulNumber) as asked:
        read_number(text)
    assert all(reading in str(asked.value) for reading in readings)


def test_a_stated_decimal_sign_settles_the_doubt():
    assert read_number("1,234", decimal=",") == 1.234
    assert read_number("1,234", decimal=".") == 1234
    assert read_number("1.234", decimal=".") == 1.234
    assert read_number("1.234", decimal=",") == 1234


@pytest.mark.parametrize(("text", "decimal"), [("1,5", "."), ("1.5", ","), ("1.234,5", "."), ("1,234.5", ","), ("12,34,567", None)])
def test_a_figure_that_goes_against_the_stated_sign_or_the_grouping_is_refused(text, decimal):
    with pytest.raises(NumberRefused):
        read_number(text, decimal=decimal)


@pytest.mark.parametrize(
    "text",
    [
        "",
        "  ",
        "--",
        "-",
        ".",
        ",",
        "nan",
        "NaN",
        "inf",
        "-Infinity",
        "1e999",
        "1_000",
        "\uff11\uff12",
        "\u0661\u0662",
        "12 bar",
        "1-2",
        "1e",
        "e5",
        "0x10",
        "1 23",
        "12 34.5",
        "1'23",
        "1..2",
        "1.2.3,4,5",
        "1 234'567",
        "2 1/2",
        "9" * 41,
        "1.5 000",
        "--5",
        "1\n2",
    ],
)
def test_what_is_no_number_is_refused_with_a_reason(text):
    with pytest.raises(NumberRefused) as refused:
        read_number(text)
    assert str(refused.value).endswith(".")


def test_the_reason_names_the_sign_that_is_wrong():
    with pytest.raises(NumberRefused, match='the sign "_"'):
        read_number("1_000")
    with pytest.raises(NumberRefused, match="beyond any reading"):
        read_number("1e999")
    with pytest.raises(NumberRefused, match="not a finite number"):
        read_number("NaN")


def test_an_unknown_decimal_sign_is_a_mistake_of_the_caller():
    with pytest.raises(ValueError, match="decimal must be"):
        read_number("1", decimal=";")


@given(st.floats(-1e9, 1e9).map(lambda x: round(x, 2)))
def test_point_and_comma_read_alike_when_two_places_are_written(value):
    text = f"{value:.2f}"
    assert read_number(text) == float(text)
    assert read_number(text.replace(".", ",")) == float(text)
    assert read_number(f"{value:,.2f}") == float(text)


@given(st.text(max_size=12))
def test_any_text_is_read_or_refused_and_never_gives_nan(text):
    with contextlib.suppress(NumberRefused):
        assert math.isfinite(read_number(text))


@pytest.mark.parametrize(
    ("text", "number"), [("-1 234,5", -1234.5), ("+1'234.5", 1234.5), ("-1.234,5", -1234.5), ("1 234E1", 12340), ("2E3", 2000)]
)
def test_a_sign_or_a_power_beside_grouping_is_read(text, number):
    assert read_number(text) == number


def test_spaces_settle_the_decimal_sign_even_before_three_digits():
    assert read_number("1 234 567,891") == 1234567.891


def test_two_signs_that_both_stand_twice_are_no_number():
    with pytest.raises(NumberRefused):
        read_number("1.234.567,89,1")
    with pytest.raises(NumberRefused):
        read_number("1 234,5 678")
    with pytest.raises(NumberRefused):
        read_number("1'234.5'6")


@pytest.mark.parametrize(
    ("text", "decimal", "sentence"),
    [
        ("", None, "Nothing is written here."),
        ("-inf", None, '"-inf" is not a finite number.'),
        ("+Infinity", None, '"+Infinity" is not a finite number.'),
        ("12X", None, '"12X" has the sign "X" in it, which no number has.'),
        ("-.", None, '"-." has no digit in it.'),
        ("1 23", None, '"1 23" is not grouped in threes, so it is not clear which number is meant.'),
        ("1,5", ".", '"1,5" is not a number with the decimal sign ".".'),
        ("1,2,3", ",", '"1,2,3" is not a number with the decimal sign ",".'),
        ("1e999", None, '"1e999" is beyond any reading.'),
        ("1-2", None, '"1-2" is not a number.'),
        ("1,234", None, '"1,234" may mean 1234 or 1.234: please write 1234 or 1.2340.'),
        ("9" * 41, None, "This is longer than 40 signs and cannot be a reading."),
    ],
)
def test_the_refusals_word_for_word(text, decimal, sentence):
    with pytest.raises(NumberRefused) as refused:
        read_number(text, decimal)
    assert str(refused.value) == sentence


def test_forty_signs_are_still_read():
    assert read_number("0" * 38 + "12") == 12

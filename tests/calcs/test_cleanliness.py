"""Codes from counts and from text against the standard's table, and codes that cannot be."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from calcs.cleanliness import (
    CleanlinessCode,
    ScalePart,
    code_from_counts,
    codes_over,
    parse_code,
    parse_part,
    scale_number,
    scale_part,
)
from tests.golden import golden

# ISO 4406, table 1, upper limits in particles per mL by scale number, typed a second time from another reprint.
REPRINT = {
    28: 2.5e6, 27: 1.3e6, 26: 6.4e5, 25: 3.2e5, 24: 1.6e5, 23: 8e4, 22: 4e4, 21: 2e4, 20: 1e4, 19: 5e3, 18: 2.5e3, 17: 1.3e3, 16: 640,
    15: 320, 14: 160, 13: 80, 12: 40, 11: 20, 10: 10, 9: 5, 8: 2.5, 7: 1.3, 6: 0.64, 5: 0.32, 4: 0.16, 3: 0.08, 2: 0.04, 1: 0.02, 0: 0.01,
}  # fmt: skip


@pytest.mark.parametrize(
    ("row", "count_per_ml"),
    [("C01", 3000), ("C02", 500), ("C04", 0.01), ("C05", 1.3), ("C07", 2500), ("C08", 2501), ("C10", 1300), ("C11", 2.5e6)],
)
def test_scale_numbers_as_published(row, count_per_ml):
    assert golden(row).close(scale_number(count_per_ml))


@pytest.mark.parametrize(("number", "most"), REPRINT.items())
def test_each_limit_belongs_to_its_own_number(number, most):
    assert scale_number(most) == number
    assert scale_number(most + min(most * 1e-4, 1)) == number + 1


def test_no_particles_and_more_than_the_table_holds():
    assert scale_number(0) == 0
    assert scale_number(1e9) == 29
    assert str(scale_part(1e9)) == ">28"
    assert str(scale_part(2500)) == "18"


@given(st.floats(0, 1e7), st.floats(0, 1e7))
def test_more_particles_never_give_a_lower_number(first, second):
    few, many = sorted((first, second))
    assert scale_number(few) <= scale_number(many)


def test_published_code_from_counts_per_100_ml():
    """300,000, 50,000 and 700 per 100 mL: 19/16/10, particle-counter maker's article."""
    assert str(code_from_counts([300_000, 50_000, 700], per_volume_ml=100)) == "19/16/10"
    assert code_from_counts([3000, 500, 7]) == code_from_counts([300_000, 50_000, 700], per_volume_ml=100)


def test_fewer_than_twenty_seen_put_a_sign_before_the_number():
    """ISO 4406: 14/12/>=7."""
    assert str(code_from_counts([130, 25, 1.1], raw_counts=[1300, 250, 19])) == "14/12/>=7"
    assert str(code_from_counts([130, 25, 1.1], raw_counts=[1300, 250, 20])) == "14/12/7"
    assert str(code_from_counts([130, 25, 1.1], raw_counts=[None, 250, 0])) == "14/12/>=7"


def test_not_counted_and_too_many():
    assert str(code_from_counts([float("inf"), 2500, 160])) == "*/18/14"
    assert str(code_from_counts([None, 2500, 160])) == "-/18/14"
    assert parse_code("*/18/14").is_beyond_counting
    assert not parse_code("-/18/14").is_beyond_counting


@pytest.mark.parametrize("text", ["20/18/14", "14/12/>=7", "*/18/14", "-/18/14", "-/-/-", ">28/28/20", "0/0/0"])
def test_a_code_reads_as_it_was_printed(text):
    assert str(parse_code(text)) == text


def test_other_ways_to_write_a_code():
    assert parse_code(" 20 / 18/14 ").numbers == (20, 18, 14)
    assert str(parse_code("14/12/≥7")) == "14/12/>=7"
    assert str(parse_code("18/14")) == "-/18/14"
    assert parse_part(">28") == ScalePart(29)


@pytest.mark.parametrize("text", ["", "20", "20/18/14/10", "20/x/14", "29/18/14", ">27/18/14", "20/18/140", "20//14", "20.5/18/14", "=7/6"])
def test_text_that_is_no_code_is_refused(text):
    with pytest.raises(ValueError, match="text must"):
        parse_code(text)


@pytest.mark.parametrize("text", ["18/20/14", "20/14/18", "-/14/18", "18/*/19"])
def test_a_code_that_rises_with_size_is_refused(text):
    with pytest.raises(ValueError, match="code must not rise with size, got"):
        parse_code(text)


def test_counts_that_cannot_be_are_refused():
    with pytest.raises(ValueError, match="counts must not rise with size"):
        code_from_counts([100, 200, 10])
    with pytest.raises(ValueError, match="counts must not rise with size"):
        code_from_counts([None, 200, float("inf")])
    for counts in ([100, 10], [100, 50, 10, 1]):
        with pytest.raises(ValueError, match="counts must be three"):
            code_from_counts(counts)
    with pytest.raises(ValueError, match="counts must be three"):
        code_from_counts([100, 50, 10], raw_counts=[1, 2])
    with pytest.raises(ValueError, match="per_volume_ml must be above 0, got 0"):
        code_from_counts([100, 50, 10], per_volume_ml=0)
    for count in (-1, float("nan")):
        with pytest.raises(ValueError, match="count_per_ml must not be below zero"):
            scale_number(count)


def test_the_worst_size_decides_how_far_over_the_target():
    target = parse_code("18/16/13")
    assert codes_over(parse_code("20/18/14"), target) == 2
    assert codes_over(parse_code("17/15/12"), target) == -1
    assert codes_over(parse_code("18/16/13"), target) == 0
    assert codes_over(parse_code("-/16/15"), target) == 2
    assert codes_over(parse_code("-/-/-"), target) is None
    assert codes_over(parse_code("20/-/-"), parse_code("-/18/14")) is None


def test_codes_compare_by_what_they_say():
    assert CleanlinessCode((ScalePart(20), ScalePart(18), ScalePart(14))) == parse_code("20/18/14")

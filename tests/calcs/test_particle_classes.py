"""Aerospace cleanliness classes against their tables and the doubling they are built on."""

import pytest

from calcs.particle_classes import AS4059_MOST_PER_100ML, NAS1638_MOST_PER_100ML, class_names, most_particles, particle_class
from tests.golden import golden

# Sums of the columns as printed in the reprints, to catch a slip of the pen in any one cell.
AS4059_COLUMN_SUMS = {"A": 6_399_795, "B": 2_495_681, "C": 443_827, "D": 78_393, "E": 13_567, "F": 2_044}
NAS1638_COLUMN_SUMS = {"5-15": 2_047_875, "15-25": 364_776, "25-50": 64_795, "50-100": 11_520, ">100": 2_048}


def test_limits_as_published():
    assert golden("C12").close(most_particles(AS4059_MOST_PER_100ML, "7", "B"))
    assert golden("C14").close(most_particles(NAS1638_MOST_PER_100ML, "6", "5-15"))
    assert golden("C15").close(most_particles(NAS1638_MOST_PER_100ML, "12", "5-15"))


@pytest.mark.parametrize("table", [AS4059_MOST_PER_100ML, NAS1638_MOST_PER_100ML])
def test_each_class_allows_about_twice_the_one_before(table):
    for column in table.values():
        for clean, dirty in zip(column, column[1:], strict=False):
            assert dirty <= 2.01 * clean + 1
            assert dirty >= 1.9 * clean - 1


@pytest.mark.parametrize("table", [AS4059_MOST_PER_100ML, NAS1638_MOST_PER_100ML])
def test_every_limit_belongs_to_its_class_and_one_more_to_the_next(table):
    names = (*class_names(table), ">12")
    for size, column in table.items():
        for row, most in enumerate(column):
            assert particle_class(table, {size: most}) == names[column.index(most)]
            assert names.index(particle_class(table, {size: most + 1})) > row


def test_first_and_last_class():
    assert class_names(AS4059_MOST_PER_100ML)[0] == "000"
    assert class_names(NAS1638_MOST_PER_100ML)[0] == "00"
    assert class_names(AS4059_MOST_PER_100ML)[-1] == class_names(NAS1638_MOST_PER_100ML)[-1] == "12"
    assert particle_class(AS4059_MOST_PER_100ML, {"A": 0}) == "000"
    assert particle_class(AS4059_MOST_PER_100ML, {"A": 3_200_001}) == ">12"


def test_the_worst_size_is_quoted():
    assert particle_class(AS4059_MOST_PER_100ML, {"A": 195, "B": 38_900, "F": 1}) == "7"
    assert particle_class(NAS1638_MOST_PER_100ML, {"5-15": 16_000, ">100": 33}) == "8"


def test_sizes_and_classes_off_the_table_are_refused():
    with pytest.raises(ValueError, match="size must be one of A, B, C, D, E, F, got G"):
        particle_class(AS4059_MOST_PER_100ML, {"G": 1})
    with pytest.raises(ValueError, match="class_name must be one of 00, 0, 1"):
        most_particles(NAS1638_MOST_PER_100ML, "000", "5-15")
    with pytest.raises(ValueError, match="counts_per_100ml must hold at least one size"):
        particle_class(AS4059_MOST_PER_100ML, {})
    with pytest.raises(ValueError, match="count_per_100ml must not be below zero, got -1"):
        particle_class(AS4059_MOST_PER_100ML, {"A": -1})


def test_the_columns_add_up_to_the_sums_of_the_reprints():
    assert {size: sum(column) for size, column in AS4059_MOST_PER_100ML.items()} == AS4059_COLUMN_SUMS
    assert {size: sum(column) for size, column in NAS1638_MOST_PER_100ML.items()} == NAS1638_COLUMN_SUMS

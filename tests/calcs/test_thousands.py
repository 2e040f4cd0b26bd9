"""A figure as people read it: thin spaces, no comma, a true minus; and it can be typed back in."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from calcs.figures import read_number
from calcs.thousands import grouped


@pytest.mark.parametrize(
    ("value", "places", "fixed", "words"),
    [
        (999.94, 1, False, "999.9"), (999.96, 1, False, "1\u202f000"), (1000, 0, False, "1\u202f000"), (1_234_567.25, 2, False, "1\u202f234\u202f567.25"),
        (500, 1, True, "500.0"), (-0.04, 1, False, "0"), (-1234.5, 1, False, "\u22121\u202f234.5"), (Decimal("3120.40"), 1, False, "3\u202f120.4"),
        (100, 0, False, "100"),
    ],
)  # fmt: skip
def test_figures_are_written_one_way(value, places, fixed, words):
    assert grouped(value, places, fixed) == words


@pytest.mark.parametrize("value", [float("nan"), float("inf")])
def test_what_is_no_figure_is_refused(value):
    with pytest.raises(ValueError, match="value must be finite"):
        grouped(value)


@given(st.integers(-9_999_999_99, 9_999_999_99))
def test_what_is_written_reads_back_as_the_same_figure(tenths):
    assert read_number(grouped(tenths / 10)) == tenths / 10

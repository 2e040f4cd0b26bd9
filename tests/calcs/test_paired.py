"""Differences of two readings."""

import numpy as np
import pytest

from calcs.paired import paired_difference
from calcs.uncertainty import class_uncertainty, combined_uncertainty, resolution_uncertainty


def test_a_gauge_that_reads_two_bar_high_leaves_the_difference_as_it_was():
    plain = paired_difference(402.0, 396.0, 4.0, 4.0, 3.5)
    high = paired_difference(404.0, 398.0, 4.0, 4.0, 3.5)
    assert (high.value, high.expanded) == (plain.value, plain.expanded)


def test_nothing_shared_is_the_root_of_the_sum_of_squares():
    """JCGM 100:2008, equation 10."""
    assert paired_difference(1.0, 2.0, 0.3, 0.4).standard == pytest.approx(0.5)


def test_all_shared_leaves_no_doubt_and_any_difference_is_real():
    found = paired_difference(20.0, 20.1, 0.4, 0.4, 0.4)
    assert (found.standard, found.is_real) == (0.0, True)
    assert not paired_difference(20.0, 20.0, 0.4, 0.4, 0.4).is_real


def test_swapping_the_two_turns_the_sign_alone():
    there, back = paired_difference(3.0, 5.0, 0.2, 0.3, 0.1), paired_difference(5.0, 3.0, 0.3, 0.2, 0.1)
    assert (there.value, there.expanded) == (-back.value, back.expanded)


@pytest.mark.parametrize("shared", [-0.1, 0.31])
def test_a_shared_part_larger_than_the_whole_is_refused(shared):
    with pytest.raises(ValueError, match="shared_standard"):
        paired_difference(1.0, 2.0, 0.3, 0.4, shared)


def test_the_difference_is_covered_as_often_as_its_uncertainty_says():
    """One gauge of class 1.6 of 60 bar, its error drawn once for both readings, each read to half a bar: 95 of 100 hold the truth."""
    throw, n = np.random.default_rng(7), 20_000
    own, shared = resolution_uncertainty(1.0), class_uncertainty(1.6, 60)
    gauge = throw.normal(0, shared, n)
    before, after = (true + gauge + throw.normal(0, own, n) for true in (20.6, 22.0))
    whole = combined_uncertainty(own, shared)
    expanded = paired_difference(20.6, 22.0, whole, whole, shared).expanded
    covered = np.mean(np.abs((after - before) - 1.4) <= expanded)
    assert covered == pytest.approx(0.954, abs=0.01)

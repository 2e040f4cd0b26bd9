"""What is let in, what is refused by name, and what comes back plain."""

import numpy as np
import pytest

from calcs.gate import plain, require_above, require_between, within


def test_the_limit_itself_is_not_above_it():
    with pytest.raises(ValueError, match="speed_rpm must be above 0, got 0"):
        require_above(0, speed_rpm=0)
    require_above(0, speed_rpm=1e-12)


def test_both_ends_of_a_range_are_let_in():
    require_between(0, 1, share=0)
    require_between(0, 1, share=1)
    for share in (-0.001, 1.001):
        with pytest.raises(ValueError, match=f"share must be from 0 to 1, got {share}"):
            require_between(0, 1, share=share)


def test_one_bad_element_refuses_the_array_and_the_argument_is_named():
    with pytest.raises(ValueError, match="second"):
        require_above(0, first=np.array([1.0, 2.0]), second=np.array([1.0, -2.0]))
    with pytest.raises(ValueError, match="second"):
        require_between(0, 1, first=np.array([1.0, 0.5]), second=np.array([1.0, 2.0]))


def test_a_missing_reading_passes():
    require_above(0, speed_rpm=float("nan"))
    require_between(0, 1, share=np.array([0.5, np.nan]))
    assert np.isnan(within(0, 1, "share", float("nan")))


def test_within_refuses_a_number_and_blanks_an_element():
    with pytest.raises(ValueError, match="share must be from 0 to 1, got 2"):
        within(0, 1, "share", 2)
    assert within(0, 1, "share", 1) == 1
    np.testing.assert_array_equal(within(0, 1, "share", [-0.1, 0, 1, 1.1]), [np.nan, 0, 1, np.nan])


def test_a_single_result_is_a_plain_float_and_an_array_stays_one():
    assert type(plain(np.float64(1))) is float
    assert type(plain(np.array(1.0))) is float
    assert isinstance(plain(np.array([1.0])), np.ndarray)


def test_an_element_on_the_limit_is_refused_too():
    with pytest.raises(ValueError, match="speed_rpm must be above 0"):
        require_above(0, speed_rpm=np.array([1.0, 0.0]))
    with pytest.raises(ValueError, match="speed_rpm"):
        require_above(0, speed_rpm=[1, 0])

"""Mean time between failures against a worked example, counted chances and limit cases."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import poisson

from calcs.reliability import mean_time_between_failures


def test_four_failures_in_9600_hours():
    """Worked with printed chi-square tables: 2,400 h, 80 per cent from 1,201 to 5,502 h."""
    found = mean_time_between_failures(4, 9600)
    assert found.mean_h == 2400
    assert found.low_h == pytest.approx(1201, abs=0.5)
    assert found.high_h == pytest.approx(5502, abs=0.5)
    assert found.confidence_share == 0.80


@given(st.integers(0, 60), st.floats(0.5, 0.99))
def test_the_ends_are_where_the_count_seen_becomes_unlikely(failures, confidence):
    """Exact meaning of the interval in Poisson chances."""
    found = mean_time_between_failures(failures, 10_000, confidence)
    tail = (1 - confidence) / 2
    assert poisson.cdf(failures, 10_000 / found.low_h) == pytest.approx(tail, rel=1e-6)
    if failures:
        assert poisson.sf(failures - 1, 10_000 / found.high_h) == pytest.approx(tail, rel=1e-6)


def test_a_simulated_fleet_lies_in_its_interval_as_often_as_promised():
    counts = np.random.default_rng(3).poisson(10_000 / 2000, 400)
    found = [mean_time_between_failures(int(count), 10_000, 0.8) for count in counts]
    inside = np.mean([f.low_h <= 2000 and (f.high_h is None or f.high_h >= 2000) for f in found])
    assert 0.8 <= inside <= 0.95


def test_without_a_failure_only_the_low_end_is_known():
    found = mean_time_between_failures(0, 1000, 0.8)
    assert found.mean_h is found.high_h is None
    assert found.low_h == pytest.approx(1000 / -np.log(0.1))
    assert found.confidence_share == 0.8


def test_impossible_failures_are_refused():
    for failures in (-1, 1.5):
        with pytest.raises(ValueError, match="failures must be a whole number from zero up"):
            mean_time_between_failures(failures, 1000)
    with pytest.raises(ValueError, match="run_h must be above 0"):
        mean_time_between_failures(1, 0)
    for confidence in (0, 1):
        with pytest.raises(ValueError, match="confidence_share"):
            mean_time_between_failures(1, 1000, confidence)

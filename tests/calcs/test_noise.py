import numpy as np
import pytest

from calcs.noise import baseline_spread, fleet_noise, moderated_variance


@pytest.mark.parametrize("freedom", [4.0, 12.0])
def test_variance_and_freedom_of_a_scaled_f_law_are_found(freedom):
    rng = np.random.default_rng(4)
    own = 0.02**2 * freedom / rng.chisquare(freedom, 6000) * rng.chisquare(6, 6000) / 6
    found = fleet_noise(own, np.full(6000, 6.0))
    assert np.sqrt(found.variance) == pytest.approx(0.02, rel=0.05)
    assert found.freedom == pytest.approx(freedom, rel=0.4)


def test_a_twentieth_of_wild_drives_moves_the_noise_little():
    rng = np.random.default_rng(5)
    own = 0.02**2 * rng.chisquare(6, 2000) / 6
    wild = own.copy()
    wild[:100] *= 50
    clean, robust = (fleet_noise(values, np.full(2000, 6.0)) for values in (own, wild))
    assert robust.variance == pytest.approx(clean.variance, rel=0.12)


def test_fewer_than_three_drives_tell_nothing():
    assert fleet_noise(np.ones(2), np.full(2, 3.0)) is None and baseline_spread(np.ones(2), np.ones(2)) is None


def test_moderated_variance_lies_between_own_and_fleet():
    assert 1.0 < moderated_variance(4 * 9.0, 5, 1.0, 8.0) < 9.0


def test_spread_of_starts_is_found_beside_their_own_uncertainty():
    rng = np.random.default_rng(6)
    doubt = rng.uniform(0.005, 0.03, 3000)
    level = 0.01 + 0.0133 * rng.normal(size=3000) + doubt * rng.normal(size=3000)
    middle, spread = baseline_spread(level, doubt**2)
    assert middle == pytest.approx(0.01, abs=0.001) and np.sqrt(spread) == pytest.approx(0.0133, rel=0.08)


def test_starts_no_further_apart_than_their_doubt_have_no_spread():
    rng = np.random.default_rng(7)
    assert baseline_spread(0.01 * rng.normal(size=50) * 0.5, np.full(50, 0.01**2))[1] == 0.0

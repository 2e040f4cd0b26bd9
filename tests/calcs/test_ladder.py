import numpy as np
import pytest
from scipy import integrate, stats

from calcs.ladder import (
    ANY_DRIVE,
    Lives,
    Sums,
    commonness,
    fit_lives,
    likelihood,
    log_likelihood,
    rungs,
    stroll_of,
)


def drives(a, b, c, count=6, variance=0.01, freedom=8.0):
    return Sums(*(np.atleast_1d(np.asarray(part, float)) for part in (a, b, c)), np.atleast_1d(count), variance, freedom)


def test_rungs_go_from_long_lives_to_short_in_equal_steps_of_the_logarithm():
    assert np.ptp(np.diff(np.log(rungs(1500.0)))) < 1e-9 and rungs(1500.0)[0] > rungs(1500.0)[-1]


def test_likelihood_on_fine_rungs_is_the_t_density_of_the_slope():
    one, slope = drives(0.5, 1.0, 4.0), np.r_[0.0, np.linspace(0.1, 0.5, 2000)]
    freedom, least = 8.0 + 6 - 1, 0.5 - 1.0 / 4.0
    scale = np.sqrt((8.0 * 0.01 + least) / (freedom * 4.0))
    ours = np.diff(log_likelihood(one, slope)[0, 1:])
    assert ours == pytest.approx(np.diff(stats.t.logpdf((slope[1:] - 0.25) / scale, freedom)), abs=1e-6)


@pytest.mark.parametrize("variance", [1e-5, 2e-3, 0.1])
def test_coarse_rungs_together_give_records_their_whole_likelihood_on_average(variance):
    coarse, best = np.r_[0.0, np.arange(0.05, 1.0, 0.1)], np.linspace(0.4, 0.5, 20, endpoint=False)
    sharp = drives(400.0 * best**2, 400.0 * best, np.full(20, 400.0), variance=variance, freedom=40.0, count=np.full(20, 40))
    whole = integrate.quad(lambda s: (1 + 400 * s**2 / (40.0 * variance)) ** -40.0, -0.1, 0.1, points=[-0.01, 0.0, 0.01])[0]
    assert 0.1 * np.exp(log_likelihood(sharp, coarse)[:, 1:]).sum() / 20 == pytest.approx(whole, rel=0.03)


def test_best_rung_of_each_drive_has_likelihood_one():
    fits = likelihood(drives([1.0, 1.0], [1.0, 0.0], [1.0, 1.0], [3, 3]), np.r_[0.0, np.linspace(0.2, 2, 20)])
    assert fits.max(axis=1) == pytest.approx([1.0, 1.0])


def test_lives_of_a_made_up_fleet_are_found():
    rng, log_rung = np.random.default_rng(1), np.log(rungs(2400.0))
    healthy, seen = rng.random(2000) < 0.4, rng.normal(np.log(6000), 0.5, 2000) + rng.normal(0, 0.2, 2000)
    fits = np.exp(-0.5 * ((log_rung - seen[:, None]) / 0.2) ** 2) * ~healthy[:, None]
    fits = np.c_[np.where(healthy, 1.0, 0.0), fits]
    found, _ = fit_lives(fits, log_rung)
    assert found.share_not_wearing == pytest.approx(0.4, abs=0.03)
    assert found.log_life == pytest.approx(np.log(6000), abs=0.05)
    assert found.spread == pytest.approx(0.5, abs=0.05)


def test_a_fleet_of_none_answers_as_any_drive():
    found, _ = fit_lives(np.zeros((0, 65)), np.log(rungs(2400.0)))
    assert (found.share_not_wearing, found.log_life) == pytest.approx((ANY_DRIVE.share_not_wearing, ANY_DRIVE.log_life))


def test_shares_of_all_rungs_add_up_to_one():
    assert commonness(Lives(0.3, 8.5, 0.6), np.log(rungs(2400.0))).sum() == pytest.approx(1.0)


def test_stroll_goes_with_slow_wear_and_levels_off_for_fast():
    assert stroll_of(1e-6, 1.0) == pytest.approx(2e-6, rel=1e-4) and stroll_of(1e6, 1.0) == pytest.approx(2.0, rel=1e-4)

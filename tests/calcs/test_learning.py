import numpy as np
import pytest

from calcs.trend import fit_fleet
from tests.simulated_fleet import draw_fleet, draw_truth

NS = np.array([2, 3, 4, 5, 6, 8, 10, 15])


@pytest.fixture(scope="module")
def learnt():
    found = []
    for seed in range(10):
        rng = np.random.default_rng([31, seed])
        truth = draw_truth(rng, slopes="lognormal")
        found.append((truth, fit_fleet(draw_fleet(truth, rng.choice(NS, 300), rng).readings).numbers[0]))
    return found


def error(learnt, ours, true):
    return np.array([ours(numbers) - true(truth) for truth, numbers in learnt])


def test_curvature_is_found_without_bias(learnt):
    off = error(learnt, lambda n: n.curvature, lambda t: t.curvature)
    assert abs(off.mean()) < 0.03 and np.sqrt((off**2).mean()) < 0.07


def test_share_that_does_not_wear_is_found(learnt):
    assert np.abs(error(learnt, lambda n: n.share_not_wearing, lambda t: t.healthy)).mean() < 0.06


def test_typical_life_is_found(learnt):
    off = error(learnt, lambda n: np.log(n.typical_life_h), lambda t: np.log(t.typical_life_h))
    assert abs(off.mean()) < 0.06 and off.std() < 0.15


def test_noise_and_weight_of_the_start_are_found(learnt):
    noise = error(learnt, lambda n: np.log(n.noise), lambda t: np.log(t.noise_cv / 3))
    weight = error(learnt, lambda n: np.log(n.start_weight[0]), lambda t: 2 * np.log(t.noise_cv / t.baseline_cv))
    assert np.abs(noise).max() < 0.2 and abs(weight.mean()) < 0.35


def test_each_way_of_beginning_has_its_own_start():
    rng = np.random.default_rng(5)
    fleet = draw_fleet(draw_truth(rng, noise_cv=0.04), np.full(300, 6), rng)
    mended = np.arange(300) % 3 == 0
    level = np.where(mended, 1.1 * np.exp(rng.normal(0, 0.08, 300)), 1.0)
    frame = fleet.readings.assign(began=np.repeat(np.where(mended, "repaired", "new"), 6))
    frame["ratio"] *= np.repeat(level, 6)
    numbers = fit_fleet(frame).numbers[0]
    assert numbers.start_level[2] == pytest.approx(0.1 / 3, abs=0.01) and numbers.start_level[0] == pytest.approx(0, abs=0.006)
    assert numbers.start_weight[2] < 0.5 * numbers.start_weight[0]

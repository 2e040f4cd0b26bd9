"""Greed and chance over plans of places."""

import numpy as np
import pytest

from calcs.place_search import Plans, better_choice, greedy_choice


def made_up(seed, places=5, each=5, limits=3):
    rng = np.random.default_rng(seed)
    cost = rng.uniform(0, 10, places * each)
    take = rng.uniform(0, 4, (places * each, limits))
    take[::each], cost[::each] = 0, 20  # nothing done takes nothing and costs most
    return Plans(cost, take, np.repeat(np.arange(places), each), cost, np.full(limits, 7.0))


@pytest.mark.parametrize("seed", range(6))
def test_greed_keeps_the_limits_and_chance_keeps_them_and_is_no_worse(seed):
    plans = made_up(seed)
    greedy = greedy_choice(plans)
    better = better_choice(plans, greedy)
    assert plans.fits(greedy) and plans.fits(better)
    assert plans.cost[better].sum() <= plans.cost[greedy].sum()
    assert plans.place[better].tolist() == list(range(5))


def test_without_limits_every_place_gets_its_best():
    plans = made_up(3)
    roomy = Plans(plans.cost, plans.take, plans.place, plans.dear, np.full(3, 1e9))
    assert better_choice(roomy, greedy_choice(roomy)).tolist() == [own[plans.cost[own].argmin()] for own in np.arange(25).reshape(5, 5)]


def test_the_same_seed_gives_the_same_choice():
    plans = made_up(9)
    assert better_choice(plans, greedy_choice(plans)).tolist() == better_choice(plans, greedy_choice(plans)).tolist()

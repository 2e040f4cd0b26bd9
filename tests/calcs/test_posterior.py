import numpy as np
import pytest
from scipy import integrate, stats

from calcs.posterior import Record, lay_nodes, likeliest, node_places, weigh_all


def record(a=0.02, b=0.05, c=0.4, count=5, noise=0.0016, log_slope=-2.0, log_spread=0.6, wander=None):
    one = np.ones(1)
    parts = [value * one for value in (a, b, c, 6.0, 0.1, 3.0, (8 + count) / 2, noise, log_slope, log_spread)]
    return Record(*parts, wander if wander is None else wander * one)


def density(given, log_slope):
    slope = np.exp(log_slope)
    quality = 1 + (given.a[0] - 2 * given.b[0] * slope + given.c[0] * slope**2) / given.noise[0]
    return quality ** -given.power[0] * stats.norm.pdf(log_slope, given.log_slope[0], given.log_spread[0])


CASES = [record(), record(b=-0.02), record(a=0.5, b=0.4, c=0.4), record(a=0.0, b=0.0, c=0.0), record(noise=1e-6, a=0.00626)]


@pytest.mark.parametrize("given", CASES)
def test_nodes_add_up_to_the_integral(given):
    at, sd = likeliest(given)
    whole = integrate.quad(lambda t: density(given, t), at[0] - 12 * sd[0], at[0] + 12 * sd[0], points=[at[0]], limit=400)[0]
    assert np.exp(lay_nodes(given, 25).log_share).sum() == pytest.approx(whole, rel=0.01)


@pytest.mark.parametrize("given", CASES)
def test_middle_is_the_top_of_the_density(given):
    at = likeliest(given)[0][0]
    assert density(given, at) >= 0.999 * max(density(given, at - 0.05), density(given, at + 0.05))


def test_no_wear_is_weighed_by_the_rule_of_bayes():
    given, idle = record(), np.array([0.4])
    whole = 0.6 * integrate.quad(lambda t: density(given, t), -8, 3, limit=400)[0]
    still = 0.4 * (1 + given.a[0] / given.noise[0]) ** -given.power[0]
    assert weigh_all([given] * 3, idle, np.array([0.3]), (25, 13)).idle[0] == pytest.approx(still / (still + whole), rel=0.01)


def test_shares_add_up_to_one():
    answer = weigh_all([record()] * 3, np.array([0.4]), np.array([0.3]), (17, 9))
    assert answer.idle[0] + sum(part.sum() for part in answer.share) == pytest.approx(1.0)


def test_wander_widens_what_a_record_says():
    _, plain = likeliest(record(b=0.12, a=0.05))
    _, strolling = likeliest(record(b=0.12, a=0.05, wander=30.0))
    assert strolling[0] > plain[0]


def test_places_are_symmetric_and_widths_cover_them():
    places, widths = node_places(17)
    assert places == pytest.approx(-places[::-1]) and widths.sum() == pytest.approx(2 * places[-1], rel=0.15)

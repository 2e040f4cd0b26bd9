import numpy as np
import pytest
from scipy.stats import false_discovery_control

from calcs.flags import benjamini_hochberg_limit, state_words


def test_flags_are_those_of_scipy_in_each_group():
    rng = np.random.default_rng(1)
    p, code = rng.random(600) ** 2, rng.integers(0, 4, 600)
    limit = benjamini_hochberg_limit(p, code, 5, 0.1)
    for group in range(4):
        own = code == group
        assert ((p <= limit[group])[own] == (false_discovery_control(p[own]) <= 0.1)).all()
    assert limit[4] == -1


def test_few_of_the_flagged_are_false():
    rng, false = np.random.default_rng(2), []
    for _ in range(200):
        p = np.r_[rng.random(300), rng.random(100) * 1e-3]
        flagged = p <= benjamini_hochberg_limit(p, np.zeros(400, int), 1, 0.1)[0]
        false.append(flagged[:300].sum() / flagged.sum())
    assert np.mean(false) == pytest.approx(0.075, abs=0.01)


@pytest.mark.parametrize(
    ("p", "worn", "count", "word"),
    [
        (1e-6, 0.8, 5, "wearing"),
        (0.2, 0.96, 5, "wearing"),
        (0.2, 0.6, 5, "watch"),
        (1e-6, 0.2, 5, "watch"),
        (0.01, 0.2, 5, "steady"),
        (1e-6, 0.99, 1, "too_few"),
    ],
)
def test_three_words_and_too_few(p, worn, count, word):
    assert state_words(np.array([p]), np.array([worn]), np.array([count]), np.array([0.01])).tolist() == [word]

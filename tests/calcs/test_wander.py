import numpy as np
import pytest

from calcs.wander import strolling_sums, wander_scores


def test_sums_agree_with_the_full_matrix():
    rng = np.random.default_rng(1)
    count, stroll = np.array([4, 6]), np.array([[0.7, 2.0]])
    x, y, w = np.r_[np.sort(rng.random(4)), np.sort(rng.random(6))] * 3, rng.normal(size=10), rng.uniform(0.5, 2, 10)
    sums, log_det = strolling_sums(x, y, w, count, stroll)
    for at, rows in enumerate([slice(0, 4), slice(4, 10)]):
        cov = np.diag(1 / w[rows]) + stroll[0, at] * np.minimum.outer(x[rows], x[rows])
        columns = np.stack([np.ones(count[at]), x[rows], y[rows]])
        full = columns @ np.linalg.inv(cov) @ columns.T
        assert sums[:, 0, at] == pytest.approx([full[0, 0], full[0, 1], full[0, 2], full[1, 1], full[1, 2], full[2, 2]])
        assert log_det[0, at] == pytest.approx(np.linalg.slogdet(cov)[1])


def simulated(wander, units=150, seed=2):
    rng = np.random.default_rng(seed)
    x = np.cumsum(rng.uniform(0.1, 0.3, (units, 10)), axis=1)
    path = np.cumsum(rng.normal(size=x.shape) * np.sqrt(wander * 0.26 * 0.1 * np.diff(x, axis=1, prepend=0)), axis=1)
    y = 0.1 * x + path + 0.013 * rng.normal(size=(units, 1)) + 0.015 * rng.normal(size=x.shape)
    return (x.ravel(), y.ravel(), np.ones(x.size), np.full(units, 10)), units


@pytest.mark.parametrize(("wander", "best"), [(0.0, 0), (0.06, 2)])
def test_likeliest_wander_is_near_the_true_one(wander, best):
    part, units = simulated(wander)
    ground = (np.full(units, 1.3), np.zeros(units))
    x, y = (values.reshape(units, 10) for values in part[:2])
    noise = np.median([np.polyfit(*row, 1, full=True)[1][0] / 8 for row in zip(x, y, strict=True)])
    score = wander_scores(part, np.full(units, 0.1), ground, (noise, 12.0), (0.26, 0.1), np.array([0.0, 0.01, 0.06, 0.8]))
    assert abs(int(score.argmax()) - best) <= 1 and score[3] < score[best]


def test_short_records_tell_nothing_of_wander():
    part = (np.arange(3.0), np.zeros(3), np.ones(3), np.array([3]))
    assert wander_scores(part, np.ones(1), (np.ones(1), np.zeros(1)), (1.0, 8.0), (0.26, 0.1), np.array([0.0, 0.1])).tolist() == [0, 0]

import numpy as np
import pytest

from calcs.wildness import reading_weights


def weights(y, slope=0.0, ridge=1.0, noise=0.01, n0=1.0):
    one = np.ones(1)
    x = np.arange(1.0, len(y) + 1) / 4
    return reading_weights(
        x, np.asarray(y), np.ones(len(y)), np.array([len(y)]), (n0 * one, 0 * one), (slope * one, ridge * one), noise * one
    )


def test_readings_on_the_line_count_fully():
    assert weights([0.001, -0.002, 0.0, 0.003]).tolist() == [1, 1, 1, 1]


def test_the_wilder_the_less():
    near, far = weights([0, 0, 0, 0.05, 0, 0])[3], weights([0, 0, 0, 0.5, 0, 0])[3]
    assert 0 < far < near < 1


def test_a_fast_failing_drive_keeps_its_say():
    assert weights(0.4 * np.arange(1, 7) / 4, slope=0.05, ridge=0.01).min() > 0.8


def test_residual_is_that_of_the_line_drawn_without_the_reading():
    y, x = np.array([0.0, 0.0, 0.0, 0.06]), np.arange(1.0, 5) / 4
    design = np.stack([np.ones(3), x[:3]])
    gram = design @ design.T + np.diag([1.0, 1.0])
    sd = 0.01 * np.sqrt(1 + np.array([1, x[3]]) @ np.linalg.solve(gram, [1, x[3]]))
    first = min(1.0, 2.5 / (0.06 / sd))
    assert weights(y)[3] == pytest.approx(first, rel=0.12)


def test_two_neighbours_that_agree_are_no_wild_readings():
    assert weights([0.0, 0.0, 0.0, 0.4, 0.41, 0.42])[2:5].min() == 1.0
    assert weights([0.0, 0.4, 0.0, 0.0, 0.41, 0.0])[[1, 4]].max() < 0.5


def test_nothing_speaks_against_a_lone_reading():
    assert weights([0.5]).tolist() == [1.0]

import numpy as np
import pytest

from calcs.curvature import doubt_of_curvature, top_of_parabola


def test_top_of_a_parabola_is_its_vertex_and_stays_inside():
    at = np.array([0.7, 0.9, 1.1, 1.3])
    assert top_of_parabola(at, -50 * (at - 1.03) ** 2) == pytest.approx((1.03, 0.1))
    assert top_of_parabola(at, at) == (1.3, pytest.approx(0.3))


def test_doubt_of_curvature_grows_where_drives_differ():
    rng = np.random.default_rng(2)
    outer = np.where(rng.random((300, 1)) < 0.5, [[1.0, 0.3, 0.05]], [[0.05, 0.3, 1.0]])
    own = np.tile([0.3, 1.0, 0.3], (300, 1))
    assert doubt_of_curvature(outer) > 0.7 > 0.2 > doubt_of_curvature(own)


def test_records_that_tell_nothing_of_curvature_leave_the_doubt_in_the_middle():
    assert 0.15 < doubt_of_curvature(np.ones((50, 3))) < 0.4

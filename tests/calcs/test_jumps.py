import numpy as np

from calcs.jumps import stayed_up


def run(*y, noise=0.01, misfit=99.0):
    one = np.ones(1)
    return stayed_up(np.array(y), np.array([len(y)]), noise * one, 0 * one, misfit * one)[0]


def test_newest_readings_that_lie_together_far_above_are_counted():
    assert run(0.0, 0.01, 0.0, 0.3, 0.31, 0.32) == 3


def test_one_high_reading_is_not_yet_a_jump():
    assert run(0.0, 0.01, 0.0, 0.3) == 0


def test_even_a_steep_rise_is_no_jump():
    assert run(0.03, 0.09, 0.17, 0.28, 0.41) == 0


def test_a_record_that_fits_its_line_is_left_alone():
    assert run(0.0, 0.01, 0.3, 0.31, misfit=1.0) == 0


def test_a_whole_record_far_above_the_start_has_jumped_from_the_start():
    assert run(0.3, 0.31) == 2 and run(0.3) == 1


def test_a_fall_is_no_jump():
    assert run(0.3, 0.31, 0.0, 0.01) == 0

"""Ripple and piston motion against the published table, a numeric sum and the derivative."""

import numpy as np
import pytest

from calcs.piston_motion import piston_acceleration, piston_travel, piston_velocity, ripple_frequency, ripple_of_mean, ripple_of_peak
from tests.golden import golden


@pytest.mark.parametrize(("number", "pistons"), [("G25", 5), ("G26", 6), ("G27", 7), ("G29", 9), ("G30", 10), ("G32", 12)])
def test_ripple_of_peak_as_published(number, pistons):
    assert golden(number).close(100 * ripple_of_peak(pistons)), golden(number).source


@pytest.mark.parametrize(("number", "pistons"), [("G47", 7), ("G48", 8), ("G50", 10), ("G51", 11)])
def test_ripple_of_mean_as_published(number, pistons):
    assert golden(number).close(100 * ripple_of_mean(pistons)), golden(number).source


@pytest.mark.parametrize("pistons", range(3, 16))
def test_ripple_and_pulses_agree_with_the_sum_of_half_sines(pistons):
    turn = np.linspace(0, 2 * np.pi, 2 * 3 * 5 * 7 * 8 * 9 * 11 + 1)[:-1]
    flow = np.maximum(np.sin(turn[:, None] + 2 * np.pi * np.arange(pistons) / pistons), 0).sum(axis=1)
    assert ripple_of_mean(pistons) == pytest.approx(np.ptp(flow) / flow.mean(), rel=2e-4)
    assert ripple_of_peak(pistons) == pytest.approx(np.ptp(flow) / flow.max(), rel=2e-4)
    pulses = np.abs(np.fft.rfft(flow - flow.mean()))[1:].argmax() + 1
    assert ripple_frequency(pistons, 60) == pulses


def test_nine_pistons_are_usual_because_odd_counts_pulse_less():
    """Common practice, no source: an odd count pulses less than the even counts on either side of it."""
    for odd in (5, 7, 9, 11, 13):
        assert ripple_of_mean(odd) < ripple_of_mean(odd - 1) and ripple_of_mean(odd) < ripple_of_mean(odd + 1)
    assert ripple_of_mean(9) < 0.016


def test_highest_velocity_as_worked_out():
    assert golden("G61").close(piston_velocity(125, 10, 1000))


def test_velocity_and_acceleration_are_the_derivatives_of_travel():
    shaft, step = np.linspace(0, 360, 37), 1e-3
    seconds = step / 360 * 60 / 1000
    ahead, behind = piston_travel(125, 10, shaft + step), piston_travel(125, 10, shaft - step)
    assert np.allclose(piston_velocity(125, 10, 1000, shaft), (ahead - behind) / 1000 / (2 * seconds), atol=1e-5)
    faster, slower = piston_velocity(125, 10, 1000, shaft + step), piston_velocity(125, 10, 1000, shaft - step)
    assert np.allclose(piston_acceleration(125, 10, 1000, shaft), (faster - slower) / (2 * seconds), atol=1e-3)


def test_out_of_range_counts_are_refused():
    for law in (ripple_of_mean, ripple_of_peak):
        with pytest.raises(ValueError, match="pistons must be from 3 to 15, got 16"):
            law(16)
    with pytest.raises(ValueError, match="pistons"):
        ripple_frequency(2, 1000)

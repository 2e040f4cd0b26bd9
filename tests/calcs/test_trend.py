import json

import numpy as np
import pandas as pd
import pytest

from calcs.forecast import hours_to_limit
from calcs.trend import fit_fleet, refresh
from tests.simulated_fleet import draw_fleet, draw_truth

SERIES = ["level_ratio", "slope_per_kh", "p_trend", "p_wearing", "n", "weight_own", "state", "last_step_p"]
FIGURES = ["level_ratio", "slope_per_kh", "p_trend", "p_wearing", "weight_own", "last_step_p"]
NS = np.array([2, 3, 4, 5, 6, 8, 10, 15])


def simulated(seed=1, units=120, group=1, first=0, **changes):
    rng = np.random.default_rng(seed)
    return draw_fleet(draw_truth(rng, **changes), rng.choice(NS, units), rng, group, first)


def rows(series, life_h, ratio, **columns):
    return pd.DataFrame({"series": series, "group": 1, "life_h": life_h, "ratio": ratio, "cv": np.nan, "scale": "cuberoot"} | columns)


def same(one, other, series=None):
    """Both judge the same series alike to nine digits, forecasts counted in."""
    labels = one.series.index if series is None else series
    for part, again in (
        (one.series.loc[labels, FIGURES], other.series.loc[labels, FIGURES]),
        (hours_to_limit(one, 2.0).loc[labels], hours_to_limit(other, 2.0).loc[labels]),
    ):
        np.testing.assert_allclose(part.to_numpy(float), again.to_numpy(float), rtol=1e-9, atol=1e-12)
    assert (one.series.loc[labels, "state"] == other.series.loc[labels, "state"]).all()


@pytest.fixture(scope="module")
def fleet():
    return simulated()


@pytest.fixture(scope="module")
def fit(fleet):
    return fit_fleet(fleet.readings)


def test_frames_have_the_agreed_columns(fit, fleet):
    assert fit.series.columns.tolist() == SERIES and fit.series.index.name == "series"
    assert {"share_not_wearing", "typical_life_h", "life_spread", "curvature", "noise", "n0", "eta", "phi"} <= set(fit.groups.columns)
    assert fit.readings.index.equals(fleet.readings.index) and fit.readings["weight"].between(0, 1).all()
    assert set(fit.series["state"]) <= {"steady", "watch", "wearing", "too_few"}
    assert fit.series["weight_own"].between(0, 1).all()


def test_another_order_of_rows_changes_nothing(fit, fleet):
    same(fit, fit_fleet(fleet.readings.sample(frac=1, random_state=3)))


def test_hours_that_came_by_way_of_minutes_change_nothing(fit, fleet):
    minutes = fleet.readings["life_h"] * 60
    same(fit, fit_fleet(fleet.readings.assign(life_h=minutes / 60)))


def test_other_labels_of_the_drives_change_nothing(fit, fleet):
    new = np.random.default_rng(4).permutation(120) + 5000
    other = fit_fleet(fleet.readings.assign(series=new[fleet.readings["series"]]))
    np.testing.assert_allclose(fit.series[FIGURES].to_numpy(float), other.series.loc[new, FIGURES].to_numpy(float), rtol=1e-9, atol=1e-12)


def test_a_second_fleet_changes_nothing_for_the_first(fit, fleet):
    second = simulated(seed=2, units=90, group=2, first=1000)
    same(fit, fit_fleet(pd.concat([fleet.readings, second.readings])), fit.series.index)


def test_rows_without_a_value_change_nothing(fit, fleet):
    empty = fleet.readings.sample(30, random_state=1).assign(ratio=np.nan)
    both = fit_fleet(pd.concat([fleet.readings, empty], ignore_index=True))
    same(fit, both)
    assert (both.readings["weight"].tail(30) == 0).all()


def test_one_drive_is_judged_anew_from_the_stored_rows_of_its_group(fit, fleet):
    stored = json.loads(json.dumps(fit.group_rows()))
    one = refresh(stored, fleet.readings[fleet.readings["series"] == 7])
    same(one, fit, [7])


def test_a_group_not_kept_is_refused(fit, fleet):
    with pytest.raises(ValueError, match="group must be one of the groups kept"):
        refresh(fit, fleet.readings.head(3).assign(group=9))


def test_most_wearing_drives_are_named_and_few_healthy_ones():
    found = simulated(seed=5, units=400)
    series = fit_fleet(found.readings).series
    long = (series["n"] >= 6).to_numpy()
    wearing = (series["state"] == "wearing").to_numpy()
    assert wearing[found.wears & long].mean() > 0.8
    assert (wearing & ~found.wears).sum() / wearing.sum() < 0.1
    assert (series["p_trend"] < 0.01)[~found.wears].mean() < 0.02


def test_levels_are_nearer_the_truth_than_the_newest_reading():
    found = simulated(seed=6, units=300, noise_cv=0.06)
    last = found.readings.groupby("series")["life_h"].idxmax().to_numpy()
    truth = found.true_ratio[last]
    ours = fit_fleet(found.readings).series["level_ratio"].to_numpy()
    newest = found.readings.loc[last, "ratio"].to_numpy()
    assert np.median(np.abs(np.log(ours / truth))) < 0.75 * np.median(np.abs(np.log(newest / truth)))


def test_slope_of_a_clean_fleet_is_the_true_one():
    slopes = np.r_[np.zeros(20), np.linspace(0.02, 0.15, 40)]
    hours = np.arange(1, 9) * 400.0
    frame = pd.concat([rows(at, hours, (1 + slope * hours / 1000) ** 3) for at, slope in enumerate(slopes)])
    fit = fit_fleet(frame)
    assert fit.groups["curvature"].iloc[0] == pytest.approx(1.0, abs=0.02)
    assert fit.series["slope_per_kh"].to_numpy() == pytest.approx(slopes, abs=0.004)


def test_a_wild_reading_counts_little_and_its_fellows_fully(fleet):
    frame = rows(1, np.arange(1, 9) * 400.0, [1.0, 1.01, 1.0, 1.6, 1.0, 0.99, 1.01, 1.0])
    weight = fit_fleet(pd.concat([fleet.readings.assign(series=fleet.readings["series"] + 10), frame])).readings["weight"].tail(8)
    assert weight.iloc[3] < 0.4 and weight.drop(weight.index[3]).min() > 0.9


def test_small_groups_lean_on_their_family_and_large_ones_do_not(fleet):
    small = simulated(seed=8, units=6, group=5, first=9000)
    alone = fit_fleet(small.readings).groups.loc[5]
    among = fit_fleet(pd.concat([fleet.readings, small.readings])).groups
    pull = abs(among.loc[5, "share_not_wearing"] - among.loc[1, "share_not_wearing"])
    assert pull < abs(alone["share_not_wearing"] - among.loc[1, "share_not_wearing"])
    apart = pd.concat([fleet.readings.assign(family="leakage"), small.readings.assign(family="other")])
    assert fit_fleet(apart).groups.loc[5, "share_not_wearing"] == pytest.approx(alone["share_not_wearing"])


def test_stated_uncertainty_weighs_readings_against_each_other():
    ratio = [1.0, 1.0, 1.0, 1.0, 1.3, 1.3, 1.3, 1.3]
    hours = np.arange(1, 9) * 400.0
    trusted, doubted = (fit_fleet(rows(1, hours, ratio, cv=[0.02] * 4 + [late] * 4)) for late in (0.02, 0.2))
    assert doubted.series["slope_per_kh"][1] < trusted.series["slope_per_kh"][1]


def test_drives_first_seen_late_are_not_blamed_for_where_they_started():
    rng = np.random.default_rng(9)
    frame = pd.concat([rows(at, np.arange(1, 6) * 400.0, 1.4 * np.exp(rng.normal(0, 0.03, 5))) for at in range(40)])
    late, new = fit_fleet(frame.assign(began="first_seen")).series, fit_fleet(frame).series
    assert (late["p_trend"] < 0.01).mean() < 0.1 <= (new["p_trend"] < 0.01).mean()


@pytest.mark.parametrize(("ratio", "level", "state"), [
    ([1, 1, 4, 4.1], 4.0, "watch"), ([1, 1, 1, 3, 3.1, 3.2], 3.1, "wearing"), ([1, 1.01, 1, 1, 1, 5], 1.0, "steady"),
])  # fmt: skip
def test_a_jump_that_stays_is_where_the_drive_is_now_and_a_lone_one_is_not(fit, ratio, level, state):
    jumped = refresh(fit, rows(1, np.arange(1, len(ratio) + 1) * 400.0, ratio))
    assert jumped.series["level_ratio"][1] == pytest.approx(level, rel=0.1)
    assert jumped.series["state"][1] == state
    assert (hours_to_limit(jumped, 2.0).loc[1] == 0).all() == (level > 2)


EXTREMES = {
    "one reading": rows([1], [500.0], [1.2]),
    "one reading at hour zero": rows([1], [0.0], [1.0]),
    "one series without noise": rows(1, np.arange(1, 11) * 400.0, (1 + 0.05 * np.arange(1, 11) * 0.4) ** 3),
    "all equal": pd.concat([rows(at, np.arange(1, 9) * 400.0, 1.0) for at in range(30)]),
    "one hour only": rows([1] * 5 + [2] * 5, 500.0, [1, 1.1, 1.2, 1.3, 1.4] * 2),
    "all at hour zero": rows([1] * 5 + [2] * 5, 0.0, [1, 1.1, 1.2, 1.3, 1.4] * 2),
    "doubled hours": rows(1, [100.0, 100, 100, 400, 400, 900], [1, 1.02, 1.04, 1.01, 1.1, 1.2]),
    "falling": rows(1, np.arange(1, 9) * 400.0, np.linspace(1.8, 1.0, 8)),
    "absurd": rows(1, [100.0, 200, 300, 400], [1, 10, 1e3, 1e6]),
    "very many hours": rows(1, [1e7, 2e7, 3e7, 4e7], [1, 1.2, 1.4, 1.6]),
    "long past the limit": rows(1, np.arange(1, 7) * 400.0, [1.5, 1.9, 2.3, 2.8, 3.3, 4.0]),
    "two thousand readings": rows(1, np.arange(2000) * 2.0, (1 + 1e-4 * np.arange(2000)) ** 3),
}


@pytest.mark.parametrize("name", EXTREMES)
@pytest.mark.filterwarnings("error")
def test_extremes_are_judged_without_complaint(name):
    fit = fit_fleet(EXTREMES[name])
    figures = fit.series[["level_ratio", "slope_per_kh", "p_trend", "p_wearing", "weight_own"]]
    assert np.isfinite(figures.to_numpy(float)).all()
    assert figures[["p_trend", "p_wearing", "weight_own"]].stack().between(0, 1).all()
    hours = hours_to_limit(fit, 2.0).to_numpy()
    assert (hours[:, 0] <= hours[:, 1]).all() and (hours[:, 1] <= hours[:, 2]).all() and (hours >= 0).all()


def test_no_rows_give_empty_frames():
    fit = fit_fleet(rows([1], [1.0], [1.0]).iloc[:0])
    assert fit.series.empty and fit.groups.empty and hours_to_limit(fit, 2.0).empty


def test_a_series_without_any_value_is_listed_as_not_known():
    fit = fit_fleet(rows([1, 1, 2], [100.0, 200.0, 300.0], [np.nan, np.nan, 1.0]))
    assert fit.series.loc[1, "n"] == 0 and fit.series.loc[1, "state"] == "too_few" and np.isnan(fit.series.loc[1, "p_trend"])
    assert hours_to_limit(fit, 2.0).loc[1].isna().all()

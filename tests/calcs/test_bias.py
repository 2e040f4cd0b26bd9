"""A gauge that reads high is found from the fleet's own readings, and its neighbours are left in peace."""

import numpy as np
import pytest

from calcs.bias import (
    Bias,
    against_the_middle,
    bias_text,
    drive_share,
    efficiency_loss,
    held_back,
    holm,
    label_biases,
    robust_spread,
    solved,
    within_spread,
    without_drive,
)

GAUGES = np.array([f"G-{k}" for k in range(8)])
PEOPLE = np.array(["Ines", "Mats", "Olu", "Pia"])


def simulated(seed: int, gauge_bias: float = 0.0, person_bias: float = 0.0, wild: float = 0.02):
    """Charge readings less expected on 45 drives, six each; gauge G-3 and Olu may read high."""
    chance = np.random.default_rng(seed)
    drive = np.repeat(np.arange(45), 6)
    gauge, person = chance.choice(GAUGES, drive.size), chance.choice(PEOPLE, drive.size)
    own, wear = chance.normal(0, 0.8, 45), chance.exponential(0.05, 45)
    residual = own[drive] - wear[drive] * np.tile(np.arange(6), 45) + chance.normal(0, 0.4, drive.size)
    residual += gauge_bias * (gauge == "G-3") + person_bias * (person == "Olu")
    residual += np.where(chance.random(drive.size) < wild, chance.normal(0, 6, drive.size), 0)
    return residual, drive, gauge, person


def found(rows) -> set[str]:
    return {one.label for one in rows if one.is_found}


def test_a_gauge_a_bar_and_a_half_high_is_found_and_no_other():
    alone, people_blamed = 0, 0
    for seed in range(25):
        residual, drive, gauge, person = simulated(seed, gauge_bias=1.5)
        rows = label_biases(residual, drive, gauge, person)
        planted = next(one for one in rows if one.label == "G-3")
        assert planted.is_found and planted.bias == pytest.approx(1.5, abs=5 * planted.standard)
        people_blamed += bool(found(label_biases(residual, drive, person, gauge)))
        alone += found(rows) == {"G-3"}
    assert alone >= 23 and people_blamed <= 2


def test_a_person_who_reads_high_is_found_and_the_gauges_are_not_blamed():
    alone, gauges_blamed = 0, 0
    for seed in range(25):
        residual, drive, gauge, person = simulated(seed, person_bias=1.0)
        alone += found(label_biases(residual, drive, person, gauge)) == {"Olu"}
        gauges_blamed += bool(found(label_biases(residual, drive, gauge, person)))
    assert alone >= 23 and gauges_blamed <= 2


def test_where_nothing_is_off_a_name_is_called_as_rarely_as_stated():
    called = sum(bool(found(label_biases(*simulated(seed)))) for seed in range(100))
    assert called <= 5  # 1 to 2 in 100 are usual, five allowed


def test_the_uncertainty_is_true_to_what_it_says():
    scores = []
    for seed in range(60):
        rows = label_biases(*simulated(seed, gauge_bias=1.5, wild=0.0)[:3])
        truth = 1.5 * (np.array([one.label for one in rows]) == "G-3")
        scores += [(one.bias - true) / one.standard for one, true in zip(rows, truth, strict=True)]
    assert 0.75 < np.std(scores) < 1.4


def test_a_shift_of_all_readings_or_of_one_drive_blames_nobody():
    residual, drive, gauge, _ = simulated(3)
    same = [one.bias for one in label_biases(residual, drive, gauge)]
    assert [one.bias for one in label_biases(residual + 5, drive, gauge)] == pytest.approx(same, abs=1e-6)
    moved = residual + np.where(drive == 7, 30.0, 0.0)
    assert found(label_biases(moved, drive, gauge)) == set()


def test_a_gauge_and_its_only_user_cannot_be_told_apart_and_neither_is_named_alone():
    residual, drive, gauge, _ = simulated(5, gauge_bias=1.5)
    user = np.where(gauge == "G-3", "Olu", np.random.default_rng(1).choice(PEOPLE[[0, 1, 3]], gauge.size))
    planted = next(one for one in label_biases(residual, drive, gauge, user) if one.label == "G-3")
    assert planted.standard > 0.3


def test_missing_readings_are_left_out_and_too_few_say_nothing():
    residual, drive, gauge, _ = simulated(2, gauge_bias=1.5)
    holes = np.where(np.arange(residual.size) % 9 == 0, np.nan, residual)
    assert "G-3" in found(label_biases(holes, drive, gauge))
    few = np.where(np.arange(residual.size) == np.flatnonzero(gauge == "G-3")[0], "G-9", gauge)
    assert not next(one for one in label_biases(residual + 20 * (few == "G-9"), drive, few) if one.label == "G-9").is_found
    assert label_biases([1.0, 2.0], [1, 2], ["G-1", "G-1"]) == []
    assert label_biases([], [], []) == []


def test_holm_steps_down_and_stops_at_the_first_that_falls():
    assert holm(np.array([0.002, 0.003, 0.9])).tolist() == [False, False, False]
    assert holm(np.array([0.001, 0.0025, 0.9])).tolist() == [True, True, False]


def test_taking_the_drive_away_keeps_the_shape():
    rows = np.arange(12.0).reshape(6, 2)
    left = without_drive(rows, np.array([0, 0, 1, 1, 2, 2]), np.ones(3))
    assert left.shape == (6, 2) and left.sum() == pytest.approx(0)


def test_the_sentence_says_high_low_or_no_difference():
    assert "low against the people beside" in bias_text(Bias("Olu", -1.0, 0.1, 9, 4, True), "bar", "the people beside")
    assert "no difference from the other gauges beyond ± 0.20 bar" in bias_text(Bias("G-1", 0.05, 0.1, 9, 4, False), "bar")


def test_the_parts_of_the_fit_worked_by_hand():
    assert held_back(3, 2.0).tolist() == [1e-6, 0.25, 0.25]
    assert robust_spread(np.array([-1.0, 1.0, -1.0, 100.0])) == pytest.approx(1.4826)
    assert robust_spread(np.zeros(3)) == 1e-9
    assert within_spread(np.array([1.0, -1.0, 3.0, 1.0]), np.array([0, 0, 1, 1])) == pytest.approx(1.4826 * 2**0.5)
    assert efficiency_loss(np.array([1.0, -1.0, 1.0, -1.0])) == 1.0
    assert efficiency_loss(np.array([1.0, -1.0, 9.0, -9.0])) == pytest.approx((2 * 1 + 2 * 1.5**2) / 4 / 0.5**2)
    effects, inverse = solved(np.array([2.0, 4.0]), np.ones((2, 1)), np.array([1.0, 0.5]), np.array([0.5]))
    assert effects[0] == pytest.approx(4.0 / 2.0) and inverse[0, 0] == pytest.approx(1 / 2.5)


def test_the_share_of_a_drive_is_that_of_the_random_effects_model():
    """Means of 5 and -5 about their median: spread 1.4826 x 5 between drives, less the noise of a mean of two."""
    left, drive = np.array([5.0, 5.0, -5.0, -5.0]), np.array([0, 0, 1, 1])
    between = (1.4826 * 5) ** 2 - 0.4**2 / 2
    expected = 1 - 0.4 / (0.4**2 + 2 * between) ** 0.5
    assert drive_share(left, drive, 0.4).tolist() == pytest.approx([expected] * 2)
    assert drive_share(np.array([0.1, -0.1, 0.1, -0.1]), drive, 1.0).tolist() == [0, 0]


def test_the_middle_is_the_median_and_counts_are_told():
    labels, drives = np.repeat(["a", "b", "c"], 5), np.tile([0, 0, 1, 2, 2], 3)
    rows = against_the_middle(np.unique(labels), np.array([0.0, 0.1, 2.0]), 0.01 * np.eye(3), drives, labels)
    assert [one.bias for one in rows] == pytest.approx([-0.1, 0.0, 1.9])
    assert [(one.label, one.readings, one.drives, one.is_found) for one in rows] == [
        ("a", 5, 3, False),
        ("b", 5, 3, False),
        ("c", 5, 3, True),
    ]
    own = 0.01 * 2 / 3
    assert rows[0].standard == pytest.approx(((3 / 2) ** 2 * own + (np.pi / 2 - 1) * 0.02 / 4) ** 0.5)


def test_four_readings_are_enough_to_name_and_three_are_not():
    for count, named in ((4, True), (3, False)):
        labels = np.array(["a"] * 9 + ["b"] * 9 + ["c"] * count)
        rows = against_the_middle(np.unique(labels), np.array([0.0, 0.0, 2.0]), 0.01 * np.eye(3), np.arange(labels.size), labels)
        assert rows[2].is_found is named


def test_the_sentences_word_for_word():
    high = Bias("G-07", 1.52, 0.15, 40, 17, True)
    assert bias_text(high, "bar") == "G-07 reads 1.52 ± 0.30 bar high against the other gauges (40 readings on 17 drives): have it checked."
    calm = Bias("G-08", -0.05, 0.1, 9, 4, False)
    assert bias_text(calm, "bar") == "G-08 shows no difference from the other gauges beyond ± 0.20 bar (9 readings on 4 drives)."


@pytest.mark.parametrize("with_people", [False, True])
def test_a_bias_of_twelve_times_the_noise_is_neither_shrunk_nor_surer_than_it_is(with_people):
    """Three gauges, twelve drives, eight readings each: over sixty shops the truth lies within k = 2 about 95 times of 100."""
    estimates, spans = [], []
    for seed in range(60):
        throw = np.random.default_rng(seed)
        drive, gauge, person = np.repeat(range(12), 8), throw.integers(3, size=96), throw.integers(2, size=96)
        residual = throw.normal(0, 0.3, 12)[drive] + throw.normal(0, 0.12, 96) + 1.5 * (gauge == 2)
        found = label_biases(residual, drive, np.array(["a", "b", "c"])[gauge], np.array(["p", "q"])[person] if with_people else None)
        estimates.append(found[2].bias)
        spans.append(2 * found[2].standard)
    off = np.abs(np.array(estimates) - 1.5)
    assert np.mean(estimates) == pytest.approx(1.5, abs=0.03)
    assert 0.86 <= np.mean(off < np.array(spans)) <= 1.0

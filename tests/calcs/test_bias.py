"""A gauge that reads high is found from the fleet's own readings, and its neighbours are left in peace."""

import numpy as np
import pytest

from calcs.bias import Bias, bias_text, holm, label_biases, without_drive

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
    for seed in range(40):
        residual, drive, gauge, person = simulated(seed, gauge_bias=1.5)
        rows = label_biases(residual, drive, gauge, person)
        planted = next(one for one in rows if one.label == "G-3")
        assert planted.is_found and planted.bias == pytest.approx(1.5, abs=5 * planted.standard)
        people_blamed += bool(found(label_biases(residual, drive, person, gauge)))
        alone += found(rows) == {"G-3"}
    assert alone >= 38 and people_blamed <= 2


def test_a_person_who_reads_high_is_found_and_the_gauges_are_not_blamed():
    alone, gauges_blamed = 0, 0
    for seed in range(40):
        residual, drive, gauge, person = simulated(seed, person_bias=1.0)
        alone += found(label_biases(residual, drive, person, gauge)) == {"Olu"}
        gauges_blamed += bool(found(label_biases(residual, drive, gauge, person)))
    assert alone >= 38 and gauges_blamed <= 2


def test_where_nothing_is_off_a_name_is_called_as_rarely_as_stated():
    called = sum(bool(found(label_biases(*simulated(seed)))) for seed in range(200))
    assert called <= 8  # 1 to 2 in 100 are usual, four allowed


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

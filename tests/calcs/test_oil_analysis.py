"""Wear rates against a step-by-step balance and each other, acid and dirt words at their limits."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from calcs.dilution import carry_over, settled_by_top_up
from calcs.oil_analysis import ELEMENT_ORIGINS, Renewal, acid_rise_word, looks_like_dirt, renewed_share, wear_rate, wear_rate_between

rates = st.floats(0.1, 50)
hours = st.floats(10, 2000)


def test_without_renewal_the_rate_is_the_rise():
    assert wear_rate(20, 30, 250) == pytest.approx(4)
    assert wear_rate_between(20, 30, 250) == pytest.approx(4)
    assert wear_rate(30, 20, 250) == pytest.approx(-4)


@given(rates, hours, st.floats(0.1, 60))
def test_the_rate_put_in_comes_out_through_steady_top_up(rate, run_h, top_up_l):
    later_ppm = settled_by_top_up(rate / 100, top_up_l / run_h, 45, run_h)
    assert wear_rate(0, later_ppm, run_h, top_up_l, 45) == pytest.approx(rate, rel=1e-6)


@given(rates, st.floats(0, 100), hours, st.lists(st.tuples(st.floats(0.01, 1), st.floats(0, 0.9), st.floats(0, 5)), max_size=5))
def test_the_rate_put_in_comes_out_through_changes(rate, earlier_ppm, run_h, steps):
    after = sorted(step[0] for step in steps)
    renewals = [Renewal(run_h * at * 0.99, share, new) for at, (_, share, new) in zip(after, steps, strict=True)]
    found_ppm, last_h = earlier_ppm, 0.0
    for renewal in renewals:
        found_ppm = carry_over(found_ppm + rate / 100 * (renewal.after_h - last_h), renewal.share, renewal.new_oil_ppm)
        last_h = renewal.after_h
    found_ppm += rate / 100 * (run_h - last_h)
    assert wear_rate_between(earlier_ppm, found_ppm, run_h, renewals) == pytest.approx(rate, rel=1e-6, abs=1e-6)


def test_many_small_top_ups_come_to_the_steady_form():
    number, top_up_l = 2000, 9.0
    renewals = [Renewal(250 * (step + 0.5) / number, renewed_share(top_up_l / number, 45)) for step in range(number)]
    assert wear_rate_between(20, 30, 250, renewals) == pytest.approx(wear_rate(20, 30, 250, top_up_l, 45), rel=1e-4)


def test_one_top_up_just_before_the_sample_is_the_simple_correction():
    """Later figure times (1 + top-up/oil left), then the plain rise: common practice, no source."""
    left_l, top_up_l = 40.0, 5.0
    simple = 100 * (30 * (1 + top_up_l / left_l) - 20) / 250
    assert wear_rate_between(20, 30, 250, [Renewal(250, renewed_share(top_up_l, left_l + top_up_l))]) == pytest.approx(simple)


def test_the_balance_step_by_step():
    found_ppm, step_h = 20.0, 0.01
    for _ in range(25_000):
        found_ppm += step_h * (0.0512 - 5 / 45 / 250 * found_ppm)
    assert wear_rate(20, found_ppm, 250, top_up_l=5, system_l=45) == pytest.approx(5.12, rel=1e-3)


def test_a_top_up_hides_wear():
    assert wear_rate(20, 30, 250, 5, 45) > wear_rate(20, 30, 250) > 0


def test_after_a_full_change_only_the_hours_since_count():
    assert wear_rate_between(80, 6, 250, [Renewal(100, 1, new_oil_ppm=1)]) == pytest.approx(100 * 5 / 150)


def test_a_whole_fleet_at_once():
    found = wear_rate(np.array([20.0, 20.0, np.nan]), np.array([30.0, 30.0, 30.0]), 250, np.array([0.0, 5.0, 5.0]), 45)
    assert found[:2] == pytest.approx([4, 5.12], abs=0.005)
    assert np.isnan(found[2])


def test_impossible_balances_are_refused():
    refused = {(20, 30, 0): "run_h", (20, 30, 250, -1): "top_up_l", (20, 30, 250, 1, 0): "system_l"}
    for numbers, name in refused.items():
        with pytest.raises(ValueError, match=name):
            wear_rate(*numbers)
    with pytest.raises(ValueError, match="run_h must be above 0"):
        wear_rate_between(20, 30, 0)
    for renewals in ([Renewal(251, 0.1)], [Renewal(100, 0.1), Renewal(99, 0.1)], [Renewal(-1, 0.1)]):
        with pytest.raises(ValueError, match="after_h"):
            wear_rate_between(20, 30, 250, renewals)
    for share in (-0.1, 1.1):
        with pytest.raises(ValueError, match="share"):
            wear_rate_between(20, 30, 250, [Renewal(100, share)])
    with pytest.raises(ValueError, match="run_h must leave hours after a full change, got 250"):
        wear_rate_between(20, 30, 250, [Renewal(250, 1)])
    for top_up_l in (-1, 46):
        with pytest.raises(ValueError, match="top_up_l"):
            renewed_share(top_up_l, 45)
    with pytest.raises(ValueError, match="system_l"):
        renewed_share(0, 0)
    assert renewed_share(45, 45) == 1


def test_acid_words():
    """Rises of 0.5 and 1.0 mg KOH/g: from memory."""
    assert [acid_rise_word(0.5 + up, 0.5) for up in (-1, 0.49, 0.5, 0.99, 1.0)] == ["usual", "usual", "caution", "caution", "critical"]
    assert acid_rise_word(0.6, 0.1) == "caution"
    assert acid_rise_word(1, 0, caution_mgg=1, critical_mgg=1) == "critical"
    with pytest.raises(ValueError, match="critical_mgg"):
        acid_rise_word(1, 0, caution_mgg=1, critical_mgg=0.9)


def test_field_dust_holds_two_to_three_silicon_for_each_aluminium():
    """From memory."""
    assert [looks_like_dirt(silicon, 10) for silicon in (19, 20, 30, 31)] == [False, True, True, False]
    assert not looks_like_dirt(20, 0)
    for silicon, aluminium in ((-1, 1), (1, -1)):
        with pytest.raises(ValueError, match="ppm"):
            looks_like_dirt(silicon, aluminium)


def test_each_usual_element_has_an_origin():
    assert {"Fe", "Cu", "Cr", "Al", "Pb", "Sn", "Si", "Na", "K", "Zn", "Ca", "P", "Mg", "B"} == set(ELEMENT_ORIGINS)
    assert "slippers" in ELEMENT_ORIGINS["Cu"]
    assert "dirt" in ELEMENT_ORIGINS["Si"]


def test_small_systems_short_runs_and_a_trace_of_aluminium():
    assert renewed_share(0.1, 0.5) == pytest.approx(0.2)
    assert wear_rate_between(0, 1, 0.5) == pytest.approx(200)
    assert looks_like_dirt(1, 0.4)
    assert wear_rate(20, 30, 250, top_up_l=0.1) == wear_rate(20, 30, 250, top_up_l=0.1, system_l=1)

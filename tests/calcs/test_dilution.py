"""Partial changes and top-ups against published figures, a plain loop and limit cases."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from calcs.dilution import carry_over, changes_needed, old_share_after, settled_by_top_up, steady_after_change, steady_before_change
from tests.golden import golden

shares = st.floats(0.01, 1)


@pytest.mark.parametrize(("row", "drained_l", "system_l", "changes"), [("O01", 4, 7, 1), ("O02", 4, 7, 2), ("O04", 4, 10, 5)])
def test_old_oil_left_as_published(row, drained_l, system_l, changes):
    assert golden(row).close(100 * old_share_after(drained_l, system_l, changes))


@pytest.mark.parametrize(("changes", "percent"), [(0, 100), (1, 33.3), (2, 11.1), (3, 3.7)])
def test_thirty_of_forty_five_litres(changes, percent):
    assert 100 * old_share_after(30, 45, changes) == pytest.approx(percent, abs=0.05)


def test_changes_to_five_per_cent():
    """4 of 7 L: 3.5 changes, published questions and answers."""
    assert changes_needed(4, 7, residual_share=0.05) == pytest.approx(3.5, abs=0.05)
    assert changes_needed(4, 7, residual_share=1) == 0


@given(st.floats(1, 44), st.floats(0.01, 1))
def test_the_changes_needed_leave_just_what_is_allowed(drained_l, residual_share):
    assert old_share_after(drained_l, 45, changes_needed(drained_l, 45, residual_share)) == pytest.approx(residual_share)


@given(shares)
def test_a_long_run_of_changes_settles_at_the_formula(changed_share):
    figure, rise = 0.0, 20.0
    for _ in range(3000):
        before = figure + rise
        figure = before - before * changed_share
    assert steady_before_change(rise, changed_share) == pytest.approx(before, rel=1e-6)
    assert steady_after_change(rise, changed_share) == pytest.approx(figure, rel=1e-6, abs=1e-9)


def test_twenty_ppm_an_interval_with_two_fifths_changed():
    assert steady_before_change(20, 0.4) == pytest.approx(50)
    assert steady_after_change(20, 0.4) == pytest.approx(30)
    assert steady_after_change(np.array([20.0, 40.0]), 0.4) == pytest.approx([30, 60])


def test_what_a_change_leaves_in_the_oil():
    assert carry_over(60, 0) == 60
    assert carry_over(60, 1, new_oil_ppm=2) == 2
    assert carry_over(60, 0.5, new_oil_ppm=10) == pytest.approx(35)


def test_top_up_follows_the_mass_balance_step_by_step():
    concentration, step_h = 0.0, 0.1
    for _ in range(10_000):
        concentration += step_h * (0.1 - 0.05 / 50 * concentration)
    assert settled_by_top_up(0.1, 0.05, 50, run_h=1000) == pytest.approx(concentration, rel=1e-3)
    assert settled_by_top_up(0.1, 0.05, 50) == pytest.approx(100)
    assert settled_by_top_up(0.1, 0.05, 50, run_h=0) == 0
    assert settled_by_top_up(0.1, 0.05, 50, run_h=1) == pytest.approx(0.1, rel=1e-3)


def test_impossible_changes_are_refused():
    refused = {(46, 45, 1): "drained_l", (-1, 45, 1): "drained_l", (1, 0, 1): "system_l", (1, 45, -1): "changes"}
    for numbers, name in refused.items():
        with pytest.raises(ValueError, match=name):
            old_share_after(*numbers)
    refused = {(0, 45, 0.1): "drained_l", (45, 45, 0.1): "system_l", (30, 45, 0): "residual_share", (30, 45, 1.1): "residual_share"}
    for numbers, name in refused.items():
        with pytest.raises(ValueError, match=name):
            changes_needed(*numbers)
    assert old_share_after(45, 45) == 0
    for changed_share in (0, 1.1):
        with pytest.raises(ValueError, match="changed_share"):
            steady_before_change(20, changed_share)
    for changed_share in (-0.1, 1.1):
        with pytest.raises(ValueError, match="changed_share"):
            carry_over(20, changed_share)
    refused = {(0.1, 0, 50): "top_up_l_per_h", (0.1, 0.05, 0): "system_l", (0.1, 0.05, 50, -1): "run_h"}
    for numbers, name in refused.items():
        with pytest.raises(ValueError, match=name):
            settled_by_top_up(*numbers)


def test_half_a_litre_of_half_a_litre_and_plain_new_oil_are_let_in():
    assert old_share_after(0.25, 0.5) == pytest.approx(0.5)
    assert old_share_after(0, 45) == 1
    assert carry_over(60, changed_share=0.5) == pytest.approx(30)
    assert old_share_after(np.array([10.0, 20.0]), np.array([40.0, 40.0])) == pytest.approx([0.75, 0.5])

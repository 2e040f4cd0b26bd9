"""The litre ledger: partial changes, top-ups, losses, age, other oils, and fills that cannot have been."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from calcs.dilution import old_share_after
from calcs.ledger import (
    Fill,
    Portion,
    drawn_down,
    ever_had_other,
    hours_since_change,
    litres_by_product,
    mean_age_h,
    mix_value,
    mix_viscosity,
    old_share,
    portions_after,
    volume_l,
)

FIRST = Fill("first fill", 0, 45, "Brown 46")


def change(life_h: float, product: str = "Brown 68", litres: float = 30) -> Fill:
    return Fill("change", life_h, litres, product, out_l=litres)


def top_up(life_h: float, litres: float, product: str = "Brown 46") -> Fill:
    return Fill("top-up", life_h, litres, product)


def test_a_partial_change_leaves_a_third_then_a_ninth_then_a_twenty_seventh():
    fills = [FIRST]
    for number in (1, 2, 3):
        fills.append(change(500 * number))
        first_oil_l = litres_by_product(portions_after(fills)).get("Brown 46", 0)
        assert first_oil_l / 45 == pytest.approx((1 / 3) ** number)
        assert first_oil_l / 45 == pytest.approx(old_share_after(30, 45, number))


def test_old_oil_is_what_was_in_before_the_last_change():
    fills = [FIRST, change(500), change(1000)]
    assert old_share(portions_after(fills)) == pytest.approx(1 / 3)
    assert old_share(portions_after([FIRST])) == 0
    assert old_share(portions_after([FIRST, change(500, litres=45)])) == 0


def test_a_whole_change_leaves_nothing_of_the_old():
    assert portions_after([FIRST, change(500, litres=45)]) == (Portion("Brown 68", 500, 45),)


def test_mean_age_weighs_litres():
    portions = portions_after([FIRST, change(500)])
    assert mean_age_h(portions, now_life_h=600) == pytest.approx((15 * 600 + 30 * 100) / 45)
    assert mean_age_h(portions, now_life_h=500) == pytest.approx(500 / 3)


def test_a_top_up_does_not_set_the_age_back():
    fills = [FIRST, top_up(400, 2)]
    assert hours_since_change(fills, now_life_h=450) == 450
    assert mean_age_h(portions_after(fills), 450) == pytest.approx((45 * 450 + 2 * 50) / 47)
    assert old_share(portions_after(fills)) == 0


def test_a_change_sets_the_age_back_and_a_flush_does_not():
    flush = Fill("flush", 490, 45, "Flushing oil", out_l=45)
    assert hours_since_change([FIRST, flush], 500) == 500
    assert hours_since_change([FIRST, flush, change(500)], 620) == 120
    assert hours_since_change([FIRST, change(500)], 500) == 0
    assert hours_since_change([top_up(5, 1)], 10) is None


def test_a_flush_that_stays_behind_is_old_oil_after_the_change():
    flush = Fill("flush", 490, 45, "Flushing oil", out_l=45)
    portions = portions_after([FIRST, flush, change(500)])
    assert litres_by_product(portions) == pytest.approx({"Flushing oil": 15, "Brown 68": 30})
    assert old_share(portions) == pytest.approx(1 / 3)


def test_a_top_up_into_a_full_tank_tells_of_oil_lost():
    portions = portions_after([FIRST, top_up(400, 9)], capacity_l=45)
    assert volume_l(portions) == pytest.approx(45)
    assert [p.volume_l for p in portions] == pytest.approx([36, 9])
    assert volume_l(portions_after([FIRST, top_up(400, 9)])) == pytest.approx(54)


def test_a_top_up_below_the_full_mark_tells_of_no_loss():
    portions = portions_after([Fill("first fill", 0, 40, "A"), top_up(10, 3, "B")], capacity_l=45)
    assert [p.volume_l for p in portions] == pytest.approx([40, 3])


def test_a_change_above_the_full_mark_counts_its_drain_first():
    portions = portions_after([FIRST, Fill("change", 500, 30, "B", out_l=25)], capacity_l=45)
    assert [p.volume_l for p in portions] == pytest.approx([15, 30])


def test_a_drain_takes_of_every_portion_in_proportion():
    portions = portions_after([FIRST, change(500), Fill("change", 1000, 0, "", out_l=9)])
    assert litres_by_product(portions) == pytest.approx({"Brown 46": 12, "Brown 68": 24})
    assert drawn_down(portions, 0) == ()


@given(st.lists(st.tuples(st.floats(0, 1), st.floats(0, 40)), max_size=12))
def test_litres_in_less_litres_out_are_in_the_tank(steps):
    fills, held_l = [FIRST], 45.0
    for number, (drained_share, filled_l) in enumerate(steps):
        fills.append(Fill("change", number + 1, filled_l, f"Oil {number}", out_l=held_l * drained_share))
        held_l += filled_l - held_l * drained_share
    assert volume_l(portions_after(fills)) == pytest.approx(held_l, abs=1e-6)


def test_one_drop_of_another_oil_is_remembered_for_good():
    fills = [FIRST, top_up(100, 0.5, "Other"), change(500, "Brown 46", 45.5)]
    assert ever_had_other(fills, "Brown 46")
    assert litres_by_product(portions_after(fills)) == {"Brown 46": 45.5}
    assert not ever_had_other([FIRST, change(500, "Brown 46")], "Brown 46")
    assert not ever_had_other([FIRST, Fill("change", 500, 0, "Other", out_l=1)], "Brown 46")


def test_the_mix_of_the_ledger():
    """30 L of 46 and 15 L of 68 mm2/s: 52.2 by the Walther ordinate."""
    portions = portions_after([Fill("first fill", 0, 45, "46"), Fill("change", 500, 15, "68", out_l=15)])
    assert mix_viscosity(portions, {"46": 46, "68": 68}) == pytest.approx(52.2, abs=0.05)
    assert mix_value(portions, {"46": 300, "68": 0}) == pytest.approx(200)


def test_an_unknown_product_leaves_the_mix_unknown():
    portions = portions_after([FIRST, change(500)])
    assert mix_viscosity(portions, {"Brown 46": 46}) is None
    assert mix_value(portions, {"Brown 46": 46}) is None


def test_an_empty_tank_has_no_age_no_share_and_no_mix():
    for empty in (portions_after([]), portions_after([FIRST, Fill("change", 10, 0, "", out_l=45)])):
        assert empty == ()
        assert volume_l(empty) == 0
        assert old_share(empty) is mean_age_h(empty, 10) is mix_viscosity(empty, {}) is mix_value(empty, {}) is None


def test_a_tank_run_empty_may_be_first_filled_again():
    assert portions_after([FIRST, Fill("change", 10, 0, "", out_l=45), Fill("first fill", 10, 40, "B")]) == (Portion("B", 10, 40),)


def test_a_rounding_of_litres_is_no_refusal():
    assert portions_after([FIRST, Fill("change", 10, 45, "B", out_l=45 + 1e-10)]) == (Portion("B", 10, 45),)


@pytest.mark.parametrize(
    ("fill", "words"),
    [
        (Fill("change", 500, 30, "B", out_l=46), "out_l must not be above the 45 L that are in, got 46"),
        (Fill("top-up", 500, -1, "B"), "in_l and out_l must not be below zero, got -1"),
        (Fill("change", 500, 1, "B", out_l=-2), "in_l and out_l must not be below zero, got 1 and -2"),
        (Fill("top-up", -1, 1, "B"), "life_h must not run backwards, got -1 after 0"),
        (Fill("first fill", 500, 1, "B"), "kind must not be first fill"),
        (Fill("spill", 500, 1, "B"), "kind must be one of first fill, change, top-up, flush, got spill"),
    ],
)
def test_fills_that_cannot_have_been_are_refused(fill, words):
    with pytest.raises(ValueError, match=words):
        portions_after([FIRST, fill])


def test_more_than_the_tank_holds_is_refused():
    with pytest.raises(ValueError, match="in_l must not be above the capacity of 45 L, got 46"):
        portions_after([Fill("first fill", 0, 46, "A")], capacity_l=45)
    assert volume_l(portions_after([FIRST], capacity_l=45)) == 45


def test_now_before_the_last_fill_is_refused():
    with pytest.raises(ValueError, match="now_life_h must not be before the last fill at 500 h, got 499"):
        mean_age_h(portions_after([FIRST, change(500)]), 499)
    with pytest.raises(ValueError, match="now_life_h must not be before the last change at 500 h, got 499"):
        hours_since_change([FIRST, change(500)], 499)


def test_a_drain_alone_does_not_make_oil_old():
    assert not drawn_down((Portion("A", 0, 40),), 0.5)[0].is_old


def test_the_same_product_filled_twice_is_one_product():
    assert litres_by_product((Portion("A", 0, 10), Portion("B", 1, 5), Portion("A", 2, 7))) == {"A": 17, "B": 5}


def test_the_last_of_three_changes_is_the_one_named():
    with pytest.raises(ValueError, match="last change at 900 h, got 899"):
        hours_since_change([FIRST, change(500), change(900)], 899)

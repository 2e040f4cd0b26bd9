"""Mixed oils against a worked example, an open formula and limit cases."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from calcs.blend import blend_band, blend_shares, blend_value, blend_viscosity

volumes = st.floats(0.1, 500)
viscosities = st.floats(2, 2000)


def test_thirty_litres_of_46_and_fifteen_of_68():
    """Worked by hand on double natural logarithms: 52.2, where a straight mix would say 53.3 mm2/s."""
    ordinate = 2 / 3 * np.log(np.log(46.7)) + 1 / 3 * np.log(np.log(68.7))
    assert blend_viscosity([30, 15], [46, 68]) == pytest.approx(np.exp(np.exp(ordinate)) - 0.7)
    assert blend_viscosity([30, 15], [46, 68]) == pytest.approx(52.2, abs=0.05)
    assert blend_value([30, 15], [46, 68]) == pytest.approx(53.3, abs=0.05)


@given(volumes, volumes, viscosities, viscosities)
def test_a_mix_lies_between_its_parts_and_below_the_straight_mix(first_l, second_l, first_mm2s, second_mm2s):
    mixed = blend_viscosity([first_l, second_l], [first_mm2s, second_mm2s])
    assert min(first_mm2s, second_mm2s) * (1 - 1e-9) <= mixed <= max(first_mm2s, second_mm2s) * (1 + 1e-9)
    assert mixed <= blend_value([first_l, second_l], [first_mm2s, second_mm2s]) * (1 + 1e-9)


@given(volumes, volumes, viscosities, viscosities, st.floats(0.1, 10))
def test_order_and_scale_do_not_matter(first_l, second_l, first_mm2s, second_mm2s, scale):
    mixed = blend_viscosity([first_l, second_l], [first_mm2s, second_mm2s])
    assert blend_viscosity([second_l, first_l], [second_mm2s, first_mm2s]) == pytest.approx(mixed)
    assert blend_viscosity([first_l * scale, second_l * scale], [first_mm2s, second_mm2s]) == pytest.approx(mixed)


@given(volumes, viscosities)
def test_one_oil_twice_is_that_oil(volume_l, viscosity_mm2s):
    assert blend_viscosity([volume_l, 3 * volume_l], [viscosity_mm2s] * 2) == pytest.approx(viscosity_mm2s)
    assert blend_viscosity([volume_l, 0], [viscosity_mm2s, 500]) == pytest.approx(viscosity_mm2s)


def test_the_band_is_wider_with_an_improver_and_shut_with_one_oil():
    low, expected, high = blend_band([30, 15], [46, 68], has_vi_improver=False)
    assert (low / expected, high / expected) == pytest.approx((0.95, 1.05))
    low, expected, high = blend_band([30, 15], [46, 68], has_vi_improver=True)
    assert (low / expected, high / expected) == pytest.approx((0.85, 1.15))
    assert blend_band([30, 0], [46, 68], has_vi_improver=True) == pytest.approx((46, 46, 46))


def test_shares_sum_to_one():
    assert blend_shares([1, 3]) == pytest.approx([0.25, 0.75])


def test_mixes_of_nothing_or_of_unlike_lists_are_refused():
    for volumes_l in ([], [0, 0], [1, -1, 2]):
        with pytest.raises(ValueError, match="volumes_l must be zero or more and not all zero"):
            blend_shares(volumes_l)
    with pytest.raises(ValueError, match="viscosities_mm2s must be as many as volumes_l"):
        blend_viscosity([1, 2], [46])
    with pytest.raises(ValueError, match="values must be as many"):
        blend_value([1, 2], [46])
    with pytest.raises(ValueError, match="viscosities_mm2s must be 2"):
        blend_viscosity([1, 2], [46, 1.9])


def test_one_part_alone_is_all_of_it():
    assert blend_shares([5]) == pytest.approx([1])
    assert blend_viscosity([5], [46]) == pytest.approx(46)

"""Viscosity index, Saybolt seconds and ISO classes against the standards and other libraries."""

import chemicals.viscosity
import pytest
from hypothesis import given
from hypothesis import strategies as st

from calcs.grade import (
    ISO_VG_MIDPOINTS_MM2S,
    index_references,
    iso_vg_class,
    saybolt_growth,
    saybolt_seconds,
    viscosity_from_saybolt,
    viscosity_index,
)
from tests.golden import golden


def saybolt_by_the_text_of_d2161(v: float) -> float:
    return 4.6324 * v + (1 + 0.03264 * v) / ((3930.2 + 262.7 * v + 23.97 * v**2 + 1.646 * v**3) * 1e-5)


@pytest.mark.parametrize(
    ("row", "nu40_mm2s", "nu100_mm2s"),
    [("F01", 73.30, 8.86), ("F03", 30, 5.23), ("F05", 70, 11.1), ("F07", 68, 8.6), ("F08", 60, 9.6)],
)
def test_viscosity_index_of_published_oils(row, nu40_mm2s, nu100_mm2s):
    assert golden(row).close(viscosity_index(nu40_mm2s, nu100_mm2s))


def test_second_calculation_example_of_d2270():
    """ASTM D2270, example of procedure B: 22.83 and 5.05 mm2/s give 156."""
    assert round(viscosity_index(22.83, 5.05)) == 156
    assert index_references(5.05)[1] == pytest.approx(28.97, abs=0.01)


def test_the_reference_oils_of_d2270():
    low, high = index_references(8.86)
    assert golden("F40").close(low)
    assert golden("F41").close(high)


@given(st.floats(2, 70, exclude_max=True))
def test_the_two_reference_oils_have_index_0_and_100(nu100_mm2s):
    low, high = index_references(nu100_mm2s)
    assert viscosity_index(low, nu100_mm2s) == pytest.approx(0, abs=1e-6)
    assert viscosity_index(high, nu100_mm2s) == pytest.approx(100, abs=1e-6)


def test_a_very_thick_oil_follows_the_formula_of_the_standard():
    """ASTM D2270, equations above 70 mm2/s: index 0 and 100 at their own L and H."""
    y = 80.0
    assert viscosity_index(0.8353 * y**2 + 14.67 * y - 216, y) == pytest.approx(0, abs=1e-6)
    assert viscosity_index(0.1684 * y**2 + 11.85 * y - 97, y) == pytest.approx(100, abs=1e-6)


def test_an_oil_too_thin_or_upside_down_has_no_index():
    with pytest.raises(ValueError, match="nu100_mm2s must be 2"):
        viscosity_index(6, 1.9)
    with pytest.raises(ValueError, match="nu40_mm2s must be above nu100_mm2s, got 9"):
        viscosity_index(9, 9)
    for nu100_mm2s in (1.99, 70.1):
        with pytest.raises(ValueError, match="nu100_mm2s"):
            index_references(nu100_mm2s)


def test_saybolt_seconds_of_service_manuals():
    assert golden("F22").close(saybolt_seconds(30))
    assert golden("F23").close(saybolt_seconds(9.0))
    assert golden("F25").close(saybolt_seconds(50))
    assert saybolt_seconds(32) == pytest.approx(150, rel=0.005)


def test_saybolt_limit_factor_at_210():
    assert golden("F24").close(saybolt_seconds(1e6, oil_temp_f=210) / 1e6)
    assert saybolt_seconds(1e6) / 1e6 == pytest.approx(4.632, abs=0.001)


def test_saybolt_turned_round_at_150():
    assert golden("F27").close(viscosity_from_saybolt(230, oil_temp_f=150))


@given(st.floats(1.82, 3000))
def test_saybolt_agrees_with_the_text_of_the_standard(viscosity_mm2s):
    assert saybolt_seconds(viscosity_mm2s) == pytest.approx(saybolt_by_the_text_of_d2161(viscosity_mm2s), rel=1e-9)


@given(st.floats(1.82, 3000), st.floats(0, 350))
def test_saybolt_there_and_back(viscosity_mm2s, oil_temp_f):
    seconds = saybolt_seconds(viscosity_mm2s, oil_temp_f)
    assert viscosity_from_saybolt(seconds, oil_temp_f) == pytest.approx(viscosity_mm2s, rel=1e-6)


def test_saybolt_agrees_with_the_library_both_ways():
    back = chemicals.viscosity.viscosity_converter(150, "saybolt universal", "kinematic viscosity") * 1e6
    assert viscosity_from_saybolt(150) == pytest.approx(back, rel=1e-5)


def test_saybolt_out_of_range_is_refused():
    with pytest.raises(ValueError, match="viscosity_mm2s must be above 1.81, got 1.81"):
        saybolt_seconds(1.81)
    with pytest.raises(ValueError, match="saybolt_s must belong to more than 1.81 mm2/s, got 30"):
        viscosity_from_saybolt(30)
    assert saybolt_growth(0) < 1 < saybolt_growth(350)
    for oil_temp_f in (-1, 351):
        with pytest.raises(ValueError, match="oil_temp_f"):
            saybolt_growth(oil_temp_f)


@pytest.mark.parametrize(
    ("grade", "low", "high"),
    [
        (10, 9, 11),
        (15, 13.5, 16.5),
        (22, 19.8, 24.2),
        (32, 28.8, 35.2),
        (46, 41.4, 50.6),
        (68, 61.2, 74.8),
        (100, 90, 110),
        (150, 135, 165),
    ],
)
def test_iso_classes_and_their_limits(grade, low, high):
    """ISO 3448, limits as printed in several reprints."""
    assert iso_vg_class(low) == iso_vg_class(grade) == iso_vg_class(high) == grade
    assert iso_vg_class(low * 0.99999) is iso_vg_class(high * 1.00001) is None


def test_iso_classes_of_the_thin_and_the_thick_oils():
    """ISO 3448, table 1: midpoints below 10 are not their class numbers; limits of 2 to 7 and 220 to 3200 as printed there, from memory."""
    printed = {2: (1.98, 2.42), 3: (2.88, 3.52), 5: (4.14, 5.06), 7: (6.12, 7.48), 220: (198, 242), 320: (288, 352)}
    printed |= {460: (414, 506), 680: (612, 748), 1000: (900, 1100), 1500: (1350, 1650), 2200: (1980, 2420), 3200: (2880, 3520)}
    for grade, (low, high) in printed.items():
        assert iso_vg_class(low) == iso_vg_class(high) == grade
        assert iso_vg_class(low * 0.998) is iso_vg_class(high * 1.002) is None
    assert len(ISO_VG_MIDPOINTS_MM2S) == 20


def test_each_iso_class_is_about_half_as_thick_again():
    """ISO 3448: each class about 50 % above the one before."""
    midpoints = list(ISO_VG_MIDPOINTS_MM2S.values())
    for thin, thick in zip(midpoints, midpoints[1:], strict=False):
        assert thick / thin == pytest.approx(1.5, abs=0.07)


def test_no_oil_has_no_viscosity():
    with pytest.raises(ValueError, match="nu40_mm2s must be above 0"):
        iso_vg_class(0)


def test_saybolt_growth_as_the_standard_writes_it():
    """ASTM D2161: 1 + 0.000061 (t - 100)."""
    assert saybolt_growth(100) == 1
    assert saybolt_growth(200) == pytest.approx(1.0061, abs=1e-12)

"""Words of the viscosity window and of the change since new, at and about their limits."""

import pytest

from calcs.window import ViscosityWindow, change_share, viscosity_change_word, viscosity_word


def test_no_oil_has_no_viscosity():
    with pytest.raises(ValueError, match="viscosity_mm2s must be above 0"):
        viscosity_word(0)


@pytest.mark.parametrize(
    ("viscosity_mm2s", "word"),
    [
        (4.999, "too thin"), (5, "short time only"), (6.999, "short time only"), (7, "thin"), (11.999, "thin"), (12, "good"),
        (15.999, "good"), (16, "best"), (36, "best"), (36.01, "good"), (80, "good"), (80.01, "thick"),
        (1600, "thick"), (1600.1, "too thick to start"),
    ],
)  # fmt: skip
def test_words_of_the_viscosity_window(viscosity_mm2s, word):
    """Usual limits of catalogues, from memory."""
    assert viscosity_word(viscosity_mm2s) == word


def test_a_maker_s_own_window_goes_first():
    """One maker prints 12 to 100, best 20 to 40 mm2/s (tipper manual)."""
    window = ViscosityWindow(8, 10, 12, 20, 40, 100, 1000)
    assert [viscosity_word(v, window) for v in (9, 18, 20, 40, 90, 110, 1001)] == [
        "short time only", "good", "best", "best", "good", "thick", "too thick to start",
    ]  # fmt: skip


def test_a_window_upside_down_is_refused():
    with pytest.raises(ValueError, match="window must rise"):
        viscosity_word(20, ViscosityWindow(minimum_mm2s=100))


@pytest.mark.parametrize(
    ("used_mm2s", "has_vi_improver", "word"),
    [
        (95.1, False, "usual"), (95, False, "caution"), (90.1, False, "caution"), (90, False, "critical"),
        (104.9, False, "usual"), (105, False, "caution"), (110, False, "critical"),
        (90.1, True, "usual"), (90, True, "caution"), (80, True, "critical"), (105, True, "caution"), (110, True, "critical"),
    ],
)  # fmt: skip
def test_viscosity_change_words(used_mm2s, has_vi_improver, word):
    """5 and 10 % either way, falls of improved oils allowed twice as far: Efficient Plant, October 2010."""
    assert viscosity_change_word(used_mm2s, 100, has_vi_improver) == word


def test_change_is_a_share_of_the_new_value():
    assert change_share(55, 50) == pytest.approx(0.1)
    assert change_share(50, 50) == 0
    with pytest.raises(ValueError, match="new must be above 0"):
        change_share(1, 0)
    with pytest.raises(ValueError, match="critical_share"):
        viscosity_change_word(1, 1, caution_share=0.2, critical_share=0.1)
    with pytest.raises(ValueError, match="caution_share"):
        viscosity_change_word(1, 1, caution_share=0)
    with pytest.raises(ValueError, match="used_mm2s"):
        viscosity_change_word(0, 1)


def test_an_oil_counts_as_plain_unless_said_otherwise():
    assert viscosity_change_word(94, 100) == "caution"
    with pytest.raises(ValueError, match="critical_share must be from 0.05 to 1, got 1.5"):
        viscosity_change_word(94, 100, critical_share=1.5)

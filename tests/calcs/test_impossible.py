"""What cannot be, whatever the wear."""

from dataclasses import replace

import pytest

from calcs.acceptance import Related
from calcs.drive_spec import Conditions, DriveSpec
from calcs.impossible import (
    charge_delivery_of,
    code_rises,
    impossible_because,
    lossless_speed,
    relief_below_loop,
    return_above_delivery,
    speed_above_geometry,
)
from tests.calcs.reference_drive import LOADED, R1, VG46


def because(code, value, related=Related(), spec=R1, standard=0.2):  # noqa: B008
    return impossible_because(code, value, standard, spec, VG46, LOADED, related)


def test_case_return_above_charge_delivery_cannot_be():
    """The reference drive's charge pump gives 39.6 L/min."""
    assert "cannot be" in because("total_case_return", 45.0)
    assert "39.6 L/min" in because("total_case_return", 45.0, Related(charge_delivery_lpm=39.6))
    assert because("total_case_return", 35.0) is None
    assert because("pump_case_flow", 45.0) and because("motor_case_flow", 45.0)


def test_a_return_a_little_above_delivery_may_be_the_meters():
    assert return_above_delivery(41, 0.5, 39.6, 0.99) is None
    assert return_above_delivery(39.6 + 2.22, 0.5, 39.6, 0.99) is not None


def test_delivery_is_the_measured_one_or_worked_out_or_unknown():
    assert charge_delivery_of(R1, VG46, LOADED, Related(charge_delivery_lpm=30)) == 30
    assert charge_delivery_of(R1, VG46, LOADED, Related()) == pytest.approx(39.6, abs=0.2)
    assert charge_delivery_of(DriveSpec(), VG46, LOADED, Related()) is None
    assert because("total_case_return", 500.0, spec=DriveSpec()) is None


def test_speed_above_geometry_cannot_be():
    """100 cm3 at 2200 rpm into 80 cm3 turns 2750 rpm and not more."""
    assert lossless_speed("output_speed", R1, LOADED) == 2750
    assert because("output_speed", 2900, standard=5) and because("output_speed", 2745, standard=5) is None
    assert speed_above_geometry("output_speed", 2760, 5, R1, LOADED) is None  # within the doubt of both tachometers
    assert because("top_speed", 34) and because("top_speed", 32.3) is None


def test_without_geometry_or_engine_speed_no_speed_is_called_impossible():
    assert speed_above_geometry("output_speed", 9999, 5, DriveSpec(), LOADED) is None
    assert speed_above_geometry("output_speed", 9999, 5, R1, Conditions()) is None
    assert lossless_speed("top_speed", replace(R1, final_ratio=None), LOADED) is None
    fixed = replace(R1, motor_displacement_min_cc=None)
    assert lossless_speed("output_speed", fixed, LOADED) == 1375


def test_a_relief_below_a_pressure_the_loop_has_carried_cannot_be():
    assert because("main_relief", 310, Related(highest_loop_bar=380), standard=3)
    assert because("main_relief", 375, Related(highest_loop_bar=380), standard=3) is None
    assert because("main_relief", 310) is None
    assert relief_below_loop(380, 3, 310) is None


@pytest.mark.parametrize(("code", "rises"), [((19, 16, 13), False), ((16, 16, 16), False), ((16, 19, 13), True), ((None, 13, 16), True),
                                             ((None, None, 13), False), ((22, None, 23), True)])  # fmt: skip
def test_a_cleanliness_code_does_not_rise_with_size(code, rises):
    assert bool(code_rises(*code)) is rises


@pytest.mark.parametrize("code", ["pump_case_flow", "flushing_flow", "stroke_time", "top_speed", "charge_inlet_pressure"])
def test_what_has_no_negative_is_not_below_zero(code):
    assert because(code, -0.5).endswith("cannot be below zero.")


def test_a_gauge_pressure_may_be_below_zero():
    assert because("case_pressure", -0.1) is None


def test_the_margins_are_the_expanded_uncertainty_of_the_difference():
    """3 and 4 make 5, and twice that is 10."""
    assert return_above_delivery(50, 3, 40, 4) is None and return_above_delivery(50.1, 3, 40, 4) is not None
    assert return_above_delivery(46.1, 3, 40, 0) is not None and return_above_delivery(46, 3, 40, 0) is None
    assert relief_below_loop(310, 3, 310 + 6 * 2**0.5 - 0.01) is None
    assert relief_below_loop(310, 3, 310 + 6 * 2**0.5 + 0.01) is not None
    assert relief_below_loop(380, 0, 380) is None
    exact = replace(LOADED, engine_speed_share=0.0)
    assert speed_above_geometry("output_speed", 2760, 5, R1, exact) is None
    assert speed_above_geometry("output_speed", 2761, 5, R1, exact) is not None
    shaky = replace(LOADED, engine_speed_share=4 / 2750)
    assert speed_above_geometry("output_speed", 2759.9, 3, R1, shaky) is None
    assert speed_above_geometry("output_speed", 2760.1, 3, R1, shaky) is not None


def test_the_rolling_radius_adds_its_doubt_to_a_ground_speed_alone():
    exact = replace(LOADED, engine_speed_share=0.0)
    bound = lossless_speed("top_speed", R1, exact)
    assert speed_above_geometry("top_speed", bound * 1.009, 0.0, R1, exact) is None
    assert speed_above_geometry("top_speed", bound * 1.011, 0.0, R1, exact) is not None
    assert speed_above_geometry("output_speed", 2751, 0.0, R1, exact) is not None
    assert speed_above_geometry("output_speed", 2750, 0.0, R1, exact) is None


def test_the_bound_knows_pump_gearing_and_the_count_of_motors():
    assert lossless_speed("output_speed", replace(R1, pump_speed_ratio=1.2, motors_per_pump=2), LOADED) == pytest.approx(1650)


def test_the_sentences_word_for_word():
    assert code_rises(None, 13, 16) == "Cleanliness code -/13/16 rises with the size of the particles, which cannot be."
    assert because("top_speed", 34.0) == (
        "Speed 34 km/h is above the 32.4 km/h that pump and motor can reach without any leakage, which cannot be."
    )
    assert because("total_case_return", 0.0) is None and because("stroke_time", 0.5) is None


def test_a_delivery_worked_out_is_taken_to_be_good_to_5_percent():
    given = Related(charge_delivery_lpm=40.0)
    assert because("total_case_return", 41.9, given, standard=0.0) is None
    assert because("total_case_return", 42.1, given, standard=0.0) is not None


def test_pump_and_motor_drain_add_up_and_together_cannot_pass_the_charge_flow():
    """Conservation of flow: what comes out of both cases went in at the charge pump."""
    given = Related(charge_delivery_lpm=39.6, other_case_lpm=12.0, other_case_uncertainty_lpm=0.1)
    for code in ("pump_case_flow", "motor_case_flow"):
        assert "together, 50.0 L/min" in impossible_because(code, 38.0, 0.3, DriveSpec(), None, Conditions(), given)
    assert impossible_because("pump_case_flow", 38.0, 0.3, DriveSpec(), None, Conditions(), replace(given, other_case_lpm=None)) is None
    assert impossible_because("total_case_return", 38.0, 0.3, DriveSpec(), None, Conditions(), given) is None


def test_two_drains_that_pass_the_charge_flow_within_their_doubt_may_be():
    """Expanded doubt of the difference: 2 x sqrt(0.3^2 + 0.1^2 + 0.99^2) = 2.08 L/min about 39.6."""
    given = Related(charge_delivery_lpm=39.6, other_case_lpm=12.0, other_case_uncertainty_lpm=0.1)
    assert impossible_because("pump_case_flow", 29.6, 0.3, DriveSpec(), None, Conditions(), given) is None
    assert impossible_because("pump_case_flow", 29.7, 0.3, DriveSpec(), None, Conditions(), given)

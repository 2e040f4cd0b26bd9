"""Who decides a reading, and what is kept unjudged."""

import json
from dataclasses import replace

import pytest

from calcs.drive_spec import DriveSpec
from calcs.uncertainty import Instrument, InstrumentState
from calcs.verdicts import AcceptanceRule, Form, Related, State, judge_by_rule, judge_reading, rule_obstacle
from tests.calcs.reference_drive import LOADED, R1, VG46

BOOK = {"document": "Loader service book", "page": "5-43", "revision": "B"}
GAUGE_60 = Instrument("G-07", class_percent=1.6, span=60, resolution=1.0)
GAUGE_40 = Instrument("G-12", class_percent=0.6, span=40, resolution=0.2)
MINIMUM_21 = AcceptanceRule("charge_neutral", Form.MINIMUM, low=21, **BOOK)


def judged(code, value, rule=None, spec=R1, oil=VG46, conditions=LOADED, instrument=GAUGE_40, related=None, **more):
    return judge_reading(code, value, spec=spec, oil=oil, conditions=conditions, instrument=instrument, rule=rule, related=related, **more)


def test_the_worked_case_of_the_sheet():
    found = judged("charge_neutral", 20.6, MINIMUM_21, instrument=GAUGE_60).verdict
    assert found.state is State.UNDECIDED and "20.6 ± 1.25 bar against limit 21.0 bar" in found.reason and "class 0.6" in found.reason
    assert judged("charge_neutral", 20.6, MINIMUM_21, instrument=GAUGE_40).verdict.state is State.OUTSIDE_LOW


def test_the_makers_rule_decides_and_is_named():
    found = judged("charge_neutral", 24.5, MINIMUM_21)
    assert found.verdict.state is State.INSIDE and found.verdict.decided_by == "maker"
    assert "Loader service book, page 5-43, rev. B" in found.verdict.reason
    assert found.expectation.high < 24.5  # the calculation alone would have said outside high


def test_without_a_rule_the_calculation_decides_and_says_so():
    found = judged("charge_neutral", 22.4)
    assert found.verdict.state is State.INSIDE and found.verdict.decided_by == "calculated"
    assert "calculated, shop tolerance 5 %" in found.verdict.reason and "no maker's rule on record" in found.verdict.reason


@pytest.mark.parametrize(
    ("rule", "obstacle"),
    [
        (None, "no maker's rule on record"),
        (replace(MINIMUM_21, page=""), "the rule on record names no document and page"),
        (replace(MINIMUM_21, quantity="main_relief"), "the rule on record is for main relief pressure"),
        (replace(MINIMUM_21, oil_temp_low_c=70), "oil temperature 60 degC is outside the 70 degC or more of the rule"),
        (replace(MINIMUM_21, direction="reverse"), "the rule holds for reverse only"),
        (MINIMUM_21, ""),
    ],
)
def test_a_rule_that_cannot_decide_leaves_it_to_the_calculation_and_the_reason_says_why(rule, obstacle):
    assert rule_obstacle(rule, "charge_neutral", LOADED) == obstacle
    found = judged("charge_neutral", 22.4, rule).verdict
    assert found.decided_by == ("calculated" if obstacle else "maker") and obstacle in found.reason


def test_a_rule_whose_neutral_reading_is_missing_leaves_it_to_the_calculation():
    rule = AcceptanceRule("charge_stroked", Form.SHARE_OF_NEUTRAL, share=0.8, **BOOK)
    found = judged("charge_stroked", 20.0, rule).verdict
    assert found.decided_by == "calculated" and "own neutral reading, which was not taken" in found.reason
    low = judged("charge_stroked", 16.0, rule, related=Related(neutral_bar=22.0, neutral_uncertainty_bar=0.2)).verdict
    assert low.state is State.OUTSIDE_LOW and low.decided_by == "maker" and low.low == pytest.approx(17.6)


def test_neither_rule_nor_calculation_is_not_comparable_with_both_reasons():
    found = judged("pump_case_flow", 5.0, oil=None)
    assert found.expectation is None and found.verdict.state is State.NOT_COMPARABLE
    assert found.verdict.reason == "Fluid unknown: no expected value; no maker's rule on record."
    assert judged("cross_port_leakage", 3.0).verdict.state is State.NOT_COMPARABLE


@pytest.mark.parametrize("state", [InstrumentState.FAILED, InstrumentState.OVERDUE])
def test_an_instrument_that_cannot_be_trusted_judges_nothing(state):
    found = judged("charge_neutral", 5.0, MINIMUM_21, instrument=replace(GAUGE_60, state=state)).verdict
    assert found.state is State.SUSPECT_INSTRUMENT and state.value in found.reason and found.decided_by == ""


def test_case_return_above_charge_delivery_is_impossible_even_for_a_maker():
    rule = AcceptanceRule("total_case_return", Form.MAXIMUM, high=60, **BOOK)
    meter = Instrument("F-02", reading_percent=1.0)
    assert judged("total_case_return", 45.0, rule, instrument=meter).verdict.state is State.IMPOSSIBLE


def test_a_drain_in_series_is_not_comparable_whatever_it_reads():
    rule = AcceptanceRule("pump_case_flow", Form.MAXIMUM, high=60, **BOOK)
    for value in (2.0, 20.0, 38.0):
        found = judged("pump_case_flow", value, rule, conditions=replace(LOADED, drain_in_series=True), instrument=None).verdict
        assert found.state is State.NOT_COMPARABLE and "whatever the wear" in found.reason


@pytest.mark.parametrize(
    ("value", "state", "words"),
    [(2.0, State.INSIDE, "inside"), (5.0, State.UNDECIDED, "marginal class"), (9.0, State.OUTSIDE_HIGH, "faulty class"),
     (3.85, State.UNDECIDED, "too near an edge"), (7.55, State.UNDECIDED, "too near an edge")],
)  # fmt: skip
def test_three_classes(value, state, words):
    rule = AcceptanceRule("motor_case_flow", Form.THREE_CLASSES, good_below=3.8, faulty_from=7.6, **BOOK)
    found = judged("motor_case_flow", value, rule, instrument=Instrument("F-02", reading_percent=2.0, resolution=0.1)).verdict
    assert found.state is state and words in found.reason


def test_no_motion_takes_what_cannot_be_told_from_standing_still():
    rule = AcceptanceRule("neutral_creep", Form.NO_MOTION, **BOOK)
    count = Instrument("stopwatch", resolution=0.5, reading_percent=1.0)
    assert judged("neutral_creep", 0.0, rule, instrument=count).verdict.state is State.INSIDE
    assert judged("neutral_creep", 0.2, rule, instrument=count).verdict.state is State.INSIDE
    assert judged("neutral_creep", -5.0, rule, instrument=count).verdict.state is State.OUTSIDE_HIGH
    assert judged("neutral_creep", 0.0).verdict.state is State.INSIDE
    assert judged("neutral_creep", 12.0).verdict.state is State.OUTSIDE_HIGH


def test_a_limit_of_the_record_is_not_called_a_tolerance():
    found = judged("case_pressure", 4.5, instrument=Instrument("C-1", class_percent=1.0, span=10)).verdict
    assert found.state is State.OUTSIDE_HIGH and "limit of the drive model record" in found.reason and "tolerance" not in found.reason


def test_mean_over_positions_and_loaded_ratio():
    rule = AcceptanceRule("cross_port_leakage", Form.MEAN_OVER_POSITIONS, high=4.0, positions=3, **BOOK)
    meter = Instrument("F-02", reading_percent=1.0)
    assert (
        judged("cross_port_leakage", 9.0, rule, instrument=meter, related=Related(positions=(3.0, 3.2, 3.4))).verdict.state is State.INSIDE
    )
    ratio = AcceptanceRule("motor_case_flow", Form.LOADED_RATIO, share=0.25, **BOOK)
    assert judged("motor_case_flow", 7.0, ratio, instrument=meter, related=Related(unloaded_lpm=5.0)).verdict.state is State.OUTSIDE_HIGH
    assert judged("motor_case_flow", 5.5, ratio, instrument=meter, related=Related(unloaded_lpm=5.0)).verdict.state is State.INSIDE


def test_a_calculated_verdict_carries_the_doubt_of_the_conditions():
    sure = judged("pump_case_flow", 8.2, conditions=replace(LOADED, oil_temp_uncertainty_k=0.01, loop_pressure_uncertainty_bar=0.01))
    vague = judged("pump_case_flow", 8.2, conditions=replace(LOADED, oil_temp_uncertainty_k=5.0))
    assert vague.verdict.expanded > sure.verdict.expanded


def test_the_working_holds_expectation_reading_and_doubt_for_json():
    found = judged("pump_case_flow", 6.0)
    rows = json.loads(json.dumps(found.working))
    names = [row["name"] for row in rows]
    assert "Reading" in names and "Expanded uncertainty" in names and any("D341" in row["source"] for row in rows)
    expanded = next(row for row in rows if row["name"] == "Expanded uncertainty")
    assert expanded["result"] == pytest.approx(found.verdict.expanded)


def test_a_figure_that_is_none_is_refused():
    with pytest.raises(ValueError, match="value must be a finite number, got nan"):
        judged("charge_neutral", float("nan"))
    with pytest.raises(ValueError, match="code must be one of"):
        judge_reading("colour", 1.0, spec=DriveSpec(), oil=None, conditions=LOADED)


def test_an_unstated_instrument_still_carries_a_doubt():
    found = judged("main_relief", 442.0, instrument=None).verdict
    assert found.expanded > 8 and found.state is State.INSIDE


def test_the_sentences_word_for_word():
    rule = AcceptanceRule("neutral_creep", Form.NO_MOTION, **BOOK)
    count = Instrument("stopwatch", resolution=0.5, reading_percent=1.0)
    assert judged("neutral_creep", 0.2, rule, instrument=count).verdict.reason == (
        "0.20 ± 0.29 rpm cannot be told from standing still. (Loader service book, page 5-43, rev. B)"
    )
    assert judged("neutral_creep", 0.0, instrument=count).verdict.reason == (
        "0.00 ± 0.29 rpm against limit 1.00 rpm is inside. (a drive in neutral stands still: no maker's rule on record)"
    )
    gauge = Instrument("C-1", class_percent=1.0, span=10)
    assert judged("case_pressure", 4.5, instrument=gauge).verdict.reason == (
        "4.50 ± 0.12 bar against limit 3.00 bar is outside high. (limit of the drive model record: no maker's rule on record)"
    )
    nameless = Instrument(state=InstrumentState.FAILED)
    assert judged("case_pressure", 4.5, instrument=nameless).verdict.reason == (
        "The instrument: failed calibration, so the reading is kept and not judged."
    )
    assert judged("pump_case_flow", -1.0).verdict.reason == "Pump case drain flow cannot be below zero."


def test_a_faulty_class_is_judged_against_its_own_edge():
    rule = AcceptanceRule("motor_case_flow", Form.THREE_CLASSES, good_below=3.8, faulty_from=7.6, **BOOK)
    exact = Instrument("F-9", class_percent=0.001, span=1)
    found = judged("motor_case_flow", 9.0, rule, instrument=exact).verdict
    assert (found.state, found.high, found.margin) == (State.OUTSIDE_HIGH, 7.6, pytest.approx(-1.4))
    assert judged("motor_case_flow", 5.0, rule, instrument=exact).verdict.reason.startswith("5.00 ± 0.00 L/min is in the marginal class")


def test_the_edges_of_the_three_classes_without_doubt():
    rule = AcceptanceRule("motor_case_flow", Form.THREE_CLASSES, good_below=4.0, faulty_from=8.0, **BOOK)
    assert judge_by_rule(rule, 4.0, 0.0, Related()).state is State.INSIDE
    assert judge_by_rule(rule, 8.0, 0.0, Related()).state is State.OUTSIDE_HIGH
    assert "marginal class, 4.00 to 8.00 L/min: undecided" in judge_by_rule(rule, 5.0, 0.5, Related()).reason
    assert "too near an edge" in judge_by_rule(rule, 7.5, 0.25, Related()).reason
    assert "marginal class, 4.00 to 8.00 L/min: undecided" in judge_by_rule(rule, 4.5, 0.25, Related()).reason


def test_the_shops_own_tolerance_reaches_the_verdict():
    found = judged("main_relief", 430.0, tolerance_share=0.01)
    assert found.expectation.tolerance_share == 0.01 and found.verdict.state is State.OUTSIDE_LOW
    assert "shop tolerance 1 %" in found.verdict.reason


def test_the_working_of_a_verdict_row_by_row():
    found = judged("charge_neutral", 24.5, MINIMUM_21)
    rows = [(row["name"], row["unit"], row["source"]) for row in found.working[-4:]]
    assert rows == [
        ("Reading", "bar", "typed or imported"),
        ("Standard uncertainty of the reading, G-12", "bar", "EN 837-1; JCGM 100:2008, 4.3.7"),
        ("Expanded uncertainty", "unit of the reading", "Guide to the expression of uncertainty in measurement, JCGM 100:2008, 6.2.1."),
        ("Lower limit", "bar", "Loader service book, page 5-43, rev. B"),
    ]
    values = [row["result"] for row in found.working[-4:]]
    assert values == [24.5, pytest.approx(found.verdict.expanded / 2), pytest.approx(found.verdict.expanded), 21]
    calculated = judged("main_relief", 442.0, instrument=None).working[-6:]
    assert [row["name"] for row in calculated] == [
        "Reading", "Standard uncertainty of the reading, instrument not stated", "Standard uncertainty of the expected value",
        "Expanded uncertainty", "Lower limit", "Upper limit",
    ]  # fmt: skip
    assert (calculated[2]["unit"], calculated[2]["source"]) == ("bar", "JCGM 100:2008, equation 10")
    assert [row["result"] for row in calculated] == pytest.approx([442, 4.42, 0.3, 2 * (4.42**2 + 0.3**2) ** 0.5, 419.9, 464.1])

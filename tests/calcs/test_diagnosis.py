"""Advice on causes: the evidence is named, the odds obey Bayes, the next look is the one that pays."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from calcs.diagnosis import (
    Evidence,
    Finding,
    advise,
    cheapest_look,
    entropy,
    evidence_of,
    expected_gain,
    joined,
    likelihood,
    limits_short,
    probabilities,
    seen,
)
from calcs.guard_band import State
from calcs.symptoms import CAUSES, LOOKS, SIGNS, SYMPTOMS

FELL = Finding("charge_stroked", 13.6, State.OUTSIDE_LOW, "bar", "forward", low=17.6, neutral_bar=22.0)
HELD = Finding("charge_stroked", 20.0, State.INSIDE, "bar", "reverse", low=17.6, neutral_bar=22.0)
FELL_REVERSE = Finding("charge_stroked", 14.0, State.OUTSIDE_LOW, "bar", "reverse", low=17.6, neutral_bar=22.0)
WEAK = Finding("main_relief", 310, State.OUTSIDE_LOW, "bar", "forward", low=402, high=411)
PUMP_FINE = Finding("pump_case_flow", 5.5, State.INSIDE, "L/min", high=8.4)
MOTOR_HIGH = Finding("motor_case_flow", 22.0, State.OUTSIDE_HIGH, "L/min", high=13.0)


def test_the_printed_conclusion_names_its_evidence():
    found = advise("one_way", evidence_of([FELL, HELD, WEAK]))
    assert found.suspects[0].code == "side_forward"
    assert found.suspects[0].because == "because stroked charge fell 38 % forward, 9 % reverse; main relief forward 310 of 402-411 bar"
    assert found.suspects[0].because in found.text


def test_advice_does_not_order():
    for symptom in SYMPTOMS:
        text = advise(symptom, evidence_of([FELL, FELL_REVERSE])).text.lower()
        assert not any(word in text for word in ("must", "replace ", "shall", "have to"))
        assert "points to" in text


def test_both_directions_falling_points_to_a_leak_and_the_drains_say_which():
    both = evidence_of([FELL, FELL_REVERSE])
    shares = {one.code: one.probability for one in advise("slow_hot", both).suspects}
    assert shares["pump"] == pytest.approx(shares["motor"]) and shares["side_forward"] < 0.05
    assert "worn pump" in advise("slow_hot", both).text and "worn motor" in advise("slow_hot", both).text
    after = advise("slow_hot", both + evidence_of([PUMP_FINE, MOTOR_HIGH]))
    assert after.suspects[0].code == "motor" and after.suspects[0].probability > 0.8
    pump = next(one for one in after.suspects if one.code == "pump")
    assert "motor case drain 22.0 of at most 13.0 L/min" in pump.against


def test_the_odds_obey_bayes_rule_worked_by_hand():
    """Odds 0.9/0.08 for the cooler against the pump, both 1 before."""
    found = probabilities(["cooler", "pump"], [seen("cooler_blocked")])
    assert found["cooler"] == pytest.approx(0.95 / (0.95 + 0.08))


@given(st.lists(st.tuples(st.sampled_from(sorted(SIGNS)), st.booleans()), max_size=8), st.sampled_from(sorted(SYMPTOMS)))
def test_probabilities_add_up_and_the_order_of_evidence_does_not_matter(given_signs, symptom):
    evidence = list({sign: seen(sign, there) for sign, there in given_signs}.values())
    causes = SYMPTOMS[symptom].causes
    found, turned = probabilities(causes, evidence), probabilities(causes, evidence[::-1])
    assert sum(found.values()) == pytest.approx(1)
    assert all(found[code] == pytest.approx(turned[code]) for code in causes)
    assert [one.probability for one in advise(symptom, evidence).suspects] == sorted(
        (one.probability for one in advise(symptom, evidence).suspects), reverse=True
    )


@given(st.sampled_from(sorted(SIGNS)), st.sampled_from(sorted(SYMPTOMS)))
def test_a_look_is_never_expected_to_add_doubt(sign, symptom):
    shares = probabilities(SYMPTOMS[symptom].causes, [])
    assert 0 <= expected_gain(shares, sign) <= 1 + 1e-9


def test_evidence_that_is_expected_raises_a_cause_and_its_absence_lowers_it():
    for code, cause in CAUSES.items():
        causes = [code, "tyres" if code != "tyres" else "cooler"]
        before = probabilities(causes, [])[code]
        sign = max(cause.signs, key=cause.signs.get)
        assert probabilities(causes, [seen(sign)])[code] > before > probabilities(causes, [seen(sign, False)])[code]


def test_the_same_sign_twice_counts_once():
    once, twice = (probabilities(["pump", "motor"], [seen("pump_drain_high")] * count) for count in (1, 2))
    assert once == twice


def test_the_next_look_is_cheap_first_and_never_one_already_taken():
    first = advise("overheats", [])
    assert first.next_look.code in ("cooler", "oil")
    taken, looks = [], set()
    for _ in range(len(LOOKS)):
        look = advise("overheats", [], looked=taken).next_look
        if look is None:
            break
        assert look.code not in looks
        looks.add(look.code)
        taken.append(look.code)
    assert {"T08", "T06"} <= looks


def test_when_all_is_settled_no_look_is_advised():
    assert cheapest_look({"cooler": 1.0}, [], set()) is None
    assert "No further look" in advise("metal", [seen(sign, sign == "metal_found") for sign in SIGNS]).text


def test_metal_brings_a_caution_on_any_complaint():
    found = advise("overheats", [seen("metal_found")])
    assert "leave the machine standing" in found.caution and "breaking_up" in [one.code for one in found.suspects]
    assert advise("overheats", []).caution == ""


def test_an_undecided_reading_is_no_evidence():
    for finding in (WEAK, PUMP_FINE, Finding("charge_neutral", 20.6, State.OUTSIDE_LOW, "bar", low=21)):
        for state in (State.UNDECIDED, State.NOT_COMPARABLE, State.SUSPECT_INSTRUMENT, State.IMPOSSIBLE):
            assert evidence_of([Finding(finding.code, finding.value, state, "bar", low=21)]) == []


def test_a_sag_between_harmless_and_notable_is_no_evidence_unless_judged():
    def sag(share, state):
        return evidence_of([Finding("charge_stroked", 20 * (1 - share), state, "bar", "forward", neutral_bar=20.0)])

    assert sag(0.12, State.UNDECIDED) == []
    assert [one.present for one in sag(0.20, State.NOT_COMPARABLE)] == [True]
    assert [one.present for one in sag(0.05, State.NOT_COMPARABLE)] == [False]
    assert [one.present for one in sag(0.20, State.INSIDE)] == [False]  # the maker allows it
    assert evidence_of([Finding("charge_stroked", 15, State.UNDECIDED, "bar", "forward")]) == []


def test_a_reading_without_a_direction_stands_for_both():
    both = evidence_of([Finding("main_relief", 310, State.OUTSIDE_LOW, "bar", low=402, high=411)])
    assert {one.sign for one in both} == {"relief_low_forward", "relief_low_reverse"}
    sagged = evidence_of([Finding("charge_stroked", 15, State.OUTSIDE_LOW, "bar", low=18)])
    assert {one.sign for one in sagged} == {"sag_forward", "sag_reverse"} and "15.0 of at least 18.0 bar" in sagged[0].detail


@pytest.mark.parametrize(
    ("code", "state", "sign", "present"),
    [
        ("charge_neutral", State.OUTSIDE_LOW, "charge_low", True),
        ("charge_neutral", State.OUTSIDE_HIGH, "charge_low", False),
        ("charge_inlet_pressure", State.OUTSIDE_LOW, "inlet_starved", True),
        ("case_pressure", State.OUTSIDE_HIGH, "case_pressure_high", True),
        ("top_speed", State.OUTSIDE_LOW, "slow_hot", True),
        ("neutral_creep", State.INSIDE, "creeps_from_both", False),
        ("stroke_time", State.OUTSIDE_HIGH, "stroke_slow", True),
        ("flushing_flow", State.OUTSIDE_LOW, "flushing_absent", True),
    ],
)
def test_each_reading_shows_its_sign(code, state, sign, present):
    assert [(one.sign, one.present) for one in evidence_of([Finding(code, 1.0, state, "x", low=2.0)])] == [(sign, present)]


def test_a_slow_drive_with_cold_oil_is_another_sign():
    cold = Finding("top_speed", 25, State.OUTSIDE_LOW, "km/h", "forward", low=30, cold=True)
    assert evidence_of([cold])[0].sign == "slow_cold"
    assert evidence_of([Finding("loop_pressure", 200, State.INSIDE, "bar")]) == []


def test_unknown_names_are_refused():
    with pytest.raises(ValueError, match="symptom must be one of"):
        advise("sad", [])
    with pytest.raises(ValueError, match="sign must be one of"):
        seen("rainbow")
    assert seen("cooler_blocked", False).stem == "not so that cooler is blocked"


def test_entropy_of_sure_and_even():
    import numpy as np

    assert entropy(np.array([1.0, 0.0])) == 0
    assert entropy(np.full(8, 0.125)) == pytest.approx(3)
    assert likelihood("cooler", Evidence("pump_drain_high", True, "")) == 0.005
    assert likelihood("cooler", Evidence("level_low", True, "")) == 0.08


def test_limits_in_short():
    assert limits_short(Finding("x", 1, State.INSIDE, "bar")) == "no limit"
    assert limits_short(Finding("x", 1, State.INSIDE, "bar", high=3)) == "at most 3.00"
    assert limits_short(Finding("x", 1, State.INSIDE, "bar", low=21)) == "at least 21.0"


@pytest.mark.parametrize(
    ("code", "stem"),
    [
        ("charge_neutral", "neutral charge"),
        ("charge_neutral_idle", "neutral charge at idle"),
        ("charge_inlet_pressure", "charge inlet"),
        ("pump_case_flow", "pump case drain"),
        ("motor_case_flow", "motor case drain"),
        ("case_pressure", "case pressure"),
        ("top_speed", "top speed"),
        ("output_speed", "motor shaft speed"),
        ("neutral_creep", "creep in neutral"),
        ("stroke_time", "stroke time"),
        ("flushing_flow", "flushing flow"),
    ],
)
def test_each_reading_is_named_in_trade_words(code, stem):
    (one,) = evidence_of([Finding(code, 30.0, State.INSIDE, "x", "forward", low=20.0, high=40.0)])
    assert (one.stem, one.detail, one.present) == (stem, "forward 30.0 of 20.0-40.0 x", False)


def test_the_advice_word_for_word():
    """Odds by hand: 0.95 for the cooler against 4.3 x 0.08 for the others is 73 %; of looks of equal cost the likelier cause leads."""
    assert advise("overheats", [seen("cooler_blocked")], looked=list(LOOKS)).text == (
        "The evidence points to cooler blocked (about 73 %), because cooler is blocked. "
        "No further look on the list is likely to change that."
    )
    assert advise("case_pressure", []).text == (
        "Nothing has been found yet. The cheapest look that could change that: cooler and fan, air side, about 10 minutes."
    )


def test_evidence_against_is_named_as_such():
    found = advise("case_pressure", [seen("drain_hose_kinked", False)])
    drain = next(one for one in found.suspects if one.code == "drain")
    assert drain.against == "against it: not so that drain hose, cooler or return is restricted"
    assert drain.because == ""


def test_a_worn_gauge_of_evidence_is_joined_by_thing_and_not_said_twice():
    twice = [Evidence("a", True, "oil level is low"), Evidence("b", True, "main relief", "x"), Evidence("b", True, "main relief", "x")]
    assert joined("because ", twice) == "because oil level is low; main relief x"
    assert joined("because ", []) == ""


def test_a_pump_drain_beyond_its_limit_names_the_pump_although_speed_and_charge_still_hold():
    """A pump at twice its leakage drops neither speed nor charge much: what still holds must not clear it."""
    drain = Finding("pump_case_flow", 12.6, State.OUTSIDE_HIGH, "L/min", high=9.1)
    held = [Finding("charge_stroked", 19.8, State.INSIDE, "bar", way, low=18.1, neutral_bar=22.6) for way in ("forward", "reverse")] + [
        Finding("top_speed", 29.8, State.INSIDE, "km/h", way, low=29.0, high=30.8) for way in ("forward", "reverse")
    ]
    held += [
        Finding("charge_neutral", 22.6, State.INSIDE, "bar", low=20.5),
        Finding("motor_case_flow", 14.1, State.INSIDE, "L/min", high=15.4),
    ]
    found = advise("none", evidence_of([drain, *held]))
    assert found.suspects[0].code == "pump"
    assert found.suspects[0].probability > 0.6
    assert "pump" in found.text


def test_two_directions_that_agree_tell_no_more_than_one():
    both = [seen("sag_forward"), seen("sag_reverse")]
    assert probabilities(["pump", "cooler"], both)["pump"] == pytest.approx(0.8 / (0.8 + 0.08**2), rel=0.01), (
        "the pump brings both at once; without a cause they would be two chances"
    )
    one_way = [seen("sag_forward"), seen("sag_reverse", False)]
    assert probabilities(["pump", "side_forward"], one_way)["side_forward"] > 0.7

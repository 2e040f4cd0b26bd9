"""Life hours and the plausibility of a reading."""

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from calcs.due_words import History, next_due
from calcs.meter import MeterSegment, judge_reading, life_base_h, life_hours
from calcs.rules import Rule


def test_life_goes_on_across_a_replaced_meter():
    assert life_hours([MeterSegment(0, 3120.4), MeterSegment(0)], 412.7) == 3533.1


def test_a_meter_that_did_not_start_at_zero_counts_only_what_it_ran():
    assert life_hours([MeterSegment(0, 1000), MeterSegment(250)], 260) == 1010


def test_hours_declared_before_the_first_meter_count():
    assert life_hours([MeterSegment(0)], 10, offset_h=500) == 510


def test_the_base_turns_many_readings_at_once():
    assert (life_hours([MeterSegment(0, 100), MeterSegment(0)], [1, 2]) == [101, 102]).all()


def test_a_reading_below_the_start_of_its_meter_is_refused():
    with pytest.raises(ValueError, match="meter_h"):
        life_hours([MeterSegment(250)], 249)


def test_a_meter_that_ends_before_it_starts_is_refused():
    with pytest.raises(ValueError, match="segments"):
        life_base_h([MeterSegment(10, 5), MeterSegment(0)])


def test_only_the_last_meter_may_be_open():
    with pytest.raises(ValueError, match="segments"):
        life_base_h([MeterSegment(0), MeterSegment(0)])


def test_two_digits_in_the_wrong_order_are_put_right():
    judgement = judge_reading(1843, date(2026, 5, 14), 1455, date(2026, 5, 1), usual_h_per_day=2)
    assert judgement.state == "impossible"
    assert judgement.suggestions[0] == (1483.0, "two digits changed places")


def test_tenths_taken_as_whole_hours_are_put_right():
    judgement = judge_reading(14830, date(2026, 5, 14), 1455, date(2026, 5, 1))
    assert judgement.suggestions[0] == (1483.0, "tenths taken as whole hours")


def test_a_lower_reading_asks_for_the_meter():
    judgement = judge_reading(12, date(2026, 5, 14), 3120.4, date(2026, 5, 1))
    assert judgement.state == "impossible" and "replaced" in judgement.reason


def test_a_day_holds_twenty_four_hours():
    assert judge_reading(148, date(2026, 5, 2), 100, date(2026, 5, 1)).state == "plausible"  # both days run through
    assert judge_reading(148.1, date(2026, 5, 2), 100, date(2026, 5, 1)).state == "impossible"


def test_a_reading_dated_before_the_last_is_impossible():
    assert judge_reading(200, date(2026, 4, 2), 100, date(2026, 5, 1)).state == "impossible"


def test_use_far_over_the_usual_is_asked_about():
    assert judge_reading(400, date(2026, 5, 31), 100, date(2026, 5, 1), usual_h_per_day=1).state == "unusual"


def test_the_same_reading_again_is_plausible():
    assert judge_reading(100, date(2026, 5, 31), 100, date(2026, 5, 1)).state == "plausible"


TENTHS = st.integers(0, 60_000).map(lambda tenths: tenths / 10)


@given(st.lists(st.tuples(TENTHS, TENTHS), min_size=1, max_size=6), TENTHS)
def test_swapping_meters_never_changes_life_hours_nor_what_is_due(runs, offset_h):
    """Each meter begins anywhere and runs some hours; one meter that ran them all says the same."""
    *ended, (start_h, run_h) = runs
    segments = [MeterSegment(start, start + run) for start, run in ended] + [MeterSegment(start_h)]
    swapped_h = life_hours(segments, start_h + run_h, offset_h)
    whole_h = life_hours([MeterSegment(0)], sum(run for _, run in runs), offset_h)
    assert swapped_h == pytest.approx(whole_h, abs=1e-6)
    rule, months, today = Rule("Filter", "filter", every_h=500), [40.0] * 12, date(2026, 5, 14)
    dues = [
        next_due(rule, History(done_h=offset_h, reading_h=round(life_h, 1), reading_day=today), months, today)
        for life_h in (swapped_h, whole_h)
    ]
    assert (dues[0].due_h, dues[0].state, dues[0].due_day) == (dues[1].due_h, dues[1].state, dues[1].due_day)

"""The sentence a manager reads."""

from datetime import date

from calcs.due_words import History, next_due
from calcs.extension import Extension
from calcs.rules import Rule
from calcs.season import Block
from calcs.severity import Finding

TODAY = date(2026, 5, 14)
MONTHS = [20, 20, 20, 20, 12 * 31 / 17, 30, 95, 160, 40, 20, 20, 13]
FILTER = Rule("Charge filter", "filter", every_h=500, every_months=12)


def test_the_sentence_names_product_hours_band_and_the_calendar_that_wins():
    history = History(0, date(2020, 1, 1), 3120, date(2025, 3, 15), reading_h=3300, reading_day=date(2026, 2, 20), factors={"dust": 0.75})
    due = next_due(FILTER, history, MONTHS, date(2026, 2, 20))
    assert due.reason.startswith("Charge filter every 500 h x 0.75 (dust) = 375 h or 12 months; last done at 3\u202f120 h on 15 Mar 2025; ")
    assert "; due 3\u202f495 h, reached about " in due.reason
    assert due.reason.endswith("calendar 15 Mar comes first")
    assert due.state == "due soon" and due.due_day == date(2026, 3, 15) and not due.by_hours


def test_the_calendar_that_loses_is_named_too():
    history = History(0, date(2020, 1, 1), 3200, date(2026, 1, 15), reading_h=3533.1, reading_day=TODAY)
    due = next_due(FILTER, history, MONTHS, TODAY)
    assert "reached about 6 Aug" in due.reason and "calendar 15 Jan 2027 comes later" in due.reason


def test_the_season_is_named_with_what_it_costs():
    history = History(done_h=3200, reading_h=3533.1, reading_day=TODAY)
    harvest = Block("Harvest", date(2026, 7, 10), date(2026, 8, 20))
    due = next_due(Rule("Charge filter", "filter", every_h=500), history, MONTHS, TODAY, 0.2, [harvest])
    assert due.reason.endswith("meets the season block 10 Jul-20 Aug: do it by 9 Jul, 19 % of its life unused")
    assert (due.move, due.slot_day) == ("before the block", date(2026, 7, 9))


def test_break_in_steps_are_named_as_such():
    due = next_due(Rule("Filter", "filter", steps_h=(20, 100), every_h=250), History(reading_h=5, reading_day=TODAY), MONTHS, TODAY)
    assert due.breakin and due.reason.startswith("Filter break-in at 20, 100 h from meter zero; never done; due 20 h")


def test_a_finding_speaks():
    debris = Finding("debris", TODAY, 3533.1)
    history = History(done_h=3500, done_day=date(2026, 5, 1), reading_h=3533.1, reading_day=TODAY, findings=[debris])
    due = next_due(FILTER, history, MONTHS, TODAY)
    assert due.state == "due" and "debris on the cut-open filter on 2026-05-14 at 3\u202f533.1 h: due at once" in due.reason


def test_the_fluids_past_and_an_extension_are_named():
    rule = Rule("Fluid", "fluid", every_h=2000, every_mixed_h=800)
    signed = Extension(0.25, "M. Okafor", date(2026, 1, 1), date(2026, 12, 31))
    history = History(done_h=3200, reading_h=3533.1, reading_day=TODAY, other_fluid_ever=True, extensions=[signed])
    due = next_due(rule, history, MONTHS, TODAY)
    assert due.due_h == 4200
    assert due.reason.startswith("Fluid every 800 h (another fluid was in the tank), extended x 1.25 = 1\u202f000 h")


def test_a_deferral_is_told_while_it_holds_and_after():
    history = History(done_h=3000, reading_h=3533.1, reading_day=TODAY, deferred_h=3600, deferred_day=date(2026, 6, 1))
    rule = Rule("Charge filter", "filter", every_h=500)
    assert "deferred until 3\u202f600 h or 1 Jun" in next_due(rule, history, MONTHS, TODAY).reason
    assert "deferral until 3\u202f600 h or 1 Jun, now over late limit" in next_due(rule, history, MONTHS, date(2026, 7, 1)).reason


def test_an_old_reading_and_no_reading_are_told():
    old = History(done_h=3200, reading_h=3300, reading_day=date(2026, 1, 14))
    assert next_due(Rule("Filter", every_h=500), old, MONTHS, TODAY).reason.endswith("hours reading 120 days old")
    none = next_due(Rule("Filter", every_h=500), History(done_h=3200), MONTHS, TODAY)
    assert none.reason.endswith("no hours reading") and none.due_day is None and none.reading_age_days is None

"""Rules: what is refused, which one wins, bundles done in part."""

import pytest

from calcs.rules import Rule, lines_that_reset, most_specific, rule_columns


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("scope", "county"), ("counted", "moon"), ("reset", "never"), ("anchor", "birth"), ("kind", "paint"),
        ("every_h", 0), ("every_months", -1),
    ],
)  # fmt: skip
def test_a_rule_that_means_nothing_is_refused(name, value):
    with pytest.raises(ValueError, match=name):
        Rule("Filter", **{"every_h": 500} | {name: value})


@pytest.mark.parametrize("steps", [(100, 20), (0, 50), (50, 50)])
def test_steps_must_rise(steps):
    with pytest.raises(ValueError, match="steps_h"):
        Rule("Filter", steps_h=steps)


def test_a_rule_needs_an_interval():
    with pytest.raises(ValueError, match="every_h"):
        Rule("Filter")


def test_a_season_start_is_a_grid():
    with pytest.raises(ValueError, match="reset"):
        Rule("Test", every_months=12, anchor="season start")


def test_unit_beats_machine_and_machine_beats_model():
    model, machine, unit = (Rule("Filter", every_h=500, scope=scope) for scope in ("model", "machine", "unit"))
    assert most_specific([model, unit, machine]) == (unit, "the rule of this unit holds, over that of the machine and the model")
    assert most_specific([machine, model])[0] is machine
    assert most_specific([model]) == (model, "the rule of the model holds")


def test_two_rules_of_one_scope_are_refused():
    with pytest.raises(ValueError, match="one scope"):
        most_specific([Rule("Filter", every_h=500), Rule("Filter", every_h=300)])


def test_rules_for_different_tasks_are_refused():
    with pytest.raises(ValueError, match="one task"):
        most_specific([Rule("Filter", every_h=500), Rule("Fluid", every_h=300)])


def test_a_bundle_done_in_part_resets_only_what_was_done():
    assert lines_that_reset([("Fluid", True), ("Filter", False), ("Screen", True)]) == (["Fluid", "Screen"], ["Filter"])


def test_rows_pick_their_rule_by_number():
    columns = rule_columns([Rule("Fluid", every_h=1000), Rule("Hose", "hose", every_months=72)]).of([1, 1, 0])
    assert columns.every_months[:2].tolist() == [72, 72] and columns.every_h[2] == 1000
    assert columns.extendable.tolist() == [False, False, True]

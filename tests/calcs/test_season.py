"""Season blocks and the move of a task that falls inside one."""

from datetime import date

import numpy as np
import pytest

from calcs.season import AFTER, AS_DUE, BEFORE, CONFLICT, Block, block_met, block_table, choose_moves, inside, yearly_blocks

HARVEST = Block("Harvest", date(2026, 7, 10), date(2026, 8, 20))
TODAY = date(2026, 5, 14)


def move(due, wasted, after_allowed, low=None, high=None, blocks=(HARVEST,), today=TODAY):
    table = block_table([list(blocks)])
    met = block_met(table, [low or due], [high or due], today)
    moves = choose_moves(np.array([due], "datetime64[D]"), met, table, today, np.array([wasted]), np.array([after_allowed]))
    return moves.move[0], moves.day[0].item()


def test_a_task_due_in_the_block_lands_on_the_last_day_before():
    assert move(date(2026, 8, 6), 0.19, True) == (BEFORE, date(2026, 7, 9))


@pytest.mark.parametrize(("wasted", "expected"), [(0.40, (BEFORE, date(2026, 7, 9))), (0.401, (AFTER, date(2026, 8, 21)))])
def test_more_than_four_tenths_wasted_goes_after(wasted, expected):
    assert move(date(2026, 8, 6), wasted, True) == expected


def test_after_only_inside_the_late_limit_else_a_person_decides():
    assert move(date(2026, 8, 6), 0.6, False) == (CONFLICT, date(2026, 8, 6))


def test_a_block_already_begun_leaves_no_day_before():
    assert move(date(2026, 8, 6), 0.1, True, today=date(2026, 7, 15)) == (AFTER, date(2026, 8, 21))


def test_a_band_that_only_touches_the_block_stays_on_its_day_if_that_lies_before():
    assert move(date(2026, 6, 30), 0.0, True, low=date(2026, 6, 20), high=date(2026, 7, 10)) == (BEFORE, date(2026, 6, 30))


def test_a_band_that_does_not_touch_stays():
    assert move(date(2026, 6, 30), 0.0, True, low=date(2026, 6, 20), high=date(2026, 7, 9)) == (AS_DUE, date(2026, 6, 30))


def test_a_slot_inside_another_block_is_no_slot():
    wheat, straw = Block("Wheat", date(2026, 7, 10), date(2026, 8, 1)), Block("Straw", date(2026, 8, 2), date(2026, 8, 20))
    assert move(date(2026, 7, 20), 0.9, True, blocks=(wheat, straw)) == (AFTER, date(2026, 8, 21))
    assert move(date(2026, 8, 10), 0.1, True, blocks=(straw, wheat)) == (BEFORE, date(2026, 7, 9))


def test_blocks_that_overlap_are_one_and_a_free_day_parts_them():
    early, late = Block("Barley", date(2026, 7, 1), date(2026, 7, 20)), Block("Wheat", date(2026, 7, 15), date(2026, 8, 10))
    assert move(date(2026, 8, 5), 0.1, True, low=date(2026, 8, 1), blocks=(late, early)) == (BEFORE, date(2026, 6, 30))
    assert move(date(2026, 7, 5), 0.9, True, blocks=(early, late)) == (AFTER, date(2026, 8, 11))
    apart = Block("Straw", date(2026, 8, 12), date(2026, 8, 20))
    assert move(date(2026, 8, 15), 0.1, True, blocks=(early, late, apart)) == (BEFORE, date(2026, 8, 11))


def test_a_block_that_is_over_does_not_count():
    assert move(date(2026, 8, 6), 0.1, True, today=date(2026, 8, 21))[0] == AS_DUE


def test_first_and_last_day_are_inside():
    table = block_table([[HARVEST], []])
    assert [inside(table, day).tolist() for day in ("2026-07-10", "2026-08-20", "2026-08-21")] == [[True, False]] * 2 + [[False, False]]


def test_a_block_over_new_year_ends_in_the_next():
    assert yearly_blocks("Feeding", (11, 15), (2, 29), [2026, 2027])[1] == Block("Feeding", date(2027, 11, 15), date(2028, 2, 29))
    assert yearly_blocks("Feeding", (11, 15), (2, 29), [2026])[0].end == date(2027, 2, 28)

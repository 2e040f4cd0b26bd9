"""Hours by month from readings: sums kept, shapes followed, records believed more the longer they are."""

import numpy as np
import pytest

from calcs.usage import BASIS, KIND_MONTH_H, split_gaps, usage_table


def test_a_gap_keeps_its_hours_when_it_is_cut_at_month_ends():
    shares = split_gaps([0, 0, 1, 1], ["2026-01-20", "2026-04-10", "2026-02-01", "2026-02-11"], [10, 110, 0, 7], np.ones((2, 12)))
    assert np.bincount(shares.machine, shares.hours).tolist() == pytest.approx([100, 7])
    assert np.bincount(shares.machine, shares.days).tolist() == [80, 10]


def test_a_gap_follows_the_shape_of_the_year():
    shape = np.zeros((1, 12))
    shape[0, 6] = 1
    shares = split_gaps([0, 0], ["2026-05-31", "2026-08-31"], [0, 60], shape)
    assert dict(zip((shares.month % 12).tolist(), shares.hours.round(3).tolist(), strict=True)) == {5: 0, 6: 60, 7: 0}


def test_readings_that_run_backwards_are_left_out():
    assert split_gaps([0, 0], ["2026-05-01", "2026-06-01"], [500, 100], np.ones((1, 12))).hours.size == 0


def monthly_readings(months, years, start_year=2022):
    days, life_h, total = [np.datetime64(f"{start_year}-01-01") - 1], [0.0], 0.0
    for year in range(start_year, start_year + years):
        for month, hours in enumerate(months):
            total += hours
            days.append((np.datetime64(f"{year}-{month + 1:02d}") + 1).astype("datetime64[D]") - 1)
            life_h.append(total)
    return np.array(days), np.array(life_h)


def test_many_years_of_own_readings_give_back_the_own_months():
    months = np.array([0, 0, 40, 0, 10, 20, 130, 90, 0, 5, 0, 0], float)
    days, life_h = monthly_readings(months, 30, 1990)
    table = usage_table(np.zeros(days.size, int), days, life_h, [0], [0], [KIND_MONTH_H["tractor"]])
    assert table.month_h[0] == pytest.approx(months, abs=6)
    assert BASIS[table.basis[0]] == "own readings"


def test_a_machine_without_readings_follows_its_like():
    days, life_h = monthly_readings(np.full(12, 50.0), 6)
    machine = np.repeat([0, 1], days.size)
    table = usage_table(machine, np.tile(days, 2), np.tile(life_h, 2), [0, 0, 0, 0], [3, 3, 3, 4], [[10] * 12])
    assert BASIS[table.basis[2]] == "same kind, same customer"
    assert table.year_h[2] == pytest.approx(600, rel=0.1)
    assert BASIS[table.basis[3]] == "same kind"


def test_more_readings_make_the_spread_smaller():
    days, life_h = monthly_readings(np.full(12, 40.0), 4)
    table = usage_table(np.zeros(days.size, int), days, life_h, [0, 0], [0, 0], [[40] * 12])
    assert table.spread[0] < table.spread[1]

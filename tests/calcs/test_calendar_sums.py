"""Month ends, leap days, grids of months, hose codes."""

from datetime import date

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from calcs.calendar_sums import add_months, as_date, day_words, days_in_month, hose_made_on, next_on_grid

DAYS = st.dates(date(1990, 1, 1), date(2090, 12, 31))


def test_a_month_after_the_thirty_first_is_the_last_day():
    assert add_months(date(2026, 1, 31), 1) == date(2026, 2, 28)
    assert add_months(date(2028, 1, 31), 1) == date(2028, 2, 29)
    assert add_months(date(2026, 1, 31), 2) == date(2026, 3, 31)


def test_a_year_after_a_leap_day_is_the_twenty_eighth():
    assert add_months(date(2024, 2, 29), 12) == date(2025, 2, 28)
    assert add_months(date(2024, 2, 29), 48) == date(2028, 2, 29)


def test_a_hose_of_the_third_quarter_of_2020_is_due_in_september_2026():
    assert add_months(hose_made_on("3Q20"), 72) == date(2026, 9, 1)


@pytest.mark.parametrize(("code", "day"), [("1Q19", date(2019, 3, 1)), ("4 q 2021", date(2021, 12, 1)), ("2021-11", date(2021, 11, 1))])
def test_hose_codes_are_read(code, day):
    assert hose_made_on(code) == day


@pytest.mark.parametrize("code", ["5Q20", "2020/13", "", "Q3 20"])
def test_a_code_that_is_no_date_is_refused(code):
    with pytest.raises(ValueError, match="code"):
        hose_made_on(code)


def test_missing_days_stay_missing():
    assert np.isnat(add_months(np.array(["NaT"], "datetime64[D]"), 3)).all()
    assert np.isnat(add_months(np.array(["2026-01-01"], "datetime64[D]"), np.array([np.nan]))).all()
    assert as_date(np.datetime64("NaT")) is None and day_words(None) == ""


@given(DAYS, st.integers(-300, 300))
def test_the_month_reached_is_the_month_counted(day, months):
    later = add_months(day, months)
    assert (later.year - day.year) * 12 + later.month - day.month == months
    assert later.day == min(day.day, int(days_in_month(later)))


@given(DAYS, st.integers(1, 80), DAYS)
def test_the_next_of_a_grid_is_the_first_after(anchor, every, after):
    k = 1
    while add_months(anchor, k * every) <= after:
        k += 1
    assert as_date(next_on_grid(anchor, every, after)) == add_months(anchor, k * every)

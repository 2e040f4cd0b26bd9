"""Hours by groups of skills, doors, reserve."""

from datetime import date

import pytest

from calcs.shop_weeks import Bay, ShopWeeks, Technician, limits_of

MONDAYS = (date(2026, 5, 4), date(2026, 5, 11))
ADA = Technician("Ada", frozenset({"test"}), (40, 20))
BO = Technician("Bo", frozenset({"test", "reseal"}), (30, 30))


def test_hours_of_two_skills_in_one_pair_of_hands_are_not_counted_twice():
    limits = limits_of(ShopWeeks(MONDAYS, (ADA, BO)))
    room = dict(zip(limits.names, limits.room.tolist(), strict=True))
    assert room["hours of reseal"] == [30, 30]
    assert room["hours of test"] == [70, 50]
    assert room["hours of reseal or test"] == [70, 50]


def test_the_reserve_is_taken_off_week_by_week():
    limits = limits_of(ShopWeeks(MONDAYS, (ADA,), (), (0.4, 0.1)))
    assert limits.room[0].tolist() == pytest.approx([24, 18])


def test_a_tall_door_serves_low_machines_too():
    limits = limits_of(ShopWeeks(MONDAYS, (ADA,), (Bay("1", 3.8), Bay("2", 4.5))))
    assert limits.names[-2:] == ("bay days behind a door of 3.8 m or more", "bay days behind a door of 4.5 m or more")
    assert limits.room[-2:, 0].tolist() == [10, 5]


@pytest.mark.parametrize("reserve", [(0.4,), (0.4, 1.0), (-0.1, 0)])
def test_a_reserve_that_does_not_fit_is_refused(reserve):
    with pytest.raises(ValueError, match="reserve"):
        ShopWeeks(MONDAYS, (ADA,), (), reserve)


def test_hands_need_hours_for_every_week():
    with pytest.raises(ValueError, match="week_h"):
        ShopWeeks(MONDAYS, (Technician("Cy", frozenset({"test"}), (40,)),))

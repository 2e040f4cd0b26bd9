"""What a week costs a job, what forbids it, and the reason for a job that fits nowhere."""

from dataclasses import replace
from datetime import date

import numpy as np
import pytest

from calcs.jobs import Job, needs, week_costs, why_not, why_unplaced
from calcs.season import Block
from calcs.shop_weeks import Bay, ShopWeeks, Technician, limits_of

MONDAYS = (date(2026, 5, 4), date(2026, 5, 11), date(2026, 5, 18))
SHOP = ShopWeeks(MONDAYS, (Technician("Ada", frozenset({"test"}), (40, 40, 40)),), (Bay("1", 3.8), Bay("2", 4.2)))
JOB = Job("Filter", "Hill Farm", "test", 4, due=date(2026, 5, 15), overdue_h_per_day=0.5, waste_h_per_day=0.1)


def test_early_costs_life_and_late_costs_delay():
    assert week_costs([JOB], SHOP)[0].tolist() == pytest.approx([0.7, 0, 3.5])


def test_days_over_the_late_limit_weigh_three_times():
    assert week_costs([replace(JOB, late=date(2026, 5, 20))], SHOP)[0, 2] == pytest.approx(0.5 * (7 + 2 * 2))


def test_a_pinned_job_has_its_own_week_only():
    assert np.isfinite(week_costs([replace(JOB, pinned_week=2, parts_on=date(2027, 1, 1))], SHOP))[0].tolist() == [False, False, True]


def test_parts_season_and_first_day_forbid_weeks_with_the_reason():
    block = Block("Harvest", date(2026, 5, 12), date(2026, 5, 20))
    job = replace(JOB, parts_on=date(2026, 5, 5), earliest=date(2026, 5, 9), blocks=(block,))
    assert why_not(job, SHOP, 0) == ["parts come on 5 May", "not before 9 May"]
    assert why_not(job, SHOP, 1) == ["season block Harvest"]
    assert why_not(job, SHOP, 2) == ["season block Harvest"]
    assert why_not(replace(job, blocks=(Block("Harvest", date(2026, 5, 14), date(2026, 5, 19)),)), SHOP, 2) == []


def test_a_door_too_low_and_a_skill_nobody_has_are_named():
    tall = replace(JOB, bay_days=1, door_height_m=4.4)
    assert why_not(tall, SHOP, 0) == ["needs a door of 4.4 m, the tallest is 4.2 m"]
    assert why_not(replace(JOB, skill="welding"), SHOP, 0) == ["nobody has the skill welding"]


def test_a_job_takes_room_behind_every_door_it_could_not_do_without():
    limits = limits_of(SHOP)
    high, low = replace(JOB, bay_days=2, door_height_m=4.0), replace(JOB, bay_days=2, door_height_m=3.5)
    assert needs([high, low, JOB], limits)[:, -2:].tolist() == [[2, 2], [2, 0], [0, 0]]


def test_the_reason_for_no_week_names_what_is_short():
    limits = limits_of(SHOP)
    left = limits.room.copy()
    left[0] = [1, 3, 2]
    left[1] = [1, 3, 2] if len(left) > 3 else left[1]
    assert why_unplaced(JOB, SHOP, limits, left) == "every week allowed is full: week of 11 May is short of 1 hours of test"
    assert why_unplaced(replace(JOB, skill="welding"), SHOP, limits, left) == "nobody has the skill welding"

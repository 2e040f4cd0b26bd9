"""Days and hands within a week."""

from datetime import date, timedelta

import numpy as np
import pytest

from calcs.jobs import Job
from calcs.season import Block
from calcs.shop_weeks import Bay, ShopWeeks, Technician, limits_of
from calcs.week_days import days_of_plan, days_of_week

MONDAY = date(2026, 5, 4)
ADA = Technician("Ada", frozenset({"test"}), (40,))
BO = Technician("Bo", frozenset({"test", "reseal"}), (40,))
SHOP = ShopWeeks((MONDAY,), (ADA, BO), (Bay("low", 3.5), Bay("tall", 4.5)))


def planned(*jobs, shop=SHOP):
    return days_of_week(jobs, {job.name: 0 for job in jobs}, 0, shop)


def test_every_hour_of_a_job_is_given_to_one_pair_of_hands_with_the_skill():
    week = planned(Job("Pump", "farm", "reseal", 19, MONDAY))
    assert {piece.technician for piece in week.pieces} == {"Bo"}
    assert [(piece.day.day, piece.hours) for piece in week.pieces] == [(4, 8), (5, 8), (6, 3)]


def test_one_visit_drives_once():
    week = planned(*(Job(name, "farm", "test", 2, MONDAY, visit_h=1.5) for name in "ABC"))
    assert sum(piece.travel_h for piece in week.pieces) == 1.5
    assert len({piece.technician for piece in week.pieces}) == 1


def test_the_hands_with_fewer_skills_go_first():
    assert planned(Job("Test", "farm", "test", 2, MONDAY)).pieces[0].technician == "Ada"


def test_days_of_the_season_block_and_days_without_parts_stay_free():
    block = Block("Harvest", MONDAY, MONDAY + timedelta(days=1))
    week = planned(Job("A", "farm", "test", 2, MONDAY, blocks=(block,)), Job("B", "yard", "test", 2, MONDAY, parts_on=date(2026, 5, 7)))
    assert {piece.job: piece.day for piece in week.pieces} == {"A": date(2026, 5, 6), "B": date(2026, 5, 7)}


def test_a_tall_machine_gets_the_tall_bay_and_a_second_one_waits():
    jobs = [Job(name, name, "test", 30, MONDAY, bay_days=4, door_height_m=4.0) for name in "AB"]
    week = planned(*jobs)
    assert {piece.bay for piece in week.pieces} == {"tall"}
    assert week.left_out == {"B": "no bay with its door is free while its hands are"}


def test_a_low_machine_leaves_the_tall_bay_alone():
    assert planned(Job("A", "A", "test", 3, MONDAY, bay_days=1, door_height_m=3.0)).pieces[0].bay == "low"


def test_who_is_left_out_is_told_why():
    assert planned(Job("A", "farm", "welding", 2, MONDAY)).left_out == {"A": "nobody has the skill welding"}
    assert planned(Job("A", "farm", "reseal", 41, MONDAY)).left_out == {"A": "needs 41 h, all hands with the skill have 40 h left"}


def test_where_one_pair_of_hands_is_not_enough_two_share_and_both_drive():
    week = planned(Job("A", "farm", "test", 50, MONDAY, visit_h=1.0))
    assert {piece.technician for piece in week.pieces} == {"Ada", "Bo"}
    assert sum(piece.hours for piece in week.pieces) == 50 and sum(piece.travel_h for piece in week.pieces) == 2


def test_hands_already_at_the_place_go_on_there():
    week = planned(Job("A", "farm", "reseal", 2, MONDAY, visit_h=1.0), Job("B", "farm", "test", 2, MONDAY, visit_h=1.0))
    assert {piece.technician for piece in week.pieces} == {"Bo"}


@pytest.mark.parametrize("seed", range(4))
def test_nobody_works_longer_than_the_day_and_no_hour_is_lost(seed):
    rng = np.random.default_rng(seed)
    skills, hours = rng.choice(["test", "reseal"], 14), rng.integers(1, 9, 14)
    jobs = [Job(f"job {i}", f"farm {rng.integers(6)}", str(skills[i]), float(hours[i]), MONDAY, visit_h=1.0) for i in range(14)]
    week = planned(*jobs, shop=ShopWeeks((MONDAY,), (ADA, BO), (), (0.1,)))
    by_day = {}
    for piece in week.pieces:
        by_day[piece.technician, piece.day] = by_day.get((piece.technician, piece.day), 0) + piece.hours + piece.travel_h
    assert max(by_day.values()) <= 40 * 0.9 / 5 + 1e-6
    for job in jobs:
        done = sum(piece.hours for piece in week.pieces if piece.job == job.name)
        assert done == pytest.approx(0 if job.name in week.left_out else job.hours)


def two_weeks(b=None, a=None):
    hands = Technician("Ada", frozenset({"test"}), (40, 40))
    jobs = [Job("A", "A", "test", 30, MONDAY, **(a or {})), Job("B", "B", "test", 30, MONDAY, **(b or {}))]
    return days_of_plan(jobs, {"A": 0, "B": 0}, ShopWeeks((MONDAY, MONDAY + timedelta(weeks=1)), (hands,)))


IN_HARVEST = {"blocks": (Block("Harvest", MONDAY + timedelta(weeks=1), MONDAY + timedelta(weeks=5)),)}


def test_what_finds_no_hands_goes_to_the_next_week_and_is_named():
    days = two_weeks()
    assert days.moved == {"B": 1} and not days.left_out and days.week_of == {"A": 0, "B": 1}
    assert {piece.day >= MONDAY + timedelta(weeks=1) for piece in days.pieces if piece.job == "B"} == {True}


def test_a_pinned_job_goes_first_and_never_moves():
    days = two_weeks({"pinned_week": 0})
    assert days.moved == {"A": 1}
    assert {piece.day < MONDAY + timedelta(weeks=1) for piece in days.pieces if piece.job == "B"} == {True}


def test_a_job_that_may_not_wait_takes_the_place_of_one_that_may():
    days = two_weeks(IN_HARVEST)
    assert days.week_of == {"B": 0, "A": 1} and days.moved == {"A": 1} and not days.left_out


def test_where_no_week_has_hands_a_job_is_left_out_with_the_reason():
    days = two_weeks(IN_HARVEST, IN_HARVEST)
    assert days.left_out == {"B": "needs 30 h, all hands with the skill have 10 h left"} and days.week_of == {"A": 0}


def test_a_job_without_a_week_gets_one_if_days_and_hands_allow_it():
    hands = Technician("Ada", frozenset({"test"}), (40,))
    days = days_of_plan([Job("A", "A", "test", 39.5, MONDAY)], {}, ShopWeeks((MONDAY,), (hands,)))
    assert days.week_of == {"A": 0} and days.moved == {"A": 0} and sum(piece.hours for piece in days.pieces) == 39.5


def test_a_machine_in_a_bay_stays_there_for_the_days_it_needs():
    """One bay, two machines for two days each and one for one: all three find room, though the first order tried may not show it."""
    jobs = [Job(name, name, "test", 4, MONDAY, bay_days=days, door_height_m=4.0) for name, days in (("A", 1), ("B", 2), ("C", 2))]
    week = planned(*jobs)
    assert not week.left_out
    days = {name: sorted({piece.day.day - MONDAY.day for piece in week.pieces if piece.job == name}) for name in "ABC"}
    assert all(len(found) == 1 for found in days.values()), days


@pytest.mark.parametrize("seed", range(3))
def test_weeks_hold_every_limit_by_days_and_no_job_is_lost(seed):
    rng = np.random.default_rng(seed)
    hands = (Technician("Ada", frozenset({"test"}), (30,) * 4), Technician("Bo", frozenset({"test", "reseal"}), (30,) * 4))
    shop = ShopWeeks(tuple(MONDAY + timedelta(weeks=w) for w in range(4)), hands, (Bay("tall", 4.5),))
    jobs = [
        Job(f"job {i}", f"farm {rng.integers(9)}", str(rng.choice(["test", "reseal"])), float(rng.integers(1, 9)), MONDAY + timedelta(days=int(rng.integers(28))),
            visit_h=1.0, bay_days=float(rng.integers(0, 3)) if i % 4 == 0 else 0.0, door_height_m=4.0)
        for i in range(36)
    ]  # fmt: skip
    planned_weeks = {job.name: int(rng.integers(4)) for job in jobs}
    days = days_of_plan(jobs, planned_weeks, shop)
    by_day = {}
    for piece in days.pieces:
        by_day[piece.technician, piece.day] = by_day.get((piece.technician, piece.day), 0) + piece.hours + piece.travel_h
    assert max(by_day.values()) <= 6 + 1e-6
    assert set(days.week_of) | set(days.left_out) == {job.name for job in jobs} and not set(days.week_of) & set(days.left_out)
    assert days.moved == {name: week for name, week in days.week_of.items() if week != planned_weeks[name]}
    for job in jobs:
        worked = [piece for piece in days.pieces if piece.job == job.name]
        assert sum(piece.hours for piece in worked) == pytest.approx(job.hours if job.name in days.week_of else 0)
        assert {(piece.day - MONDAY).days // 7 for piece in worked} <= {days.week_of.get(job.name)}
    stands = [(piece.bay, piece.day) for piece in {(p.bay, p.day, p.job): p for p in days.pieces if p.bay}.values()]
    assert len(stands) == len(set(stands)), "two machines in one bay on one day"


def test_nobody_works_on_a_day_of_leave_and_no_machine_stands_where_one_stands():
    days = [MONDAY + timedelta(days=day) for day in range(5)]
    hands = Technician("Ada", frozenset({"test"}), (16,), frozenset(days[:3]))
    shop = ShopWeeks((MONDAY,), (hands,), (Bay("low", 4.5, frozenset({days[3]})),))
    free = days_of_week([Job("A", "A", "test", 16, MONDAY)], {"A": 0}, 0, shop)
    assert [(piece.day, piece.hours) for piece in free.pieces] == [(days[3], 8), (days[4], 8)]
    bay = days_of_week([Job("A", "A", "test", 4, MONDAY, bay_days=1, door_height_m=4.0)], {"A": 0}, 0, shop)
    assert [piece.day for piece in bay.pieces] == [days[4]]
    assert limits_of(shop).room[-1, 0] == 4

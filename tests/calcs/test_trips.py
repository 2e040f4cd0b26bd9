"""Who shares a drive."""

from datetime import date

from calcs.jobs import Job
from calcs.shop_weeks import ShopWeeks, Technician, limits_of
from calcs.trips import drive_needs, skills_by_rarity, trip_of_jobs, visit_hours

MONDAY = date(2026, 5, 4)
ADA, BO = Technician("Ada", frozenset({"test"}), (40,)), Technician("Bo", frozenset({"test", "reseal"}), (40,))
JOBS = [
    Job("A", "farm", "test", 2, MONDAY, visit_h=1.0),
    Job("B", "farm", "reseal", 2, MONDAY, visit_h=1.5),
    Job("C", "yard", "test", 2, MONDAY),
]


def test_one_pair_of_hands_with_both_skills_drives_once():
    trips = trip_of_jobs(JOBS, ShopWeeks((MONDAY,), (BO,)))
    assert trips["A"] == trips["B"] != trips["C"]


def test_skills_that_do_not_always_come_together_drive_apart():
    trips = trip_of_jobs(JOBS, ShopWeeks((MONDAY,), (ADA, BO)))
    assert trips["A"] == ("farm", "test") and trips["B"] == ("farm", "reseal")


def test_a_skill_nobody_has_still_has_a_trip():
    assert trip_of_jobs([Job("A", "farm", "welding", 2, MONDAY)], ShopWeeks((MONDAY,), (ADA,)))["A"] == ("farm", "welding")


def test_the_longest_way_named_counts():
    assert visit_hours(JOBS) == {"farm": 1.5, "yard": 0.0}


def test_a_drive_takes_the_hours_of_those_with_the_skill():
    limits = limits_of(ShopWeeks((MONDAY,), (ADA, BO)))
    needed = dict(zip(limits.names, drive_needs(["reseal"], [1.5], limits)[0].tolist(), strict=True))
    assert needed == {"hours of reseal": 1.5, "hours of test": 0.0, "hours of reseal or test": 1.5}


def test_the_rarest_skill_comes_first():
    assert skills_by_rarity(ShopWeeks((MONDAY,), (ADA, BO))) == ("reseal", "test")

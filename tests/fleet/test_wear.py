from datetime import UTC, datetime

import numpy as np
import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

import fleet.wear
from fleet.models import ConditionAssessment, DriveUnit, Instrument, UnitEvent, WearGauge, WearGroup, WearShift, WearState
from fleet.wear import review_fleet, review_unit
from fleet.wear_series import units_without_basis, wear_series
from tests.wear_fleet import judge, lay_wear_fleet, put_readings, put_unit, worn


@pytest.fixture
def drives(floor, technician):
    return lay_wear_fleet(floor, technician)


def kept() -> list[tuple]:
    """Everything that a review keeps but its own number and time."""
    names = [f.attname for f in WearState._meta.concrete_fields if f.name not in ("id", "group", "reviewed_at", "shift")]
    states = list(WearState.objects.order_by("unit", "quantity", "direction").values_list(*names))
    groups = list(WearGroup.objects.order_by("drive_model", "quantity").values_list("quantity", "numbers", "units"))
    return [
        states,
        groups,
        list(WearGauge.objects.order_by("pk").values_list("quantity", "instrument", "offset", "uncertainty", "readings")),
    ]


def test_the_wearing_are_told_from_the_steady(drives):
    review_fleet()
    words = dict(WearState.objects.values_list("unit__tag", "state"))
    assert {tag for tag, word in words.items() if word == "wearing"} == {unit.tag for unit in drives[:3]}
    assert {word for tag, word in words.items() if tag not in {unit.tag for unit in drives[:3]}} == {"steady"}
    truth = 1000 * (2.5 ** (1 / 3) - 1) / 0.09 - 2400
    for state in WearState.objects.filter(state="wearing"):
        assert state.low_h < state.likely_h < (state.high_h or np.inf)
        assert 0.7 * state.low_h < truth < 1.4 * (state.high_h or np.inf)  # each band is missed by one drive in five


def test_a_review_gives_the_same_answer_twice(drives):
    review_fleet()
    first = kept()
    review_fleet()
    assert kept() == first


@pytest.mark.parametrize("breaks_in", ["keep_gauges", "keep_shifts", "states_of", "review_metals"])
def test_a_review_that_is_stopped_leaves_the_last_one_standing_and_can_be_repeated(drives, monkeypatch, breaks_in):
    review_fleet()
    first = kept()
    ConditionAssessment.objects.filter(reading__drive_test__unit=drives[0]).update(ratio=1.0)

    def stop(*args):
        raise KeyboardInterrupt

    with monkeypatch.context() as patched:
        patched.setattr(fleet.wear, breaks_in, stop)
        with pytest.raises(KeyboardInterrupt):
            review_fleet()
    assert kept() == first
    review_fleet()
    assert kept() != first


def test_one_unit_judged_anew_gives_what_the_whole_fleet_gave(drives):
    review_fleet()
    first = kept()
    for unit in drives:
        review_unit(unit)
    for before, after in zip(first[0], kept()[0], strict=True):
        assert [v for v in after if not isinstance(v, float)] == [v for v in before if not isinstance(v, float)]
        np.testing.assert_allclose([v for v in after if isinstance(v, float)], [v for v in before if isinstance(v, float)], rtol=1e-6)


def test_one_new_reading_updates_its_drive_and_no_other(drives, floor, technician):
    review_fleet()
    first = kept()
    put_readings(floor, technician, drives[5], [1.5, 1.52], first_h=2700, first_day=datetime(2026, 1, 5, tzinfo=UTC))
    review_unit(drives[5])
    changed = [after[1] for before, after in zip(first[0], kept()[0], strict=True) if before != after]
    assert set(WearState.objects.exclude(reviewed_at=WearGroup.objects.first().reviewed_at).values_list("unit", flat=True)) == {
        drives[5].pk
    }
    assert len(changed) == 1
    assert kept()[1] == first[1]


def test_a_unit_is_judged_with_a_fixed_number_of_queries(drives, floor, technician):
    review_fleet()
    with CaptureQueriesContext(connection) as few:
        review_unit(drives[0])
    put_readings(floor, technician, drives[0], worn(0.09, 30, 1, first_h=2700))
    with CaptureQueriesContext(connection) as many:
        review_unit(drives[0])
    assert len(few) == len(many)


def test_before_the_first_review_a_unit_gets_no_state(drives):
    assert review_unit(drives[0]) == 0
    assert not WearState.objects.exists()


def test_numbers_of_an_older_edition_wait_for_the_next_review(drives):
    review_fleet()
    group = WearGroup.objects.get()
    group.numbers = {name: value for name, value in group.numbers.items() if name != "curvature"}
    group.save()
    assert review_unit(drives[0]) == 0


def test_a_rebuilt_unit_starts_anew(drives, floor, technician):
    UnitEvent.objects.create(unit=drives[0], kind="rebuilt", happened_on="2025-12-01", component_h=2450)
    put_readings(floor, technician, drives[0], [1.0, 1.01, 0.99], first_h=2600, first_day=datetime(2026, 1, 5, tzinfo=UTC))
    review_fleet()
    state = WearState.objects.get(unit=drives[0])
    assert (state.began, state.began_h, state.readings, state.state) == ("overhauled", 2450.0, 3, "steady")
    rows = wear_series(drives[0].pk).rows
    assert rows.life_h.tolist()[-3:] == [150.0, 450.0, 750.0]
    assert rows.series.nunique() == 2


def test_a_repair_touches_only_its_quantities(drives):
    UnitEvent.objects.create(unit=drives[0], kind="repaired", happened_on="2024-12-01", component_h=2000, quantities=["main_relief"])
    assert wear_series(drives[0].pk).rows.series.nunique() == 1
    UnitEvent.objects.create(unit=drives[0], kind="repaired", happened_on="2024-12-01", component_h=2000, quantities=["pump_case_flow"])
    assert wear_series(drives[0].pk).rows.series.nunique() == 2


def test_a_moved_unit_keeps_its_hours(floor, technician):
    unit = put_unit(floor, 100, with_machine=True)
    put_readings(floor, technician, unit, [1.0, 1.1, 1.2])
    stay = unit.installations.get()
    stay.to_date, stay.to_life_h = "2024-06-01", 1000
    stay.save()
    put_readings(floor, technician, unit, [1.3, 1.4], first_h=1300, first_day=datetime(2024, 7, 1, tzinfo=UTC))
    series = wear_series(unit.pk)
    assert len(series.series) == 1
    assert series.rows.life_h.tolist() == [300, 600, 900, 1300, 1600]


@pytest.mark.parametrize("state", ["suspect instrument", "not comparable", "impossible"])
def test_what_cannot_be_judged_takes_no_part(drives, floor, technician, state):
    before = len(wear_series(drives[4].pk).rows)
    reading = put_readings(floor, technician, drives[4], [9.0], first_h=2700)[0]
    ConditionAssessment.objects.filter(reading=reading).update(state=state)
    assert len(wear_series(drives[4].pk).rows) == before


@pytest.mark.parametrize("more", [{"stability": "hunting"}, {"is_valid": False, "invalid_reason": "gauge fell"}])
def test_a_hunting_reading_and_one_marked_not_valid_take_no_part(drives, floor, technician, more):
    before = len(wear_series(drives[4].pk).rows)
    put_readings(floor, technician, drives[4], [9.0], first_h=2700, **more)
    assert len(wear_series(drives[4].pk).rows) == before


def test_a_corrected_reading_counts_once_as_corrected(drives):
    old = drives[4].tests.last().readings.get()
    new = type(old).objects.create(
        drive_test=old.drive_test, quantity=old.quantity, typed="4.4", typed_unit="L/min", value=4.4, unit="L/min",
        instrument=old.instrument, supersedes=old, correction_reason="misread",
    )  # fmt: skip
    judge([new], [1.1])
    rows = wear_series(drives[4].pk).rows
    assert (len(rows), rows.ratio.iloc[-1]) == (8, 1.1)


def test_a_jump_is_named_and_the_wear_judged_from_there(drives, floor, technician):
    ratios = worn(0.0, 8, 99)
    unit = put_unit(floor, 300)
    put_readings(floor, technician, unit, ratios[:4] + [1.9 * ratio for ratio in ratios[4:]])
    review_fleet()
    state = WearState.objects.get(unit=unit)
    assert (state.state, state.jump_from_h, state.jump_to_h, state.readings) == ("jumped", 1200.0, 1500.0, 4)
    assert str(state.jump_on) == "2024-05-14"
    assert state.jump_ratio == pytest.approx(1.9, rel=0.1)
    assert state.likely_h is None or state.likely_h > 3000
    assert not WearState.objects.exclude(unit=unit).filter(jump_on__isnull=False).exists()
    before = kept()
    review_unit(unit)
    assert kept()[0][-1][:8] == before[0][-1][:8]


def test_one_reading_alone_far_off_asks_for_a_repeat_and_is_no_jump(drives, floor, technician):
    put_readings(floor, technician, drives[8], [2.0], first_h=2700, first_day=datetime(2026, 1, 5, tzinfo=UTC))
    review_fleet()
    state = WearState.objects.get(unit=drives[8])
    assert state.asks_for_repeat
    assert not state.has_jumped
    assert sum(s.asks_for_repeat for s in WearState.objects.all()) == 1


def test_a_repeat_that_agrees_makes_it_a_jump_and_one_that_does_not_leaves_it_wild(drives, floor, technician):
    put_readings(floor, technician, drives[8], [2.0, 2.02], first_h=2700, every_h=0.5, first_day=datetime(2026, 1, 5, tzinfo=UTC))
    put_readings(floor, technician, drives[9], [2.0, 1.01], first_h=2700, every_h=0.5, first_day=datetime(2026, 1, 5, tzinfo=UTC))
    review_fleet()
    assert WearState.objects.get(unit=drives[8]).state == "jumped"
    other = WearState.objects.get(unit=drives[9])
    assert (other.state, other.has_jumped) == ("steady", False)


def test_with_few_readings_a_repeat_of_the_same_day_confirms_a_jump(drives, floor, technician):
    for place, repeat in enumerate([2.02, 1.01]):
        unit = put_unit(floor, 300 + place)
        put_readings(floor, technician, unit, [1.0], first_h=300)
        put_readings(floor, technician, unit, [2.0], first_h=900, first_day=datetime(2026, 1, 5, 9, tzinfo=UTC))
        put_readings(floor, technician, unit, [repeat], first_h=900.5, first_day=datetime(2026, 1, 5, 11, tzinfo=UTC))
    review_fleet()
    agreed, other = WearState.objects.filter(unit__tag__gte="D-00300").order_by("unit__tag")
    assert (agreed.state, agreed.jump_to_h, agreed.readings) == ("jumped", 900.0, 2)
    assert not other.has_jumped
    before = kept()[0]
    review_unit(agreed.unit)
    assert [row[1:8] for row in kept()[0]] == [row[1:8] for row in before]


def test_a_shift_of_all_drives_at_one_date_is_one_shift_and_not_many_alarms(drives, floor, technician):
    day = datetime(2026, 1, 5, tzinfo=UTC)
    for unit in drives:
        last = ConditionAssessment.objects.filter(reading__drive_test__unit=unit).order_by("-reading__drive_test__component_h").first()
        put_readings(floor, technician, unit, [1.35 * last.ratio], first_h=2700, first_day=day)
    review_fleet()
    shift = WearShift.objects.get()
    assert shift.units == len(drives)
    assert shift.from_on <= day.date() <= shift.to_on
    assert not any(s.asks_for_repeat for s in WearState.objects.all())
    assert {s.unit for s in WearState.objects.filter(state="wearing")} == set(drives[:3])
    assert all(s.shift == shift for s in WearState.objects.all())
    first = kept()[0]
    review_unit(drives[7])
    assert [row[1:6] for row in kept()[0]] == [row[1:6] for row in first]


def test_a_gauge_that_reads_off_is_solved_kept_and_used_for_one_unit_too(floor, technician):
    second = Instrument.objects.create(tag="F-02", kind="flow", span_high=60, unit="L/min", accuracy_class_pct=1)
    units = [put_unit(floor, 100 + number) for number in range(16)]
    for number, unit in enumerate(units):
        ratios = worn(0.0, 8, number)
        for place, ratio in enumerate(ratios):
            gauge, factor = (second, 1.08) if (place + number) % 3 == 0 else (floor.flow_meter, 1.0)
            put_readings(floor, technician, unit, [ratio * factor], first_h=300 + 300 * place, gauge=gauge)
    review_fleet()
    off = {row.instrument.tag: row.offset for row in WearGauge.objects.all()}
    assert off["F-02"] - off["F-01"] == pytest.approx(np.log(1.08), abs=0.015)
    first = kept()[0]
    review_unit(units[0])
    np.testing.assert_allclose([v for v in kept()[0][0] if isinstance(v, float)], [v for v in first[0] if isinstance(v, float)], rtol=1e-6)


def test_units_that_nothing_speaks_of_are_not_known_and_scrapped_ones_are_gone(drives, floor):
    silent, gone = put_unit(floor, 300), put_unit(floor, 301)
    DriveUnit.objects.filter(pk=gone.pk).update(keeping="scrapped")
    review_fleet()
    found = units_without_basis()
    assert silent in found
    assert gone not in found
    assert not set(found) & set(drives)

"""The review of the demo shop finds the planted stories by name, and no others."""

import pytest
from django.db import transaction

from fleet.models import MetalState, WearGauge, WearState
from shop.advice.review import review_shop
from shop.demo.stories import machine_of, unit_of
from shop.models import Advice

pytestmark = pytest.mark.django_db


@pytest.fixture(scope="module")
def reviewed(demo_shop, django_db_blocker):
    with django_db_blocker.unblock(), transaction.atomic():
        review_shop()
        yield demo_shop
        transaction.set_rollback(True)


def signs() -> dict[str, set[str]]:
    """Units whose state is more than steady, with their words."""
    found: dict[str, set[str]] = {}
    for tag, state in WearState.objects.filter(state__in=("jumped", "wearing", "watch")).values_list("unit__tag", "state"):
        found.setdefault(tag, set()).add(state)
    return found


def test_every_planted_wear_is_found_and_no_other_drive_shows_any(reviewed):
    planted = {unit_of(code) for code in ("wearing_out", "wearing_slowly", "bad_repair", "charge_pump", "unknown_history")}
    assert planted <= set(signs())
    assert set(signs()) - planted <= {unit_of("series_drain")}


def test_the_drive_wearing_out_is_wearing_and_nearest_to_its_limit(reviewed):
    states = {(s.quantity, s.direction): s for s in WearState.objects.filter(unit__tag=unit_of("wearing_out"))}
    pump = states["pump_case_flow", ""]
    assert (pump.state, pump.has_jumped) == ("wearing", False)
    assert pump.likely_h < 600
    known = WearState.objects.leading().filter(state="wearing").exclude(unit__birth="used")
    assert known.order_by("likely_h").first() == pump


def test_the_drive_on_its_way_has_hours_to_its_limit_as_a_band(reviewed):
    pump = WearState.objects.get(unit__tag=unit_of("wearing_slowly"), quantity="pump_case_flow")
    assert pump.state == "wearing"
    truth = 1000 * (2.5 ** (1 / 3) - 1) / 0.045 - pump.last_component_h  # gaps open at 4.5 % in 1000 h
    assert 0.6 * pump.low_h < truth < 1.6 * pump.high_h


def test_the_step_after_the_bad_repair_is_named_with_its_hours_and_the_repair(reviewed):
    motor = WearState.objects.get(unit__tag=unit_of("bad_repair"), quantity="motor_case_flow")
    repair = motor.unit.events.get(kind="repaired")
    assert motor.state == "jumped"
    assert motor.jump_from_h < float(repair.component_h) < motor.jump_to_h
    assert motor.jump_ratio == pytest.approx(1.9, rel=0.1)
    advice = Advice.objects.open().get(unit=motor.unit)
    assert advice.kind == "find_cause"
    assert "Relief cartridges exchanged" in advice.reason


def test_the_worn_charge_pump_is_named_at_idle(reviewed):
    idle = WearState.objects.get(unit__tag=unit_of("charge_pump"), quantity="charge_neutral_idle")
    assert idle.state in ("jumped", "wearing")
    assert not WearState.objects.filter(unit=idle.unit, quantity__contains="case_flow").exclude(state="steady").exists()


def test_a_drain_in_series_is_never_called_wear(reviewed):
    drains = WearState.objects.filter(unit__tag=unit_of("series_drain"), quantity__in=("pump_case_flow", "motor_case_flow"))
    assert not drains.filter(state__in=("wearing", "watch")).exists()


def test_the_moved_drive_and_the_healthy_one_are_steady(reviewed):
    assert not {unit_of("moved"), unit_of("healthy")} & set(signs())


def test_metal_rises_with_the_worn_drive_alone_and_both_signs_are_told_together(reviewed):
    rising = MetalState.objects.rising()
    assert {state.machine.number for state in rising} == {machine_of("wearing_out")}
    assert {"Fe", "Cu"} <= {state.metal for state in rising}
    first = Advice.objects.open().first()
    assert first.unit.tag == unit_of("wearing_out")
    assert first.reason.startswith("Two independent signs rise together")


def test_the_gauge_that_reads_high_is_the_only_one_suspected(reviewed):
    assert {row.instrument.tag for row in WearGauge.objects.select_related("instrument") if row.is_suspect} == {"G-07"}
    assert Advice.objects.open().get(kind="check_gauge").instrument.tag == "G-07"


def test_suggestions_are_few_and_of_planted_units(reviewed):
    found = Advice.objects.open()
    assert found.count() <= 9
    units = {unit_of(c) for c in ("wearing_out", "wearing_slowly", "bad_repair", "charge_pump", "unknown_history", "series_drain")}
    assert {advice.unit.tag for advice in found if advice.unit} <= units

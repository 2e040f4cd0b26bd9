"""What the latest test of a drive points to, with the evidence used and the cheapest next look."""

from datetime import UTC, datetime, timedelta

import pytest

from fleet.assess import assess_drive_test
from fleet.models import DriveTest, Failure, Reading
from shop.diagnosis.rows import SYMPTOM_OF, diagnosis_of_unit

UNITS = {"pump_case_flow": "L/min", "motor_case_flow": "L/min", "top_speed": "km/h"}


@pytest.fixture
def tested(floor, technician):
    def made(*rows, days=0):
        when = datetime(2026, 3, 2, 10, tzinfo=UTC) + timedelta(days=days)
        test = DriveTest.objects.create(
            number=f"T-{DriveTest.objects.count() + 1}", unit=floor.unit, machine=floor.machine, tested_at=when, tested_by=technician,
            life_h=1210, component_h=1210, oil_temp_c=60, engine_speed_rpm=2300,
        )  # fmt: skip
        gauges = {"charge": floor.charge_gauge, "main": floor.system_gauge}
        for quantity, direction, value in rows:
            gauge, unit = gauges.get(quantity.split("_")[0], floor.flow_meter), UNITS.get(quantity, "bar")
            Reading.objects.create(
                drive_test=test, quantity=quantity, direction=direction, typed=str(value), typed_unit=unit, value=value, unit=unit,
                instrument=gauge, loop_pressure_bar=200 if quantity.endswith(("flow", "stroked")) else None,
            )  # fmt: skip
        assess_drive_test(test)
        return test

    return made


HEALTHY = (
    ("charge_neutral", "", 22.6),
    ("charge_stroked", "forward", 19.9),
    ("charge_stroked", "reverse", 19.9),
    ("main_relief", "forward", 422),
    ("main_relief", "reverse", 422),
)


def test_a_drive_without_a_test_has_nothing_to_reason_from(floor, as_technician):
    page = as_technician.get(f"/drives/{floor.unit.pk}/diagnosis/").content.decode()
    assert "No test with readings yet" in page


def test_a_healthy_test_points_to_nothing(floor, tested, as_technician):
    tested(*HEALTHY)
    page = as_technician.get(f"/drives/{floor.unit.pk}/diagnosis/").content.decode()
    assert "points to a fault" in page and "%" not in page.split("<aside>")[0].split("Readings used")[0].split('class="strip"')[1]


def test_the_conclusion_says_which_readings_it_used(floor, tested):
    """Forward charge and relief down, reverse as it was: the forward side."""
    tested(
        ("charge_neutral", "", 22.6),
        ("charge_stroked", "forward", 14.0),
        ("charge_stroked", "reverse", 20.6),
        ("main_relief", "forward", 310),
        ("main_relief", "reverse", 422),
    )
    found = diagnosis_of_unit(floor.unit, "one_way")
    assert found.suspects[0].code == "side_forward" and found.suspects[0].probability > 0.8
    assert "stroked charge fell 38 % forward, 9 % reverse" in found.advice.text
    assert "main relief forward 310 of" in found.advice.text


def test_the_latest_test_counts(floor, tested):
    tested(("main_relief", "forward", 310), days=0)
    latest = tested(*HEALTHY, days=30)
    found = diagnosis_of_unit(floor.unit)
    assert found.test == latest and not found.found_something


def test_a_leaking_motor_is_named_before_the_pump_with_probabilities(floor, tested):
    tested(("pump_case_flow", "", 5.0), ("motor_case_flow", "", 28.0))
    found = diagnosis_of_unit(floor.unit, "slow_hot")
    assert found.suspects[0].code == "motor"
    assert found.apportioned.motor + found.apportioned.both > 0.9 > 0.1 > found.apportioned.pump
    assert sum((found.apportioned.pump, found.apportioned.motor, found.apportioned.both, found.apportioned.neither)) == pytest.approx(1)


def test_an_answer_changes_the_advice_and_the_next_look(floor, tested, as_technician):
    tested(("charge_neutral", "", 15.0))
    before, after = (
        diagnosis_of_unit(floor.unit, "loses_charge"),
        diagnosis_of_unit(floor.unit, "loses_charge", there=("recovers_with_aux_off",)),
    )
    assert before.advice.next_look is not None
    assert after.suspects[0].code == "auxiliary" != before.suspects[0].code
    page = as_technician.get(f"/drives/{floor.unit.pk}/diagnosis/?symptom=loses_charge&recovers_with_aux_off=yes").content.decode()
    assert "auxiliary user" in page and "advice, no order" in page


def test_metal_stops_the_machine(floor, tested, as_technician):
    tested(*HEALTHY)
    page = as_technician.get(f"/drives/{floor.unit.pk}/diagnosis/?metal_found=yes").content.decode()
    assert "Danger" in page


def test_readings_that_cannot_be_judged_are_left_out_and_counted(floor, tested):
    test = tested(("pump_case_flow", "", 47.0), ("charge_neutral", "", 22.6))
    found = diagnosis_of_unit(floor.unit)
    assert (len(found.used), found.left_out) == (1, 1)
    assert test.readings.get(quantity="pump_case_flow").assessments.get().state == "impossible"


@pytest.mark.parametrize("query", ["symptom=%00", "symptom=nonsense", "level_low=maybe", "page=1&symptom=", "metal_found[]=yes"])
def test_junk_in_the_address_is_left_out(floor, tested, as_technician, query):
    tested(*HEALTHY)
    assert as_technician.get(f"/drives/{floor.unit.pk}/diagnosis/?{query}").status_code == 200


def test_every_complaint_of_an_order_that_has_a_table_finds_it():
    from calcs.symptoms import SYMPTOMS

    assert set(SYMPTOM_OF.values()) <= set(SYMPTOMS)
    assert set(SYMPTOM_OF) <= set(Failure.Mode)

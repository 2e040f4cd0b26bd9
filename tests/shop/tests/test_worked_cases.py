"""The worked cases of the trade, through stored models: what the lead technician knows by heart must come out."""

from datetime import UTC, datetime

import pytest

from fleet.assess import assess_reading
from fleet.models import AcceptanceRule, Calibration, DriveTest, Instrument, Reading
from shop.tests.steps import parts_of
from shop.workorders.expected import expected_of, facts_of
from shop.workorders.reading_rows import rows_of_test


@pytest.fixture
def gauge_16(db):
    gauge = Instrument.objects.create(tag="G-16", kind="pressure", span_high=60, unit="bar", accuracy_class_pct=1.6, resolution=1.0)
    Calibration.objects.create(instrument=gauge, done_on="2026-01-10", due_on="2027-01-10")
    return gauge


def read(floor, by, quantity, value, instrument, unit, **more):
    test = DriveTest.objects.create(
        number=f"T-{DriveTest.objects.count() + 1}", unit=floor.unit, machine=floor.machine, tested_at=datetime(2026, 3, 2, 10, tzinfo=UTC),
        tested_by=by, life_h=1210, component_h=1210, oil_temp_c=60, engine_speed_rpm=2300,
    )  # fmt: skip
    return Reading.objects.create(
        drive_test=test, quantity=quantity, typed=str(value), typed_unit=unit, value=value, unit=unit, instrument=instrument, **more
    )


def test_20_6_with_a_class_1_6_gauge_of_60_bar_against_21_0_is_undecided_and_a_better_gauge_is_named(floor, technician, gauge_16):
    """1.6 % of 60 bar, rectangular, and half a bar read: 1.25 bar with k = 2 (EN 837-1; JCGM 100:2008, 4.3.7)."""
    AcceptanceRule.objects.create(
        drive_model=floor.drive_model, quantity="charge_neutral", form="minimum", low=21.0, document=floor.document, page="5-43"
    )
    found = assess_reading(read(floor, technician, "charge_neutral", 20.6, gauge_16, "bar"))
    assert found.state == "undecided"
    assert found.uncertainty == pytest.approx(1.25, abs=0.005)
    assert "20.6" in found.reason and "21.0" in found.reason and "class" in found.reason and "5-43" in found.reason


def test_a_rule_without_a_page_cannot_decide(floor, technician):
    AcceptanceRule.objects.create(drive_model=floor.drive_model, quantity="charge_neutral", form="minimum", low=30.0)
    found = assess_reading(read(floor, technician, "charge_neutral", 22.5, floor.charge_gauge, "bar"))
    assert found.state == "inside" and "names no document and page" in found.reason


def test_a_drain_of_5_0_at_60_degrees_reads_3_4_7_0_and_9_3_at_50_70_and_80(floor, procedures):
    """Laminar leakage of a VG 46 oil by its viscosities 30.0, 20.6, 14.8 and 11.1 mm2/s (ASTM D341), its density not on record."""
    floor.oil.density15_kgm3 = None
    floor.oil.save()
    model = floor.drive_model
    model.flushing_flow_lpm = model.flushing_relief_bar = None
    model.save()
    part = parts_of([procedures["T08"]], model, floor.machine)[0]
    step = next(step.as_read for step in part.steps if step.told.get("quantity") == "motor_case_flow")
    values = [one.value for one in expected_of(step, facts_of(floor.unit, floor.machine, datetime(2026, 3, 2, tzinfo=UTC).date()))]
    assert [value / values[1] * 5.0 for value in values] == pytest.approx([3.4, 5.0, 7.0, 9.3], abs=0.056)


def test_case_return_above_charge_delivery_is_impossible(floor, technician):
    """18 cm3 at 2300 rpm gives no more than 41.4 L/min."""
    found = assess_reading(read(floor, technician, "total_case_return", 47.0, floor.flow_meter, "L/min", loop_pressure_bar=138))
    assert found.state == "impossible"


def test_the_sheet_says_beforehand_that_a_gauge_cannot_decide(floor, gauge_16):
    """With nothing better in the shop the sheet says so before the test, and which class would do."""
    Instrument.objects.filter(kind="pressure").exclude(pk=gauge_16.pk).update(status="away")
    remarks = " ".join(rows_of_test(floor.unit, floor.machine)["remarks"])
    assert "with G-16: a reading near the limit stays undecided, use a class" in remarks

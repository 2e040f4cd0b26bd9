"""Gauges and people against the fleet: the one that was planted is found, no other."""

from datetime import UTC, datetime, timedelta

import numpy as np
import pytest

from fleet.assess import assess_all
from fleet.models import Calibration, DriveTest, DriveUnit, Instrument, Reading
from shop.instruments.bias_rows import against_the_fleet, allowed_error
from tests.conftest import person

NEUTRAL_BAR = 22.6


@pytest.fixture
def fleet_of_readings(floor, technician, manager):
    """Twelve drives, each read eight times by two people with three gauges, the third of which reads `high` bar high."""

    def made(high=0.0, hand=0.0, seed=3):
        throw = np.random.default_rng(seed)
        figures = {"kind": "pressure", "span_high": 60, "unit": "bar", "accuracy_class_pct": 1.0, "resolution": 0.2}
        gauges = [Instrument.objects.create(tag=f"B-{place}", **figures) for place in range(3)]
        Calibration.objects.bulk_create(Calibration(instrument=gauge, done_on="2025-01-10", due_on="2027-01-10") for gauge in gauges)
        people = [technician, person("second", "technician")]
        for drive in range(12):
            unit = DriveUnit.objects.create(tag=f"D-1{drive:04d}", serial=f"S{drive}", drive_model=floor.drive_model)
            own = throw.normal(0, 0.3)
            for go in range(8):
                who, gauge = int(throw.integers(2)), int(throw.integers(3))
                value = NEUTRAL_BAR + own + throw.normal(0, 0.12) + (high if gauge == 2 else 0) + (hand if who == 1 else 0)
                test = DriveTest.objects.create(
                    number=f"T-{drive}-{go}", unit=unit, machine=floor.machine, tested_at=datetime(2026, 1, 5, 10, tzinfo=UTC) + timedelta(days=go),
                    tested_by=people[who], life_h=1000, component_h=1000, oil_temp_c=60, engine_speed_rpm=2300,
                )  # fmt: skip
                Reading.objects.create(
                    drive_test=test,
                    quantity="charge_neutral",
                    typed="x",
                    typed_unit="bar",
                    value=value,
                    unit="bar",
                    instrument=gauges[gauge],
                )
        assess_all(Reading.objects.all())
        return against_the_fleet()

    return made


def test_a_gauge_a_bar_and_a_half_high_is_found_with_its_uncertainty_and_no_other(fleet_of_readings, as_technician):
    found = fleet_of_readings(high=1.5)
    assert [held.label for held in found.found] == ["B-2"]
    assert abs(found.found[0].bias.bias - 1.5) < 2 * found.found[0].expanded
    assert not found.found_people
    page = as_technician.get("/instruments/against-the-fleet/").content.decode()
    assert "B-2" in page and "reads high" in page
    gauge = Instrument.objects.get(tag="B-2")
    assert "Against the fleet" in as_technician.get(f"/instruments/{gauge.pk}/").content.decode()


def test_without_a_bias_nothing_is_named(fleet_of_readings):
    found = fleet_of_readings()
    assert found.found == [] and found.found_people == []


def test_a_person_who_reads_high_is_told_from_the_gauge(fleet_of_readings):
    found = fleet_of_readings(hand=0.8)
    assert found.found == []
    assert {held.words for held in found.found_people} <= {"reads high", "reads low"} and found.found_people
    second = next(held for held in found.people if held.label == "Second")
    first = next(held for held in found.people if held.label != "Second")
    assert abs((second.bias.bias - first.bias.bias) - 0.8) < 2 * second.expanded


def test_what_a_class_allows_is_in_the_house_unit(db):
    psi = Instrument(tag="P", kind="pressure", span_high=1000, unit="psi", accuracy_class_pct=1.0)
    assert allowed_error(psi, 20, "pressure") == pytest.approx(0.6895, abs=0.001)
    flow = Instrument(tag="F", kind="flow", span_high=60, unit="L/min", accuracy_class_pct=1.5, accuracy_basis="reading")
    assert allowed_error(flow, 20, "flow") == pytest.approx(0.3)
    assert allowed_error(Instrument(kind="time", span_high=60, unit="s", accuracy_class_pct=0.1), 20, "flow") is None


def test_an_empty_shop_has_a_page_too(floor, as_technician):
    page = as_technician.get("/instruments/against-the-fleet/").content.decode()
    assert "Too few judged readings" in page

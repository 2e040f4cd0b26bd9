from datetime import UTC, date, datetime
from decimal import Decimal

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from fleet.history import HistoryRow, history_of, in_order
from fleet.models import DriveTest, FluidFill, Installation, Machine, Reading, UnitEvent


def at(year, month, day):
    return datetime(year, month, day, 9, tzinfo=UTC)


@pytest.fixture
def moved(floor, technician):
    """The drive moved to a loader on one day; tested before and after."""
    loader = Machine.objects.create(
        number="M-00002", kind="loader", maker="Hollowick", model="L90", serial="HL90-7", customer=floor.customer,
        engine_rated_speed_rpm=2200,
    )  # fmt: skip
    first = floor.installation
    first.to_date, first.to_life_h, first.removal_reason = date(2025, 3, 1), Decimal("654.5"), "exchange"
    first.save()
    Installation.objects.create(unit=floor.unit, machine=loader, from_date=date(2025, 3, 1), from_life_h=Decimal("302.0"))
    put_test(floor, technician, floor.machine, at(2024, 6, 1), "400.0", "400.0")
    put_test(floor, technician, loader, at(2025, 6, 1), "402.0", "754.5")
    UnitEvent.objects.create(unit=floor.unit, kind="rebuilt", happened_on=date(2025, 3, 1), component_h=Decimal("654.5"), note="new block")
    return loader


def put_test(floor, by, machine, when, life_h, component_h):
    test = DriveTest.objects.create(
        number=f"T-{when:%Y%m%d}", unit=floor.unit, machine=machine, tested_at=when, tested_by=by, life_h=life_h, component_h=component_h
    )
    Reading.objects.create(drive_test=test, quantity="charge_neutral", typed="22", typed_unit="bar", value=22, unit="bar")
    return test


def test_a_life_reads_in_the_order_it_happened(floor, moved):
    kinds = [row.kind for row in history_of(floor.unit)]
    assert kinds == ["fitted", "filled", "tested", "taken out", "fitted", "rebuilt", "tested"]


def test_component_hours_run_on_through_a_move(floor, moved):
    rows = history_of(floor.unit)
    assert [row.component_h for row in rows if row.kind in ("fitted", "taken out")] == [Decimal("0.0"), Decimal("654.5"), Decimal("654.5")]
    hours = [row.component_h for row in rows]
    assert hours == sorted(hours)


def test_the_oil_of_a_machine_belongs_to_the_drive_only_while_it_was_fitted(floor, moved):
    FluidFill.objects.create(machine=floor.machine, kind="top_up", product=floor.oil, filled_at=at(2025, 9, 1), life_h=900, fill_l=3)
    FluidFill.objects.create(machine=moved, kind="top_up", product=floor.oil, filled_at=at(2025, 9, 1), life_h=500, fill_l=4)
    filled = [row for row in history_of(floor.unit) if row.kind == "filled"]
    assert [row.words for row in filled] == ["First fill: 45 L Fenoil Hydrol 46", "Top-up: 4 L Fenoil Hydrol 46"]
    assert filled[-1].component_h == Decimal("852.5")


def test_a_test_says_how_many_readings_it_has(floor, moved):
    words = [row.words for row in history_of(floor.unit) if row.kind == "tested"]
    assert words[0] == "Tested: 1 reading, none outside"


def test_rows_of_other_rooms_find_their_place(floor, moved):
    done = HistoryRow(at(2024, 9, 1), Decimal("450.0"), Decimal("450.0"), "filter", "Filter changed", ("task_done", 1), 0)
    kinds = [row.kind for row in in_order([done, *history_of(floor.unit)])]
    assert kinds[2:5] == ["tested", "filter", "taken out"]


def test_a_long_life_asks_as_little_of_the_database_as_a_short_one(floor, moved, technician):
    with CaptureQueriesContext(connection) as short:
        history_of(floor.unit)
    for day in range(1, 29):
        put_test(floor, technician, moved, at(2025, 8, day), f"{410 + day}.0", f"{800 + day}.0")
        FluidFill.objects.create(machine=moved, kind="top_up", product=floor.oil, filled_at=at(2025, 9, day), life_h=500 + day, fill_l=1)
    with CaptureQueriesContext(connection) as long:
        history_of(floor.unit)
    assert len(long) == len(short) <= 8

"""Fluids: viscosities with their working, and the ledger of one machine."""

from datetime import UTC, datetime

import pytest

from fleet.models import FluidFill, FluidProduct
from shop.fluids.rows import ledger_page, viscosities_of
from tests.shop.asking import questions_of


def test_the_list_asks_the_same_of_the_database_for_five_fluids_as_for_fifty(as_manager, floor):
    def fill(numbers):
        for number in numbers:
            FluidProduct.objects.create(maker="Fenoil", name=f"Oil {number}", kind="hydraulic", nu40_mm2s=46, nu100_mm2s=6.8)

    fill(range(4))
    few = questions_of(as_manager, "/fluids/")
    fill(range(4, 50))
    assert questions_of(as_manager, "/fluids/") == few


def test_an_oil_is_thinner_at_each_higher_temperature_and_passes_through_its_own_figure():
    rows = viscosities_of(46.0, 6.8)
    assert [row.oil_temp_c for row in rows] == [50, 60, 70, 80]
    figures = [46.0, *(row.viscosity_mm2s for row in rows), 6.8]
    assert figures == sorted(figures, reverse=True)
    assert all(row.steps and row.word for row in rows)


def test_an_oil_of_unknown_viscosity_says_what_is_missing(as_technician, floor):
    oil = FluidProduct.objects.create(maker="Fenoil", name="Unknown", kind="hydraulic")
    page = as_technician.get(f"/fluids/{oil.pk}/").content.decode()
    assert "nothing can be expected of a drive with this oil" in page


def test_an_oil_that_thickens_when_hot_is_refused(as_manager, floor):
    given = {
        "maker": "F",
        "name": "X",
        "kind": "hydraulic",
        "nu40_mm2s": "20",
        "nu40_mm2s_unit": "mm2/s",
        "nu100_mm2s": "30",
        "nu100_mm2s_unit": "mm2/s",
    }
    answer = as_manager.post("/fluids/add/", given)
    assert answer.status_code == 422 and "Oil thins when it warms" in answer.content.decode()
    assert as_manager.post("/fluids/add/", given | {"nu100_mm2s": "4,1"}).status_code == 302


def test_thirty_of_forty_five_litres_changed_leave_a_third_of_the_old_oil(floor):
    other = FluidProduct.objects.create(maker="Fenoil", name="Hydrol 68", kind="hydraulic", nu40_mm2s=68, nu100_mm2s=8.7)
    when = datetime(2025, 4, 1, 9, tzinfo=UTC)
    FluidFill.objects.create(machine=floor.machine, kind="change", product=other, filled_at=when, life_h=1000, fill_l=30, drained_l=30)
    page = ledger_page(floor.machine)
    litres = {product.name: round(amount, 3) for product, amount in page["oil"].litres}
    assert litres == {"Hydrol 46": 15.0, "Hydrol 68": 30.0}
    assert page["old_share"] == pytest.approx(1 / 3)
    assert page["since_change_h"] == pytest.approx(210.0)
    assert page["had_other"] is True


def test_the_ledger_shows_what_is_in(as_technician, floor):
    page = as_technician.get(f"/machines/{floor.machine.pk}/ledger/").content.decode()
    assert "Hydrol 46" in page and "45" in page and "Viscosity of what is in" in page


def test_who_may_keep_fluids(as_technician, as_office, floor):
    assert as_technician.get("/fluids/add/").status_code == 403
    assert as_office.get("/fluids/add/").status_code == 200

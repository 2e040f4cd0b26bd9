from datetime import UTC, datetime

import pytest

from calcs.blend import blend_viscosity
from fleet.fluid_in_use import fills_of, oil_after, oil_in, oil_of_test
from fleet.models import DriveTest, FluidFill, FluidProduct


def at(year, month, day):
    return datetime(year, month, day, 9, tzinfo=UTC)


@pytest.fixture
def thick(floor):
    return FluidProduct.objects.create(
        maker="Fenoil", name="Hydrol 68", kind="hydraulic", viscosity_grade="VG 68", nu40_mm2s=68, nu100_mm2s=8.7, density15_kgm3=880
    )


def fill(floor, kind, when, litres_in, product, out=0, **more):
    figures = {"filled_at": when, "fill_l": litres_in, "drained_l": out}
    return FluidFill.objects.create(machine=floor.machine, kind=kind, product=product, **figures, **more)


def test_a_first_fill_is_that_oil(floor):
    found = oil_in(floor.machine)
    assert found.oil.nu40_mm2s == pytest.approx(46)
    assert found.oil.nu100_mm2s == pytest.approx(6.8)
    assert not found.is_mixed


def test_a_change_leaves_what_was_not_drained(floor, thick):
    fill(floor, "change", at(2025, 1, 1), 30, thick, out=30)
    found = oil_in(floor.machine)
    assert [(str(product), litres) for product, litres in found.litres] == [("Fenoil Hydrol 46", 15.0), ("Fenoil Hydrol 68", 30.0)]
    assert found.oil.nu40_mm2s == pytest.approx(blend_viscosity([15, 30], [46, 68]))
    assert 46 < found.oil.nu40_mm2s < 68


def test_the_oil_is_that_of_the_moment(floor, thick):
    fill(floor, "change", at(2025, 1, 1), 45, thick, out=45)
    assert oil_in(floor.machine, at(2024, 1, 1)).oil.name == "Fenoil Hydrol 46"
    assert oil_in(floor.machine).oil.name == "Fenoil Hydrol 68"


def test_no_fill_means_oil_not_known(floor):
    assert oil_in(floor.machine, at(2020, 1, 1)).oil is None
    assert "no fill" in oil_in(floor.machine, at(2020, 1, 1)).reason


def test_a_fill_of_unknown_product_leaves_the_oil_unknown(floor):
    fill(floor, "top_up", at(2025, 1, 1), 3, None)
    assert oil_in(floor.machine).oil is None
    assert "not known" in oil_in(floor.machine).reason


def test_a_book_that_begins_with_a_top_up_does_not_know_the_oil(floor, thick):
    later = fill(floor, "top_up", at(2025, 1, 1), 3, thick)
    assert oil_after([later], 45).oil is None


def test_a_corrected_fill_does_not_count_twice(floor, thick):
    wrong = fill(floor, "top_up", at(2025, 1, 1), 20, thick)
    fill(floor, "top_up", at(2025, 1, 1), 2, floor.oil, supersedes=wrong, correction_reason="other drum")
    assert oil_in(floor.machine).oil.name == "Fenoil Hydrol 46"
    assert len(fills_of(floor.machine)) == 2


def test_topping_up_does_not_swell_the_system(floor):
    for month in range(1, 7):
        fill(floor, "top_up", at(2025, month, 1), 5, floor.oil)
    assert sum(litres for _, litres in oil_in(floor.machine).litres) == pytest.approx(45)


def test_draining_more_than_the_ledger_holds_empties_it(floor, thick):
    fill(floor, "change", at(2025, 1, 1), 46, thick, out=50)
    assert oil_in(floor.machine).oil.name == "Fenoil Hydrol 68"


def test_an_oil_named_at_the_test_counts_where_the_ledger_does_not_hold_it(floor, thick, technician):
    test = DriveTest(unit=floor.unit, machine=floor.machine, tested_at=at(2025, 6, 1), tested_by=technician, fluid=thick)
    assert oil_of_test(test, fills_of(floor.machine), 45).oil.name == "Fenoil Hydrol 68"
    test.fluid = floor.oil
    assert oil_of_test(test, fills_of(floor.machine), 45).oil.name == "Fenoil Hydrol 46"


def test_a_product_without_viscosity_gives_no_figures(floor):
    blank = FluidProduct.objects.create(maker="Fenoil", name="Old drum", kind="hydraulic")
    fill(floor, "change", at(2025, 1, 1), 45, blank, out=45)
    assert oil_in(floor.machine).oil is None
    assert "Old drum" in oil_in(floor.machine).reason

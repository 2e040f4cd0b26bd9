"""Each planted story can be found in the record with plain means, and the healthy drives tell none."""

import re
from datetime import timedelta
from pathlib import Path
from statistics import mean, median

import pytest
from django.conf import settings

from fleet.models import (
    Calibration,
    ConditionAssessment,
    DriveTest,
    DriveUnit,
    FluidFill,
    HourMeter,
    Installation,
    LabValue,
    Machine,
    OilSample,
    Reading,
)
from shop.demo.stories import BY_CODE, GAUGE_ERROR_BAR, STORIES, machine_of, unit_of
from shop.instruments.bias_rows import against_the_fleet
from shop.models import Procedure, SeasonBlock, TaskDone, WorkOrder
from tests.shop.demo.conftest import AS_OF

pytestmark = pytest.mark.django_db


def ratios(tag: str, quantity: str, direction: str = "") -> list[tuple[float, float]]:
    """Hours and ratio of the readings of a unit that could be judged, by hours."""
    found = ConditionAssessment.objects.in_force().filter(
        reading__drive_test__unit__tag=tag, reading__quantity=quantity, reading__direction=direction, ratio__isnull=False
    )
    hours = "reading__drive_test__component_h"
    return [(float(h), r) for h, r in found.order_by(hours).values_list(hours, "ratio")]


def test_the_paper_beside_the_fixtures_lists_every_story():
    text = (Path(settings.BASE_DIR) / "fixtures" / "README.md").read_text(encoding="utf-8")
    for story in STORIES[:-1]:
        row = next(line for line in text.splitlines() if line.startswith(f"| {story.title} |"))
        assert story.machine in row or story.unit in row or not story.machine


def test_the_worn_drive_leaks_more_from_test_to_test_and_passes_its_limit(demo_shop):
    found = ratios(unit_of("wearing_out"), "pump_case_flow")
    assert len(found) >= 7
    assert mean(r for _, r in found[-3:]) > 1.6 * mean(r for _, r in found[:2])
    states = ConditionAssessment.objects.in_force().filter(
        reading__drive_test__unit__tag=unit_of("wearing_out"), reading__quantity="pump_case_flow"
    )
    assert states.order_by("-reading__drive_test__tested_at").first().state == "outside high"
    assert states.order_by("reading__drive_test__tested_at").first().state == "inside"


def test_iron_rises_with_the_worn_drive(demo_shop):
    of_machine = LabValue.objects.filter(sample__machine__number=machine_of("wearing_out"), item="Fe", value__isnull=False)
    old_enough = of_machine.filter(sample__oil_h__gt=300).select_related("sample").order_by("sample__drawn_at")
    rate = [found.value / float(found.sample.oil_h) for found in old_enough]
    assert len(rate) >= 6
    assert mean(rate[-3:]) > 1.3 * mean(rate[:3])


def test_the_drive_on_its_way_has_not_reached_its_limit(demo_shop):
    found = ratios(unit_of("wearing_slowly"), "pump_case_flow")
    assert 1.15 < mean(r for _, r in found[-3:]) < 1.5
    assert mean(r for _, r in found[-3:]) > mean(r for _, r in found[:3]) + 0.1


def test_the_motor_leaks_twice_as_much_from_the_repair_on(demo_shop):
    unit = DriveUnit.objects.get(tag=unit_of("bad_repair"))
    repair = unit.events.get(kind="repaired")
    assert not repair.touches("motor_case_flow")
    before = [r for h, r in ratios(unit.tag, "motor_case_flow") if h < float(repair.component_h)]
    after = [r for h, r in ratios(unit.tag, "motor_case_flow") if h >= float(repair.component_h)]
    assert len(before) >= 2 and len(after) >= 3
    assert min(after) > 1.4 * max(before)
    assert WorkOrder.objects.filter(unit=unit, state="collected", correction__contains="cartridges").exists()


def test_the_moved_unit_takes_its_hours_along(demo_shop):
    unit = DriveUnit.objects.get(tag=unit_of("moved"))
    first, second = unit.installations.order_by("from_date")
    assert (first.machine.number, second.machine.number) == ("M-00025", "M-00013")
    assert first.to_date == second.from_date
    run_before = first.to_life_h - first.from_life_h
    for test in unit.tests.filter(machine=second.machine):
        assert test.component_h == run_before + test.life_h - second.from_life_h
    spare = Installation.objects.get(unit__tag="D-00045")
    assert spare.machine == first.machine
    assert spare.from_date - first.to_date == timedelta(days=12)
    assert DriveUnit.objects.get(tag="D-00013").failures.filter(has_debris=True).exists()


def test_life_hours_run_on_over_the_new_meter(demo_shop):
    old, new = HourMeter.objects.filter(machine__number=machine_of("meter")).order_by("fitted_on")
    assert new.start_meter_h == 0
    assert new.start_life_h == old.start_life_h + old.end_meter_h - old.start_meter_h
    first = new.readings.order_by("read_at").first()
    assert first.meter_h < old.end_meter_h <= first.life_h
    assert new.readings.latest().life_h > old.end_meter_h


def test_the_mixed_oil_shows_in_the_ledger_and_in_the_samples(demo_shop):
    machine = Machine.objects.get(number=machine_of("mixed_oil"))
    names = set(FluidFill.objects.filter(machine=machine).values_list("product__name", flat=True))
    assert names == {"Hydrol 46", "Allfield 10W-30"}
    wrong = FluidFill.objects.filter(machine=machine, product__name="Allfield 10W-30").order_by("filled_at").first()
    calcium = LabValue.objects.filter(sample__machine=machine, item="Ca").order_by("sample__drawn_at")
    before = [v.value for v in calcium.filter(sample__drawn_at__lt=wrong.filled_at)]
    after = [v.value for v in calcium.filter(sample__drawn_at__gt=wrong.filled_at)]
    assert max(before) < 100 < 1000 < min(after)
    assert DriveTest.objects.filter(machine=machine, tested_at__gt=wrong.filled_at, fluid__name="Hydrol 46").exists()


def test_one_gauge_reads_a_bar_and_a_half_high_on_all_drives(demo_shop):
    off: dict[str, list[float]] = {}
    rows = ConditionAssessment.objects.in_force().filter(
        reading__quantity__in=["charge_neutral", "charge_stroked"], reading__instrument__tag__startswith="G-0", expected__isnull=False
    )
    for tag, value, expected in rows.values_list("reading__instrument__tag", "reading__value", "expected"):
        off.setdefault(tag, []).append(value - expected)
    others = median(x for tag, values in off.items() if tag != "G-07" for x in values)
    assert len(off["G-07"]) > 20
    assert median(off["G-07"]) - others == pytest.approx(1.5, abs=0.3)
    for tag in off.keys() - {"G-07"}:
        assert median(off[tag]) - others == pytest.approx(0, abs=0.3)
    units = Reading.objects.filter(instrument__tag="G-07").values("drive_test__unit").distinct().count()
    assert units > 10
    assert not Calibration.objects.filter(instrument__tag="G-07", result="failed").exists()


def test_the_series_drain_reads_charge_flow_whatever_the_wear(demo_shop):
    tests = DriveTest.objects.filter(unit__tag=unit_of("series_drain")).order_by("tested_at")
    assert tests.filter(drains="series").count() >= 4
    assert not tests.filter(drains="series", pk__gte=tests.last().pk).exists()
    pump = Reading.objects.filter(drive_test__in=tests, quantity="pump_case_flow").order_by("drive_test__tested_at")
    honest = [r.value for r in pump if r.drive_test.drains == "separate"]
    series = [r.value for r in pump if r.drive_test.drains == "series"]
    assert not honest or min(series) > 2 * max(honest)
    assert min(series) > 15
    for test in tests.exclude(drains="series").order_by("-tested_at")[:2]:
        drains = test.readings.filter(quantity__in=["pump_case_flow", "motor_case_flow"])
        assert [row.assessments.in_force().get().state for row in drains] == ["impossible", "impossible"]
    assert mean(r for _, r in ratios(unit_of("series_drain"), "motor_case_flow")) < 1.2


def test_the_filter_is_overdue_and_the_season_close(demo_shop):
    machine = Machine.objects.get(number=machine_of("overdue_filter"))
    done = TaskDone.objects.filter(machine=machine, task__code="CHARGE-FILTER")
    last = done.filter(was_done=True).latest("done_on")
    skipped = done.filter(was_done=False, done_on__gt=last.done_on)
    assert skipped.exists()
    assert (AS_OF - last.done_on).days > 365
    assert all(row.why_not for row in skipped)
    block = SeasonBlock.objects.get(customer=machine.customer, machine_kind=machine.kind)
    assert (block.from_date - AS_OF).days == 12
    of_filter = Reading.objects.filter(drive_test__machine=machine, quantity="filter_differential")
    late = of_filter.filter(drive_test__tested_at__date__gt=AS_OF - timedelta(days=325))
    assert late.exists()
    assert all(r.value > 2 for r in late)
    assert WorkOrder.objects.filter(machine=machine, state="taken_in").exists()


def test_the_worn_charge_pump_fails_at_low_idle_while_the_drains_stay(demo_shop):
    at_idle = Reading.objects.filter(drive_test__unit__tag=unit_of("charge_pump"), quantity="charge_neutral_idle")
    values = [r.value for r in at_idle.order_by("drive_test__tested_at")]
    assert min(values[-3:]) < 0.5 * max(values[:3])
    assert all(0.85 < r < 1.2 for _, r in ratios(unit_of("charge_pump"), "pump_case_flow"))


def test_nothing_is_expected_of_the_unknown_unit_before_its_oil_is_known(demo_shop):
    unit = DriveUnit.objects.get(tag=unit_of("unknown_history"))
    assert unit.birth == "used" and unit.born_on is None
    fills = FluidFill.objects.filter(machine__number=machine_of("unknown_history")).order_by("filled_at")
    assert fills.first().product is None
    change = fills.filter(kind="change").first()
    before = ConditionAssessment.objects.in_force().filter(
        reading__drive_test__unit=unit, reading__quantity="pump_case_flow", reading__drive_test__tested_at__lt=change.filled_at
    )
    assert before.exists()
    assert set(before.values_list("state", flat=True)) == {"not comparable"}
    assert median(r for _, r in ratios(unit.tag, "pump_case_flow")) > 1.6


def test_the_healthy_drive_has_no_reading_outside_but_with_the_bad_gauge(demo_shop):
    found = ConditionAssessment.objects.in_force().filter(reading__drive_test__unit__tag=unit_of("healthy"))
    assert found.count() > 60
    assert not found.filter(state__startswith="outside").exclude(reading__instrument__tag="G-07").exists()


def test_no_other_drive_is_outside_with_a_good_gauge(demo_shop):
    planted = {story.unit for story in STORIES if story.code != "healthy"}
    outside = ConditionAssessment.objects.in_force().filter(state__startswith="outside").exclude(reading__instrument__tag="G-07")
    others = outside.exclude(reading__drive_test__unit__tag__in=planted).values_list("reading__drive_test__unit__tag", flat=True)
    assert set(others) == set()


def test_serials_in_the_sheets_to_import_are_those_of_the_demo(demo_shop):
    folder = Path(settings.BASE_DIR) / "fixtures" / "import"
    known = set(DriveUnit.objects.values_list("serial", flat=True))
    spring = (folder / "readings_2024_spring.csv").read_bytes()
    assert spring.startswith(b"\xef\xbb\xbf")
    rows = [line.split(";") for line in spring.decode("utf-8-sig").splitlines() if re.match(r"[A-Z0-9]+[-0-9]*;M-", line)]
    assert len(rows) >= 14
    assert {row[0] for row in rows} <= known
    laptop = (folder / "readings_field_laptop.csv").read_text(encoding="utf-8").splitlines()[1:]
    assert {line.split(",")[0] for line in laptop} <= known
    assert any(line.startswith("0") for line in laptop)


def test_every_story_names_things_that_exist(demo_shop):
    for story in BY_CODE.values():
        assert not story.machine or Machine.objects.filter(number=story.machine).exists()
        assert not story.unit or DriveUnit.objects.filter(tag=story.unit).exists()


def test_labels_in_the_laboratory_sheet_are_those_of_samples_still_waiting(demo_shop):
    sheet = (Path(settings.BASE_DIR) / "fixtures" / "import" / "lab_report.csv").read_text(encoding="cp1252")
    labels = {f"LK-{digits}" for digits in re.findall(r"LK[- ]?(\d{5})", sheet)} - {"LK-99999"}
    waiting = set(OilSample.objects.filter(values=None, machine__isnull=False).values_list("label", flat=True))
    assert len(labels) >= 4
    assert labels <= waiting


def test_the_gauge_that_reads_high_is_found_against_the_fleet_and_no_other_and_nobody(demo_shop):
    found = against_the_fleet()
    assert {held.label for held in found.found} == {"G-07"}
    assert found.found_people == []
    for held in found.found:
        assert abs(held.bias.bias - GAUGE_ERROR_BAR) < held.expanded


def test_the_procedures_stand_in_the_demo(demo_shop):
    assert Procedure.objects.count() == 20

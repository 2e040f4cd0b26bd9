"""Stored rules, work done, fluids, deferrals and findings make tasks due as the worked cases say; and only what changed is worked out anew."""

import time
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, date, datetime, timedelta

import pandas as pd
import pytest

from fleet.models import DriveUnit, FluidFill, FluidProduct, HourMeter, Installation, Machine
from shop.due import fleet_due as room
from shop.due import since
from shop.due.fleet_due import fleet_due
from shop.models import Deferral, Extension, Finding, SeasonBlock, SeverityFactor, TaskDone
from tests.shop.asking import another_machine, another_unit
from tests.shop.due.bench_of_rules import done, only_row, read, rows_of, rule_for, task

TODAY = date(2026, 3, 3)


@pytest.mark.parametrize(
    ("reset", "done_h", "due_h"),
    [("completion", 2420, 2920), ("grid", 2420, 3000), ("window", 2420, 2920), ("completion", 2610, 3110), ("grid", 2610, 3000)],
)
def test_the_next_due_moves_by_the_policy_of_the_rule(floor, reset, done_h, due_h):
    rule = rule_for(floor, every_h=500, reset=reset)
    read(floor, done_h)
    done(floor, rule.task, done_h, due_h=2500)
    assert only_row(floor.machine).due_h == due_h


@pytest.mark.parametrize(("counted", "dues"), [("after_last", [20, 100, 350, 600]), ("meter", [20, 100, 250, 500])])
def test_first_steps_read_both_ways(floor, counted, dues):
    """Smithco Operator's Manual 48000, p. 10: after 20, 100, then every 250 h."""
    rule = rule_for(floor, every_h=250, first_steps_h=[20, 100], counted=counted)
    found = []
    for step, at in enumerate(dues):
        found.append(only_row(floor.machine).due_h)
        done(floor, rule.task, at, on=date(2025, 1, 1) + timedelta(days=step))
    assert found == dues


def test_severity_factors_multiply_and_the_product_is_printed(floor):
    for code, factor in (("dust", 0.75), ("couplers", 0.8)):
        SeverityFactor.objects.create(code=code, name=code, factor=factor)
    Machine.objects.filter(pk=floor.machine.pk).update(severity=["dust", "couplers"])
    rule = rule_for(floor, every_h=500)
    done(floor, rule.task, 1000)
    row = only_row(floor.machine)
    assert row.due_h == 1300
    assert "500 h x 0.8 (couplers) x 0.75 (dust) = 300 h" in row.reason


def test_another_fluid_in_the_tank_once_shortens_for_ever_and_a_top_up_never_resets_the_age(floor):
    other = FluidProduct.objects.create(maker="Fenoil", name="Hydrol 68", kind="hydraulic", viscosity_grade="VG 68")
    rule = rule_for(floor, task(kind="fluid"), every_h=1000, every_h_other_fluid=800, own_fluid=floor.oil, anchor="fill")
    assert only_row(floor.machine).due_h == 1000
    top_up = {"machine": floor.machine, "kind": "top_up", "filled_at": datetime(2026, 1, 5, tzinfo=UTC), "life_h": 900, "fill_l": 4}
    FluidFill.objects.create(product=floor.oil, **top_up)
    assert only_row(floor.machine).due_h == 1000
    FluidFill.objects.create(product=other, **top_up)
    row = only_row(floor.machine)
    assert row.due_h == 800
    assert "another fluid" in row.reason
    FluidFill.objects.create(
        machine=floor.machine, kind="change", product=floor.oil, filled_at=datetime(2026, 2, 5, tzinfo=UTC), life_h=1100, fill_l=45
    )
    assert only_row(floor.machine).due_h == 1900
    assert rule.every_h == 1000


def test_a_partly_done_bundle_resets_only_the_lines_done(floor):
    fluid, filter_ = task("FLUID", name="Fluid", kind="fluid", group="drain"), task(group="drain")
    rule_for(floor, fluid, every_h=1000)
    rule_for(floor, filter_, every_h=1000)
    done(floor, fluid, 1200)
    done(floor, filter_, 1200, was_done=False, why_not="part not here")
    assert only_row(floor.machine, the_task=fluid).due_h == 2200
    assert only_row(floor.machine, the_task=filter_).due_h == 1000


def test_hours_or_months_whichever_comes_first_and_the_loser_is_named(floor):
    rule = rule_for(floor, every_h=5000, every_months=12)
    done(floor, rule.task, 1200, on=date(2025, 4, 30))
    row = only_row(floor.machine)
    assert row.due_day == date(2026, 4, 30)
    assert "comes first" in row.reason


@pytest.mark.parametrize(
    ("months", "was_done", "due"),
    [
        (12, date(2024, 2, 29), date(2025, 2, 28)),
        (1, date(2026, 1, 31), date(2026, 2, 28)),
        (48, date(2024, 2, 29), date(2028, 2, 29)),
        (6, date(2025, 8, 31), date(2026, 2, 28)),
    ],
)
def test_leap_days_and_month_ends(floor, months, was_done, due):
    rule = rule_for(floor, every_months=months)
    done(floor, rule.task, on=was_done)
    assert only_row(floor.machine).due_day == due


def test_the_narrowest_rule_wins_and_says_over_what(floor):
    the_task = task()
    rule_for(floor, the_task, every_h=500)
    assert only_row(floor.machine).scope_words == "rule of the model"
    machine_rule = rule_for(floor, the_task, machine=floor.machine, every_h=400)
    assert (only_row(floor.machine).due_h, only_row(floor.machine).scope_words) == (400, "rule of this machine, over that of the model")
    unit_rule = rule_for(floor, the_task, unit=floor.unit, every_h=300)
    assert (only_row(floor.machine).due_h, only_row(floor.machine).scope_words) == (300, "rule of this unit, over that of the machine")
    unit_rule.is_retired = machine_rule.is_retired = True
    unit_rule.save()
    machine_rule.save()
    assert only_row(floor.machine).due_h == 500


def test_of_two_drives_each_counts_its_own_fitting_and_half_a_job_does_not_reset_the_other_half(floor):
    Installation.objects.filter(pk=floor.installation.pk).update(position="left")
    right = DriveUnit.objects.create(tag="D-00002", serial="H75-0190", drive_model=floor.drive_model)
    Installation.objects.create(unit=right, machine=floor.machine, position="right", from_date=date(2025, 6, 1), from_life_h=1000)
    each = task("BREAK-IN", name="Break-in test", kind="test")
    shared = task()
    rule_for(floor, each, first_steps_h=[50], every_h=500, counted="after_last", anchor="installation")
    rule_for(floor, shared, every_h=500)
    by_unit = {row.unit.tag: row.due_h for row in rows_of(floor.machine, the_task=each)}
    assert by_unit == {"D-00001": 50, "D-00002": 1050}
    done(floor, shared, 1200, unit=floor.unit)
    assert only_row(floor.machine, the_task=shared).due_h == 500
    done(floor, shared, 1150, unit=right)
    assert only_row(floor.machine, the_task=shared).due_h == 1650
    done(floor, shared, 1205)
    assert only_row(floor.machine, the_task=shared).due_h == 1705


def test_a_unit_carries_what_was_done_on_it_into_another_machine(floor):
    rule = rule_for(floor, every_h=500, anchor="installation")
    done(floor, rule.task, 400, unit=floor.unit, on=date(2025, 1, 1))
    Installation.objects.filter(pk=floor.installation.pk).update(to_date=date(2025, 6, 1), to_life_h=600, removal_reason="sold on")
    other = another_machine(floor, 2)
    Installation.objects.create(unit=floor.unit, machine=other, from_date=date(2025, 7, 1), from_life_h=200)
    assert rows_of(floor.machine) == []
    row = only_row(other)  # 600 unit hours at fitting, done at 400: 200 h ago, so 300 h are left of 500
    assert row.due_h == 500
    assert "last done at 0 h" in row.reason


def test_life_hours_run_on_when_the_meter_is_replaced(floor):
    HourMeter.objects.filter(pk=floor.meter.pk).update(ended_on=date(2026, 2, 1), end_meter_h=3120.4, end_reason="display dead")
    new = HourMeter.objects.create(machine=floor.machine, fitted_on=date(2026, 2, 1), start_meter_h=0, start_life_h=3120.4)
    read(floor, 3533.1, on=datetime(2026, 3, 2, 9, tzinfo=UTC), meter=new, meter_h=412.7)
    rule = rule_for(floor, every_h=500)
    done(floor, rule.task, 3200, on=date(2026, 2, 10))
    row = only_row(floor.machine)
    assert row.due_h == 3700
    assert row.now_h >= 3533.1


def test_a_machine_without_hours_says_so_and_sold_ones_are_out(floor):
    bare = Machine.objects.create(
        number="M-00009", kind="mower", maker="Hollowick", model="M2", serial="X1", customer=floor.customer, engine_rated_speed_rpm=2300
    )
    rule_for(floor, every_h=500, machine=bare)
    row = only_row(bare)
    assert (row.state, row.reading_age_days) == ("not due", None)
    assert "no hours reading" in row.reason
    Machine.objects.filter(pk=bare.pk).update(status="sold")
    assert rows_of(bare) == []


@pytest.mark.parametrize(("day", "state"), [(date(2026, 3, 20), "deferred"), (date(2026, 3, 21), "over late limit")])
def test_a_deferral_runs_out_on_its_day_and_the_task_is_overdue_again(floor, technician, manager, day, state):
    rule = rule_for(floor, every_months=6)
    done(floor, rule.task, on=date(2025, 6, 1))
    Deferral.objects.create(
        task=rule.task,
        machine=floor.machine,
        reason="away",
        words="away",
        risk="r",
        asked_by=technician,
        approved_by=manager,
        approved_at=datetime(2026, 3, 1, tzinfo=UTC),
        until_h=99999,
        until_on=date(2026, 3, 20),
    )
    assert only_row(floor.machine, today=day).state == state


def test_a_deferral_runs_out_by_hours_as_well_and_ends_when_the_task_is_done(floor, technician, manager):
    rule = rule_for(floor, every_h=500)
    done(floor, rule.task, 500, on=date(2025, 6, 1))
    put_off = Deferral.objects.create(
        task=rule.task,
        machine=floor.machine,
        reason="away",
        words="away",
        risk="r",
        asked_by=technician,
        approved_by=manager,
        approved_at=datetime(2026, 2, 1, tzinfo=UTC),
        until_h=1250,
        until_on=date(2027, 1, 1),
    )
    assert only_row(floor.machine).state == "deferred"
    read(floor, 1251, on=datetime(2026, 3, 3, 9, tzinfo=UTC))
    assert only_row(floor.machine).state == "over late limit"
    done(floor, rule.task, 1251, on=date(2026, 3, 3))
    row = only_row(floor.machine)
    assert (row.state, row.deferred_day) == ("not due", None)
    assert put_off.ended_at is None


def test_an_indicator_on_cold_oil_calls_nothing_and_on_warm_oil_at_once(floor):
    rule = rule_for(floor, every_h=2000)
    done(floor, rule.task, 1100)
    seen = Finding.objects.create(machine=floor.machine, words="indicator up", calls_task=rule.task, sign="indicator", oil_was_warm=False)
    assert only_row(floor.machine, today=date.today()).state == "not due"
    Finding.objects.filter(pk=seen.pk).update(oil_was_warm=True)
    row = only_row(floor.machine, today=date.today())
    assert row.state in ("due", "overdue", "over late limit")
    assert "called at once by a finding" in row.reason
    Finding.objects.filter(pk=seen.pk).update(closed_at=datetime.now(UTC))
    assert only_row(floor.machine, today=date.today()).state == "not due"


@pytest.mark.parametrize(("day", "due_h"), [(date(2026, 6, 30), 1625), (date(2026, 7, 1), 1500)])
def test_an_extension_holds_to_its_last_day_and_is_said(floor, manager, day, due_h):
    rule = rule_for(floor, every_h=500, may_extend=True)
    done(floor, rule.task, 1000, on=date(2026, 1, 1))
    Extension.objects.create(
        rule=rule,
        machine=floor.machine,
        share=0.25,
        signed_by=manager,
        signed_on=date(2026, 2, 1),
        expires_on=date(2026, 6, 30),
        reason="clean",
    )
    row = only_row(floor.machine, today=day)
    assert row.due_h == due_h
    assert ("extended" in row.reason) == (due_h == 1625)


def test_a_task_of_the_season_is_due_at_its_start_and_work_of_the_winter_counts_for_it(floor):
    SeasonBlock.objects.create(name="First cut", from_date=date(2025, 5, 10), to_date=date(2025, 6, 8), machine_kind="windrower")
    rule = rule_for(floor, every_months=12, anchor="season_start", reset="grid")
    done(floor, rule.task, on=date(2025, 2, 1))
    assert only_row(floor.machine).due_day == date(2026, 5, 10)
    done(floor, rule.task, on=date(2025, 11, 20))
    assert only_row(floor.machine).due_day == date(2027, 5, 10)
    assert only_row(floor.machine).task == rule.task


def test_without_a_season_block_the_day_is_not_known_and_the_row_says_why(floor):
    rule_for(floor, every_months=12, anchor="season_start", reset="grid")
    row = only_row(floor.machine)
    assert row.due_day is None
    assert "no season block holds" in row.reason


def test_a_task_due_in_the_middle_of_a_block_goes_before_it_with_the_reason_in_words(floor):
    SeasonBlock.objects.create(name="First cut", from_date=date(2025, 5, 10), to_date=date(2025, 6, 8), machine_kind="windrower")
    rule = rule_for(floor, every_months=12)
    done(floor, rule.task, on=date(2025, 5, 20))
    row = only_row(floor.machine)
    assert row.slot_day == date(2026, 5, 9)
    assert "season block 10 May-8 Jun: do it by 9 May" in row.reason


def fresh(today=TODAY) -> pd.DataFrame:
    """Everything worked out from nothing, for comparison."""
    since._kept.clear()
    return sorted_rows(fleet_due(today).rows)


def sorted_rows(rows: pd.DataFrame) -> pd.DataFrame:
    rows = rows.sort_values(["machine_id", "unit_id", "task_id"]).reset_index(drop=True)
    return rows[sorted(rows.columns)]


def test_after_each_kind_of_write_what_is_patched_equals_what_is_worked_out_from_nothing(floor, technician, manager, monkeypatch):
    fluid, filter_ = task("FLUID", name="Fluid", kind="fluid"), task()
    rule_for(floor, fluid, every_h=1000, every_h_other_fluid=800, own_fluid=floor.oil)
    rule = rule_for(floor, filter_, every_h=500, every_months=12, anchor="installation", may_extend=True)
    for number in range(2, 7):
        another_unit(floor, number, another_machine(floor, number))
    second = Machine.objects.get(number="M-00002")
    fleet_due(TODAY)
    whole = room._whole
    counted = []
    monkeypatch.setattr(room, "_whole", lambda today: counted.append(1) or whole(today))
    writes = [
        lambda: done(floor, filter_, 700, unit=floor.unit),
        lambda: TaskDone.objects.filter(task=filter_).update(life_h=650),
        lambda: rule_for(floor, filter_, machine=second, every_h=250),
        lambda: FluidFill.objects.create(
            machine=second, kind="change", product=None, filled_at=datetime(2026, 1, 1, tzinfo=UTC), life_h=300, fill_l=40
        ),
        lambda: Deferral.objects.create(
            task=fluid,
            machine=second,
            reason="away",
            words="w",
            risk="r",
            asked_by=technician,
            approved_by=manager,
            approved_at=datetime(2026, 2, 1, tzinfo=UTC),
            until_h=9999,
            until_on=date(2026, 8, 1),
        ),
        lambda: Extension.objects.create(
            rule=rule,
            machine=floor.machine,
            share=0.2,
            signed_by=manager,
            signed_on=date(2026, 2, 3),
            expires_on=date(2026, 9, 1),
            reason="r",
        ),
        lambda: Machine.objects.filter(pk=second.pk).update(severity=["dust"]),
        lambda: Installation.objects.filter(unit=floor.unit).update(to_date=date(2026, 2, 1), to_life_h=1200, removal_reason="moved"),
        lambda: Installation.objects.create(unit=floor.unit, machine=second, position="right", from_date=date(2026, 2, 2), from_life_h=480),
    ]
    for write in writes:
        write()
        patched = sorted_rows(fleet_due(TODAY).rows)
        assert counted == []
        kept = dict(since._kept)
        pd.testing.assert_frame_equal(patched, fresh(), check_dtype=False)
        since._kept.update(kept)
        counted.clear()


def test_what_is_only_printed_with_a_rule_leaves_the_sums_alone_and_a_changed_window_does_not(floor, monkeypatch):
    rule = rule_for(floor, every_h=500)
    other = rule_for(floor, task("FLUID", name="Fluid", kind="fluid"), every_h=1000)
    fleet_due(TODAY)
    worked = []
    patched = room._patched
    monkeypatch.setattr(room, "_patched", lambda before, touched, today: worked.append(touched) or patched(before, touched, today))
    rule.page = "31"
    rule.save_over(rule.version)
    fleet_due(TODAY)
    assert worked == []
    rule.late_share = 0.2
    rule.save_over(rule.version)
    patched_rows = sorted_rows(fleet_due(TODAY).rows)
    assert [touched.tasks for touched in worked] == [{rule.task_id}]
    assert other.task_id in set(patched_rows.task_id)
    pd.testing.assert_frame_equal(patched_rows, fresh(), check_dtype=False)


def test_many_who_look_at_once_wait_for_one_sum(floor, monkeypatch):
    rule_for(floor, every_h=500)
    since._kept.clear()
    asked = []

    def slow(today):
        asked.append(1)
        time.sleep(0.1)
        return "the fleet"

    monkeypatch.setattr(room, "_whole", slow)
    monkeypatch.setattr(since, "stamp_of", lambda models, day=None: since.Stamp(7, "h", day))
    with ThreadPoolExecutor(8) as crowd:
        answers = list(crowd.map(lambda _: fleet_due(TODAY), range(8)))
    since._kept.clear()
    assert (answers, len(asked)) == (["the fleet"] * 8, 1)


def test_a_long_list_of_keys_is_sifted_as_the_usual_way_does(floor):
    machines = [another_machine(floor, number).pk for number in range(2, 6)]
    wanted = {machines[0], machines[3]}
    assert set(Machine.objects.filter(pk__among=wanted)) == set(Machine.objects.filter(pk__in=wanted))
    assert list(Machine.objects.filter(pk__among=set())) == []
    assert Installation.objects.filter(machine__among={floor.machine.pk}).count() == 1

"""The weeks are planned from what is due, under hands, doors, parts and seasons; a run is looked at, then taken or left."""

from datetime import date, timedelta

import pytest
from django.utils import timezone

from fleet.models import Machine
from shop.due.fleet_due import fleet_due
from shop.models import Bay, Booking, KitItem, Part, PlanRun, SeasonBlock, Skill, StockMove, Technician, TimeAway
from shop.plan import planning
from shop.plan.board import first_monday, weeks_of_board
from shop.plan.weeks import shop_weeks
from shop.plan.work import work_to_plan
from tests.shop.asking import another_machine, questions_of, token_in, version_in
from tests.shop.due.bench_of_rules import done, rule_for, task

TODAY = timezone.localdate()
FIRST = first_monday(TODAY)


@pytest.fixture
def inside(settings):
    settings.SHOP_PLAN_APART = False


@pytest.fixture
def hands(db):
    skill = Skill.objects.create(code="gauges", name="Gauges")
    one = Technician.objects.create(name="Tilde R.", hours_per_week=38)
    one.skills.add(skill)
    two = Technician.objects.create(name="Emre D.", hours_per_week=20)
    return {"skill": skill, "one": one, "two": two}


def due_in(floor, days: int, the_task=None, machine=None, **rule):
    the_task = the_task or task()
    rule_for(floor, the_task, every_months=12, machine=machine or floor.machine, **rule)
    done(floor, the_task, on=TODAY + timedelta(days=days - 365), machine=machine or floor.machine)
    return the_task


def run_of(client, django_capture_on_commit_callbacks) -> PlanRun:
    token = token_in(client.get("/plan/"))
    with django_capture_on_commit_callbacks(execute=True):
        answer = client.post("/plan/run/", {"token": token})
    assert answer.status_code == 302
    return PlanRun.objects.get(pk=int(answer.url.strip("/").split("/")[-1]))


def test_weeks_hold_the_hours_of_hands_less_leave_fixed_work_and_reserve(floor, hands):
    TimeAway.objects.create(technician=hands["one"], from_date=FIRST, to_date=FIRST + timedelta(days=1))
    fixed = Booking(machine=floor.machine, technician=hands["two"], week_start=FIRST, work_h=5)
    SeasonBlock.objects.create(name="S", from_date=FIRST + timedelta(days=7), to_date=FIRST + timedelta(days=10))
    shop = shop_weeks(FIRST, 3, [fixed])
    by_name = {technician.name: technician for technician in shop.technicians}
    assert by_name["Tilde R."].week_h == pytest.approx((38 * 3 / 5, 38, 38))
    assert by_name["Emre D."].week_h == (15, 20, 20)
    assert shop.reserve == (0.1, 0.4, 0.1)


def test_days_of_leave_and_bays_that_are_taken_are_known_by_day(floor, hands):
    TimeAway.objects.create(technician=hands["one"], from_date=FIRST, to_date=FIRST + timedelta(days=1))
    bay = Bay.objects.create(name="Bay 1", door_height_m=4.2)
    friday = FIRST + timedelta(days=4)
    shop = shop_weeks(FIRST, 2, [Booking(machine=floor.machine, bay=bay, week_start=FIRST, day=friday, work_h=12)])
    away = {technician.name: technician.away for technician in shop.technicians}
    assert away == {"Tilde R.": {FIRST, FIRST + timedelta(days=1)}, "Emre D.": set()}
    assert shop.bays[0].taken == {friday, FIRST + timedelta(days=7)}, "twelve hours are two working days"


def test_a_run_changes_nothing_until_it_is_taken_and_says_what_it_changes(
    inside, as_office, floor, hands, django_capture_on_commit_callbacks
):
    due_in(floor, 20)
    run = run_of(as_office, django_capture_on_commit_callbacks)
    page = as_office.get(f"/plan/run/{run.pk}/").content.decode()
    assert (run.result["state"], Booking.objects.count()) == ("done", 0)
    assert "M-00001: Charge filter: new in week of" in page
    assert run.gap is not None
    assert run.gap <= 0.03
    as_office.post(f"/plan/run/{run.pk}/take/", {"token": "t1"})
    booking = Booking.objects.get()
    assert booking.tasks == [{"task": "FILTER", "unit": ""}]
    assert booking.week_start.weekday() == 0
    assert booking.day >= FIRST
    assert booking.technician is not None
    assert "M-00001: Charge filter" in as_office.get(f"/plan/?from={booking.week_start}").content.decode()
    again = as_office.post(f"/plan/run/{run.pk}/take/", {"token": "t2"}, follow=True)
    assert "only once" in again.content.decode()
    assert Booking.objects.count() == 1


def test_the_same_facts_give_the_same_plan_and_the_second_run_changes_nothing(
    inside, as_office, floor, hands, django_capture_on_commit_callbacks
):
    due_in(floor, 20)
    for number in range(2, 9):
        due_in(floor, 3 * number, task(f"T{number}", name=f"Task {number}"), another_machine(floor, number))
    first = run_of(as_office, django_capture_on_commit_callbacks)
    second = run_of(as_office, django_capture_on_commit_callbacks)
    assert first.result["jobs"] == second.result["jobs"]
    as_office.post(f"/plan/run/{first.pk}/take/", {"token": "t1"})
    third = run_of(as_office, django_capture_on_commit_callbacks)
    assert third.result["changes"] == []
    versions = list(Booking.objects.values_list("uid", "version"))
    as_office.post(f"/plan/run/{third.pk}/take/", {"token": "t3"})
    assert list(Booking.objects.values_list("uid", "version")) == versions


def test_a_job_nobody_can_do_is_named_with_its_reason(inside, as_office, floor, hands, django_capture_on_commit_callbacks):
    due_in(floor, 10, task(skill=Skill.objects.create(code="brakes", name="Brakes")))
    run = run_of(as_office, django_capture_on_commit_callbacks)
    assert run.result["unplaced"][0]["why"] == "nobody has the skill brakes"
    assert "nobody has the skill brakes" in as_office.get(f"/plan/run/{run.pk}/").content.decode()


def test_a_machine_too_high_for_every_door_is_named(inside, as_office, floor, hands, django_capture_on_commit_callbacks):
    Bay.objects.create(name="Low bay", door_height_m=3.3)
    Machine.objects.filter(pk=floor.machine.pk).update(height_m=3.9)
    due_in(floor, 10, task(needs_bay=True, work_h=6))
    run = run_of(as_office, django_capture_on_commit_callbacks)
    assert "needs a door of 3.9 m, the tallest is 3.3 m" in run.result["unplaced"][0]["why"]


def test_kindred_tasks_go_together_with_both_sums_and_parts_are_waited_for(floor, hands):
    fluid = due_in(floor, 10, task("FLUID", name="Fluid", kind="fluid", group="drain"))
    due_in(floor, 30, task(group="drain"))
    due_in(floor, 30, task("OTHER", name="Other"))
    part = Part.objects.create(number="P-1", name="Seal", lead_days=25, price_cents=4000)
    KitItem.objects.create(task=fluid, drive_model=floor.drive_model, part=part, quantity=2)
    works = {work.job.name: work for work in work_to_plan(fleet_due(), FIRST, 12)}
    joined = works["M-00001: Fluid, Charge filter"]
    assert any("thrown away against 90 saved" in words for words in joined.words)
    assert joined.job.parts_on == TODAY + timedelta(days=25)
    assert works["M-00001: Other"].job.parts_on is None
    StockMove.objects.create(part=part, kind="received", quantity=2, moved_at=timezone.now())
    works = {work.job.name: work for work in work_to_plan(fleet_due(), FIRST, 12)}
    assert works["M-00001: Fluid, Charge filter"].job.parts_on is None


def test_pinned_work_stays_and_its_tasks_are_not_planned_again(inside, as_office, floor, hands, django_capture_on_commit_callbacks):
    the_task = due_in(floor, 20)
    pinned = Booking.objects.create(
        machine=floor.machine,
        title="by hand",
        week_start=FIRST + timedelta(days=35),
        work_h=2,
        is_pinned=True,
        uid="b1",
        tasks=[{"task": the_task.code, "unit": ""}],
    )
    run = run_of(as_office, django_capture_on_commit_callbacks)
    as_office.post(f"/plan/run/{run.pk}/take/", {"token": "t"})
    assert Booking.objects.count() == 1
    pinned.refresh_from_db()
    assert (pinned.version, pinned.is_cancelled) == (1, False)


def test_what_left_the_plan_is_called_off_not_lost(inside, as_office, floor, hands, django_capture_on_commit_callbacks):
    the_task = due_in(floor, 20)
    as_office.post(f"/plan/run/{run_of(as_office, django_capture_on_commit_callbacks).pk}/take/", {"token": "t"})
    done(floor, the_task, on=TODAY)
    as_office.post(f"/plan/run/{run_of(as_office, django_capture_on_commit_callbacks).pk}/take/", {"token": "u"})
    booking = Booking.objects.get()
    assert (booking.is_cancelled, booking.version) == (True, 2)


def test_a_run_shows_how_far_it_is_and_can_be_cancelled_without_harm(as_office, office, floor):
    run = PlanRun.objects.create(first_week=FIRST, weeks=12, recorded_by=office, result={"state": "waiting", "word": "waits for its turn"})
    page = as_office.get(f"/plan/run/{run.pk}/").content.decode()
    assert 'http-equiv="refresh"' in page
    assert "<progress" in page
    as_office.post(f"/plan/run/{run.pk}/cancel/", {"token": "c"})
    planning.work_out(run.pk)  # the process that comes too late
    run.refresh_from_db()
    assert run.result["state"] == "cancelled"
    assert "Nothing was changed" in as_office.get(f"/plan/run/{run.pk}/").content.decode()


def test_a_run_that_was_never_heard_of_again_is_said_to_have_failed(as_office, office, floor):
    run = PlanRun.objects.create(first_week=FIRST, weeks=12, recorded_by=office, result={"state": "running", "word": "choosing weeks"})
    PlanRun.objects.filter(pk=run.pk).update(recorded_at=timezone.now() - timedelta(minutes=10))
    page = as_office.get(f"/plan/run/{run.pk}/").content.decode()
    assert "gave no answer" in page
    assert "refresh" not in page


def test_cancelled_while_it_runs_its_finding_is_thrown_away(as_office, office, floor, hands, monkeypatch):
    due_in(floor, 20)
    run = PlanRun.objects.create(first_week=FIRST, weeks=12, recorded_by=office, result={"state": "waiting", "word": ""})
    found = planning._found

    def cancelled_meanwhile(*given):
        out = found(*given)
        planning.cancel_plan(by=office, run=PlanRun.objects.get(pk=run.pk), token="c")
        return out

    monkeypatch.setattr(planning, "_found", cancelled_meanwhile)
    planning.work_out(run.pk)
    run.refresh_from_db()
    assert run.result["state"] == "cancelled"
    assert "jobs" not in run.result


def test_the_board_asks_the_same_number_of_questions_for_fifty_bookings_as_for_five(as_office, floor, hands):
    machines = [another_machine(floor, number) for number in range(2, 12)]

    def book(k):
        monday = FIRST + timedelta(days=7 * (k % 5))
        Booking.objects.create(machine=machines[k % 10], title=f"t{k}", week_start=monday, work_h=1, uid=f"u{k}", technician=hands["one"])

    for k in range(10):
        book(k)
    few = questions_of(as_office, "/plan/")
    for k in range(10, 50):
        book(k)
    assert questions_of(as_office, "/plan/") == few


@pytest.mark.parametrize("asked", ["?from=x", "?from=9999-99-99", "?from=0001-01-01", "?from=2500-01-01"])
def test_junk_in_the_address_shows_this_week(as_technician, floor, asked):
    assert as_technician.get(f"/plan/{asked}").status_code == 200


def moved(client, booking, monday, **fields):
    page = client.get(f"/plan/booking/{booking.pk}/move/")
    given = {"week": str(monday), "version": version_in(page), "token": token_in(page)}
    return client.post(f"/plan/booking/{booking.pk}/move/", given | fields)


def test_a_move_says_what_it_breaks_before_it_is_done_and_wants_a_word(as_office, floor, hands):
    the_task = due_in(floor, 12)
    booking = Booking.objects.create(
        machine=floor.machine,
        title="M-00001: Charge filter",
        week_start=FIRST,
        work_h=2,
        uid="b1",
        tasks=[{"task": the_task.code, "unit": ""}],
    )
    late = FIRST + timedelta(days=56)
    looked = moved(as_office, booking, late, look="1")
    assert "days overdue" in looked.content.decode()
    refused = moved(as_office, booking, late)
    assert refused.status_code == 422
    booking.refresh_from_db()
    assert booking.week_start == FIRST
    assert moved(as_office, booking, late, sure="on").status_code == 302
    booking.refresh_from_db()
    assert (booking.week_start, booking.is_pinned, booking.version) == (late, True, 2)


def test_two_people_moving_one_booking_the_second_is_told(as_office, floor, hands):
    booking = Booking.objects.create(machine=floor.machine, title="t", week_start=FIRST, work_h=2, uid="b1")
    page = as_office.get(f"/plan/booking/{booking.pk}/move/")
    Booking.objects.filter(pk=booking.pk).update(version=2)
    answer = as_office.post(
        f"/plan/booking/{booking.pk}/move/", {"week": str(FIRST), "version": version_in(page), "token": token_in(page), "sure": "on"}
    )
    assert answer.status_code == 409


def test_an_overfull_week_is_named(floor, hands):
    for k in range(3):
        Booking.objects.create(machine=floor.machine, title=f"t{k}", week_start=FIRST, work_h=30, uid=f"b{k}", is_pinned=True)
    weeks, _ = weeks_of_board(FIRST, 2)
    assert weeks[0].is_full
    assert any("too many" in words for words in weeks[0].over)
    assert not weeks[1].is_full


def test_booking_by_hand_checks_week_door_and_order(as_office, floor, hands):
    Machine.objects.filter(pk=floor.machine.pk).update(height_m=3.9)
    bay = Bay.objects.create(name="Low bay", door_height_m=3.3)
    fields = {
        "machine": floor.machine.pk,
        "title": "Look at it",
        "week_start": str(FIRST),
        "work_h": "2,5",
        "day": str(FIRST + timedelta(days=9)),
        "bay": bay.pk,
    }
    page = as_office.post("/plan/book/", fields).content.decode()
    assert "is not in the week of" in page
    assert "3.9 m high" in page
    good = {"day": str(FIRST + timedelta(days=1)), "bay": "", "start_time": "07:30", "technician": hands["one"].pk, "token": "b"}
    assert as_office.post("/plan/book/", fields | good).status_code == 302
    booking = Booking.objects.get()
    assert (float(booking.work_h), booking.is_pinned, timezone.localtime(booking.start_at).hour) == (2.5, True, 7)


def test_a_due_task_is_booked_with_its_reason(as_office, floor, hands):
    the_task = due_in(floor, 12)
    address = f"/plan/book/?machine={floor.machine.pk}&task={the_task.pk}"
    page = as_office.get(address)
    assert "Charge filter" in page.content.decode()
    as_office.post(
        address, {"machine": floor.machine.pk, "title": "Charge filter", "week_start": str(FIRST), "work_h": "1", "token": token_in(page)}
    )
    assert Booking.objects.get().tasks == [{"task": "FILTER", "unit": ""}]


def test_hands_and_bays_are_kept(as_office, hands):
    page = as_office.get("/plan/hands/technicians/add/")
    fields = {"name": "New Hand", "hours_per_week": "30,5", "skills": [hands["skill"].pk], "token": token_in(page)}
    as_office.post("/plan/hands/technicians/add/", fields)
    made = Technician.objects.get(name="New Hand")
    assert (float(made.hours_per_week), list(made.skills.all())) == (30.5, [hands["skill"]])
    wrong = as_office.post(f"/plan/hands/technicians/{made.pk}/away/", {"from_date": "2026-05-02", "to_date": "2026-05-01"})
    assert "is before" in wrong.content.decode()
    year = timezone.localdate().year + 1
    away = {"from_date": f"{year}-05-02", "to_date": f"{year}-05-09", "token": "x"}
    as_office.post(f"/plan/hands/technicians/{made.pk}/away/", away)
    assert f"2 May to 9 May {year}" in as_office.get("/plan/hands/").content.decode()
    as_office.post(f"/plan/hands/away/{TimeAway.objects.get().pk}/end/")
    assert TimeAway.objects.count() == 0


def test_demand_counts_litres_parts_and_hours_less_stock(as_office, floor, hands):
    fluid = due_in(floor, 10, task("FLUID", name="Fluid", kind="fluid", work_h=2))
    part = Part.objects.create(number="P 1", name="Seal")
    KitItem.objects.create(task=fluid, drive_model=floor.drive_model, part=part, quantity=3)
    StockMove.objects.create(part=part, kind="received", quantity=1, moved_at=timezone.now())
    from shop.plan.demand import demand

    groups = dict(demand(fleet_due(), FIRST, 12))
    (oil,) = groups["Litres by product"]
    assert (oil.item, oil.weeks[-1][1:]) == ("Fenoil Hydrol 46", (45.0, 45.0, 45.0))
    (seal,) = groups["Parts by number"]
    assert (seal.in_hand, seal.short) == (1.0, (2.0, 2.0, 2.0))
    (hours,) = groups["Hours of labour by skill"]
    assert hours.weeks[-1][2] == 2.0
    assert "P 1 Seal" in as_office.get("/plan/demand/").content.decode()


def test_before_the_season_the_page_says_what_is_booked_and_what_is_not(as_office, floor, hands):
    start = TODAY + timedelta(days=60)
    SeasonBlock.objects.create(name="Cut", from_date=start, to_date=start + timedelta(days=30), repeats_yearly=False)
    due_in(floor, 30)
    page = as_office.get("/plan/before-season/").content.decode()
    assert '0</span> of <span class="fig">1</span> tasks' in page
    Booking.objects.create(machine=floor.machine, title="t", week_start=FIRST, work_h=1, uid="b", tasks=[{"task": "FILTER", "unit": ""}])
    assert "(100 %)" in as_office.get("/plan/before-season/").content.decode()
    assert as_office.get("/plan/before-season.pdf").content.startswith(b"%PDF")


@pytest.mark.parametrize(("day", "monday"), [(date(2026, 11, 23), date(2026, 11, 23)), (date(2026, 11, 24), date(2026, 11, 30))])
def test_a_week_that_has_begun_is_not_planned(day, monday):
    assert first_monday(day) == monday

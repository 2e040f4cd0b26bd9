"""A test in progress: kept as it is written, each mark once, carried from step to step, judged by the same gate as a visit."""

import io
import json
import re
from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone
from pypdf import PdfReader

from fleet.models import Calibration, FluidFill, HourReading, Instrument
from shop.models import Finding, OpenTest, OpenTestMark, Visit
from shop.printing.paper import code_of
from shop.tests.marks import standing
from shop.tests.paper_views import address_of
from shop.tests.sheet import OpenSheet
from tests.shop.tests.conftest import send

COND = {
    "conditions__before__oil_temp": "60 degC",
    "conditions__before__engine_speed": "2300 rpm",
    "conditions__before__idle_speed": "1000 rpm",
    "conditions__before__loop_pressure": "200 bar",
}


def beside(answer, key):
    return re.sub(r"<[^>]+>", "", answer.json()["beside"][key]).replace("\u00a0", " ")


def close(client, test, meter="1212.0", token="close-1", **more):
    return client.post(f"/tests/{test.pk}/close/", {"close-meter_h": meter, "close-token": token} | more)


def test_opening_picks_what_applies_and_counts_once(floor, ports, procedures, as_technician):
    page = as_technician.get(f"/drives/{floor.unit.pk}/test/").content.decode()
    assert "T06 Loop flushing" in page
    sent = {"columns": "two", "procedures": ["T03", "T08"], "token": "open-1"}
    first, second = (as_technician.post(f"/drives/{floor.unit.pk}/test/", sent) for _ in range(2))
    assert first["Location"] == second["Location"]
    test = OpenTest.objects.get()
    assert (test.number, test.conditions["columns"]) == ("E-00001", "two")
    assert as_technician.post(f"/drives/{floor.unit.pk}/test/", {"columns": "one", "token": "open-2"}).status_code == 422


def test_a_mark_sent_twice_counts_once(in_progress, as_technician):
    test = in_progress("T03")
    mark = [{"key": "the-page-made-this", "name": "T03_3-before-value", "value": "22.4"}]
    assert send(as_technician, test, mark).json()["kept"] == 1
    assert send(as_technician, test, mark).json()["kept"] == 0
    assert OpenTestMark.objects.count() == 1


def test_the_latest_mark_of_a_field_stands_by_the_time_it_was_made_not_sent(in_progress, as_technician):
    test, now = in_progress("T03"), timezone.now()
    late = {"key": "made-later-sent-first", "name": "T03_3-before-value", "value": "22.8", "made_at": now.isoformat()}
    early = {
        "key": "made-first-sent-later",
        "name": "T03_3-before-value",
        "value": "2.28",
        "made_at": (now - timedelta(minutes=9)).isoformat(),
    }
    send(as_technician, test, [late], now.isoformat())
    send(as_technician, test, [early], now.isoformat())
    assert standing(test)["T03_3-before-value"] == "22.8"


def test_a_tablet_whose_clock_is_a_day_slow_is_set_right_by_what_it_shows(in_progress, as_technician):
    test, day = in_progress("T03"), timedelta(days=1)
    send(as_technician, test, [{"key": "right-clock", "name": "T03_3-before-value", "value": "20"}])
    slow = timezone.now() - day
    mark = {"key": "slow-clock", "name": "T03_3-before-value", "value": "22", "made_at": slow.isoformat()}
    send(as_technician, test, [mark], slow.isoformat())
    assert standing(test)["T03_3-before-value"] == "22"


@pytest.mark.parametrize(
    "body",
    [
        "", "[]", "{}", '{"marks": 3}', '{"marks": [3]}', '{"marks": [{}]}', '{"marks": [{"key": "k", "name": "a-b-c", "value": "1"}]}',
        '{"marks": [{"key": "long-enough", "name": "a", "value": "1"}]}', '{"marks": [{"key": "long-enough", "name": "a-b-c", "value": 1}]}',
        '{"marks": [{"key": "long-enough", "name": "T03_3-before-secret", "value": "1"}]}',
        '{"marks": [{"key": "long-enough", "name": "T03_3-after-value", "value": "1"}]}',
        '{"marks": [{"key": "long-enough", "name": "T03_3-before-value", "value": "' + "9" * 400 + '"}]}',
        "[" * 5000,
    ],
)  # fmt: skip
def test_what_cannot_be_read_is_refused_and_nothing_written(in_progress, as_technician, body):
    test = in_progress("T03")
    answer = as_technician.post(f"/tests/{test.pk}/marks/", body, content_type="application/json")
    assert answer.status_code == 422
    assert answer.json()["refused"]
    assert not OpenTestMark.objects.exists()


def test_only_those_who_record_work_may_write(in_progress, as_office, as_stranger):
    test = in_progress("T03")
    mark = [{"key": "not-mine-to-write", "name": "T03_3-before-value", "value": "22.4"}]
    assert send(as_office, test, mark).status_code == 403
    assert send(as_stranger, test, mark).status_code == 302
    page = as_office.get(f"/tests/{test.pk}/").content.decode()
    assert "You may look, not write" in page and "formaction" not in page


def test_the_expected_value_stands_beside_the_blank_as_soon_as_conditions_are_known(in_progress, write):
    test = in_progress("T03")
    answer = write(test, conditions__before__oil_temp="60 degC")
    assert "No engine speed: no expected value" in beside(answer, "T03_3-before")
    answer = write(test, conditions__before__engine_speed="2300 rpm")
    warm = re.search(r"Expected ([\d.]+) bar", beside(answer, "T03_3-before"))[1]
    answer = write(test, conditions__before__oil_temp="85 degC")
    hot = re.search(r"Expected ([\d.]+) bar", beside(answer, "T03_3-before"))[1]
    assert float(hot) < float(warm) < 24


def test_a_drain_is_expected_at_the_actual_oil_temperature(floor, in_progress, write):
    """Laminar leakage goes with 1/viscosity: between 50 and 80 degC a VG 46 oil (46 and 6.8 mm2/s) thins to some 3.4:9.3 of its leakage."""
    model = floor.drive_model
    model.flushing_flow_lpm, model.flushing_relief_bar = None, None
    model.save()
    test, found = in_progress("T08"), []
    for temp in (50, 60, 70, 80):
        answer = write(test, **COND | {"conditions__before__oil_temp": f"{temp} degC"})
        found.append(float(re.search(r"Expected ([\d.]+) L/min", beside(answer, "T08_5-before"))[1]))
    assert [round(value / found[1] * 5.0, 1) for value in found] == pytest.approx([3.4, 5.0, 7.0, 9.3], abs=0.1)


def test_conditions_and_gauge_are_carried_from_step_to_step_and_say_so(floor, in_progress, write):
    test = in_progress("T03", "T05")
    write(test, **COND)
    write(test, T03_2__before__value="21.0 bar", T03_2__before__instrument=floor.charge_gauge.pk, T03_2__before__oil_temp="64 degC")
    answer = write(test, T03_3__before__value="22.4 bar")
    words = beside(answer, "T03_3-before")
    assert "oil 64 °C (from T03)" in words and "engine 2 300 rpm (from conditions)".replace(" ", "") in words.replace("\u202f", "").replace(
        " ", ""
    )
    assert f"{floor.charge_gauge.tag} (from T03)" in words
    assert "engine 1" in beside(answer, "T03_2-before") and "1000" in beside(answer, "T03_2-before").replace("\u202f", "")
    assert "loop 200.0 bar (from conditions)" in beside(answer, "T05_2-before")
    assert "loop" not in beside(answer, "T03_3-before")


@pytest.mark.parametrize(("typed", "asked"), [("3000 bar", "kPa"), ("330 bar", "psi")])
def test_a_slip_of_unit_is_asked_about_and_kept_only_if_confirmed(floor, in_progress, write, as_technician, typed, asked):
    test = in_progress("T03")
    write(test, **COND)
    answer = write(test, T03_3__before__value=typed, T03_3__before__instrument=floor.charge_gauge.pk)
    assert answer.json()["asks"] == ["T03_3-before"]
    assert asked in beside(answer, "T03_3-before")
    refused = close(as_technician, test)
    assert refused.status_code == 422 and asked in refused.content.decode()
    assert not Visit.objects.exists()
    answer = write(test, T03_3__before__as_read="on")
    assert "outside 3 to 45" not in beside(answer, "T03_3-before")


def test_repeats_say_mean_and_range(floor, in_progress, write):
    test = in_progress("T03")
    answer = write(
        test, **COND, T03_3__before__value="22.4 bar", T03_3__before__repeats="22.6; 22.2", T03_3__before__instrument=floor.charge_gauge.pk
    )
    assert "3 values, mean 22.4 bar, range 22.2 to 22.6" in beside(answer, "T03_3-before")


def test_a_gauge_that_cannot_decide_is_named_with_a_better_one(floor, in_progress, write):
    poor = Instrument.objects.create(tag="G-16", kind="pressure", span_high=60, unit="bar", accuracy_class_pct=1.6, resolution=1.0)
    Calibration.objects.create(instrument=poor, done_on=timezone.localdate(), due_on=timezone.localdate() + timedelta(days=300))
    test = in_progress("T03")
    answer = write(test, **COND, T03_3__before__value="22.4 bar", T03_3__before__instrument=poor.pk)
    words = beside(answer, "T03_3-before")
    assert "G-16: a reading near the limit stays undecided" in words and "use a class" in words


def filled(floor, write, test, column="before", **more):
    figures = {
        f"T03_2__{column}__value": "21.6 bar", f"T03_2__{column}__instrument": floor.charge_gauge.pk, f"T03_3__{column}__value": "22.6 bar",
        f"T05_2__{column}__value": "19.8 bar", f"T05_3__{column}__value": "19.6 bar", f"T08_4__{column}__value": "6.4 L/min",
        f"T08_4__{column}__instrument": floor.flow_meter.pk, f"T08_5__{column}__value": "13.2 L/min",
        f"T08_5__{column}__instrument": floor.flow_meter.pk,
    }  # fmt: skip
    conditions = {name.replace("before", column): value for name, value in COND.items()}
    return write(test, **conditions | figures | more)


def test_closing_makes_one_judged_drive_test_with_conditions_and_procedures(floor, in_progress, write, as_technician):
    test = in_progress()
    live = filled(floor, write, test, T08_3__before__could_not="Plug is seized")
    assert close(as_technician, test).status_code == 302
    test.refresh_from_db()
    made = test.test_before
    assert test.closed_at and test.test_after is None
    assert (made.moment, made.oil_temp_c, made.engine_speed_rpm, made.procedure_version) == ("alone", 60, 2300, test.number)
    read = {(row.quantity, row.direction): row for row in made.readings.all()}
    assert set(read) == {
        ("charge_neutral_idle", ""), ("charge_neutral", ""), ("charge_stroked", "forward"), ("charge_stroked", "reverse"),
        ("pump_case_flow", ""), ("motor_case_flow", ""),
    }  # fmt: skip
    assert read["charge_neutral_idle", ""].engine_speed_rpm == 1000
    assert read["charge_stroked", "forward"].loop_pressure_bar == 200
    assert {row.instrument for row in read.values()} == {floor.charge_gauge, floor.flow_meter}
    assert read["pump_case_flow", ""].port == "PD"
    assert HourReading.objects.latest("pk").meter_h == 1212
    visit = Visit.objects.get()
    assert list(visit.tests.all()) == [made]
    assert "could not, because Plug is seized" in visit.note
    assert {row.code for row in test.procedures.all()} == {"T03", "T05", "T08"}
    told = {"charge_neutral": "T03_3", "charge_stroked": "T05_2", "pump_case_flow": "T08_4", "motor_case_flow": "T08_5"}
    for quantity, step in told.items():
        kept = made.readings.filter(quantity=quantity).first().assessments.in_force().get()
        assert f"{kept.state} so far" in beside(live, f"{step}-before"), "what was said while writing is what is kept"


def test_before_and_after_make_two_tests_of_one_visit_and_their_differences(floor, in_progress, write, as_technician):
    test = in_progress(columns="two")
    filled(floor, write, test)
    filled(floor, write, test, "after", T08_5__after__value="9.9 L/min", conditions__after__oil_temp="62 degC")
    assert close(as_technician, test).status_code == 302
    test.refresh_from_db()
    assert (test.test_before.moment, test.test_after.moment) == ("before", "after")
    assert list(Visit.objects.get().tests.order_by("pk")) == [test.test_before, test.test_after]
    page = re.sub(r"<[^>]+>", " ", as_technician.get(f"/tests/{test.pk}/result/").content.decode())
    assert "After, less before" in page and "Reverse, less forward" in page
    assert re.search(r"Motor case drain flow .{0,400}lower", " ".join(page.split()))
    assert re.search(r"Pump case drain flow .{0,400}within its uncertainty", " ".join(page.split()))


def test_closing_twice_makes_one_visit_and_marks_after_that_are_refused(floor, in_progress, write, as_technician):
    test = in_progress()
    filled(floor, write, test)
    assert close(as_technician, test).status_code == close(as_technician, test).status_code == 302
    assert close(as_technician, test, token="another").status_code == 302
    assert Visit.objects.count() == 1
    answer = write(test, T03_3__before__value="22 bar")
    assert answer.status_code == 409 and "closed" in answer.json()["refused"]
    assert as_technician.get(f"/tests/{test.pk}/")["Location"] == f"/tests/{test.pk}/result/"


def test_hours_that_run_backwards_keep_the_test_open_and_all_that_was_written(floor, in_progress, write, as_technician):
    test = in_progress()
    filled(floor, write, test)
    answer = close(as_technician, test, meter="12.0")
    assert answer.status_code == 422
    assert "still open" in answer.content.decode() and 'value="22.6"' in answer.content.decode()
    assert not Visit.objects.exists()
    assert close(as_technician, test, meter="12.0", token="c2", **{"close-keep_hours": "on"}).status_code == 302


def test_a_check_that_is_not_so_becomes_a_finding_that_calls_for_work_now(floor, in_progress, write, as_technician):
    test = in_progress("T12", "T14", "T03")
    write(test, **COND)
    write(
        test,
        T12_2__before__cell1="right",
        T12_2__before__cell9="wrong",
        T14_2__before__found="right",
        T14_3__before__found="wrong",
        T14_3__before__note="rolled a metre",
    )
    assert close(as_technician, test).status_code == 302
    found = Finding.objects.order_by("pk")
    assert [row.urgency for row in found] == ["now", "now"]
    assert "Seat empty, Brake on, Control neutral, PTO off" in found[0].words and "T12" in found[0].words
    assert "rolled a metre" in found[1].words
    page = as_technician.get(f"/tests/{test.pk}/result/").content.decode()
    assert "as it should be" in page and "not so" in page


def test_the_truth_table_has_a_cell_for_every_way_they_can_stand(in_progress, technician):
    sheet = OpenSheet(in_progress("T12"), technician)
    assert len(sheet.lines["T12_2-before"].step.cells) == 2**4


def test_a_test_with_nothing_in_it_is_not_closed_but_may_be_given_up_with_a_reason(in_progress, as_technician):
    test = in_progress("T03")
    answer = close(as_technician, test)
    assert answer.status_code == 422 and "Nothing was written" in answer.content.decode()
    assert as_technician.post(f"/tests/{test.pk}/give-up/", {"give-up-token": "g1"}).status_code == 422
    assert as_technician.post(f"/tests/{test.pk}/give-up/", {"give-up-token": "g2", "give-up-reason": "Rain"}).status_code == 302
    test.refresh_from_db()
    assert test.closed_at and not Visit.objects.exists()
    assert "Rain" in as_technician.get(f"/tests/{test.pk}/result/").content.decode()


def test_without_script_the_button_keeps_all_that_is_written(floor, in_progress, as_technician):
    test = in_progress("T03")
    sent = {
        "seen": "0", "conditions-before-oil_temp": "60", "conditions-before-oil_temp_unit": "degC", "conditions-before-engine_speed": "",
        "conditions-before-engine_speed_unit": "rpm", "T03_3-before-value": "330", "T03_3-before-value_unit": "psi",
        "T03_3-before-instrument": str(floor.charge_gauge.pk), "T03_3-before-port": "CH", "T03_2-before-port": "CH",
    }  # fmt: skip
    assert as_technician.post(f"/tests/{test.pk}/keep/", sent).status_code == 302
    kept = standing(test)
    assert kept["T03_3-before-value"] == "330" and kept["T03_3-before-value_unit"] == "psi"
    assert "conditions-before-engine_speed_unit" not in kept and "T03_2-before-port" not in kept
    page = as_technician.get(f"/tests/{test.pk}/").content.decode()
    assert "330" in page and "No engine speed" in page
    again = OpenTestMark.objects.count()
    as_technician.post(f"/tests/{test.pk}/keep/", sent)
    assert OpenTestMark.objects.count() == again


def test_closing_without_script_keeps_the_page_first(floor, in_progress, as_technician):
    test = in_progress("T03")
    sent = {
        "seen": "0", "conditions-before-oil_temp": "60", "conditions-before-engine_speed": "2300", "T03_3-before-value": "22.6",
        "T03_3-before-value_unit": "bar", "T03_3-before-instrument": str(floor.charge_gauge.pk),
    }  # fmt: skip
    assert close(as_technician, test, **sent).status_code == 302
    test.refresh_from_db()
    assert test.test_before.readings.get().value == 22.6


def test_a_page_opened_earlier_does_not_empty_what_another_tablet_wrote_since(floor, in_progress, write, as_technician):
    test = in_progress("T03")
    write(test, T03_3__before__value="22.6 bar")
    stale = {
        "seen": "0",
        "T03_3-before-value": "",
        "T03_3-before-value_unit": "bar",
        "T03_2-before-value": "21",
        "T03_2-before-value_unit": "bar",
    }
    as_technician.post(f"/tests/{test.pk}/keep/", stale)
    assert standing(test)["T03_3-before-value"] == "22.6"
    assert standing(test)["T03_2-before-value"] == "21"
    fresh = stale | {"seen": str(OpenTestMark.objects.latest("pk").pk)}
    as_technician.post(f"/tests/{test.pk}/keep/", fresh)
    assert standing(test)["T03_3-before-value"] == ""


def test_a_drive_with_unknown_oil_says_so(floor, in_progress, as_technician):
    FluidFill.objects.create(
        machine=floor.machine, kind="top_up", product=None, filled_at=timezone.now() - timedelta(days=2), life_h=1200, fill_l=5
    )
    page = as_technician.get(f"/tests/{in_progress('T08').pk}/").content.decode()
    assert "Fluid unknown: no expected value" in page


def test_a_drive_in_no_machine_cannot_be_tested_here(floor, procedures, as_technician):
    floor.installation.to_date, floor.installation.to_life_h = timezone.localdate(), 1210
    floor.installation.save()
    assert as_technician.get(f"/drives/{floor.unit.pk}/test/")["Location"] == f"/drives/{floor.unit.pk}/"


def test_the_list_asks_no_more_for_fifty_tests_than_for_five(floor, ports, procedures, in_progress, as_technician):
    def asked():
        with CaptureQueriesContext(connection) as seen:
            assert as_technician.get("/tests/?per_page=100").status_code == 200
        return len(seen)

    for _ in range(5):
        in_progress("T03")
    asked()
    few = asked()
    for _ in range(20):
        in_progress("T03")
    assert asked() == few
    assert as_technician.get("/tests/?page=zz&sort=--&q=%00").status_code == 200


def test_the_page_asks_no_more_of_the_database_the_more_is_written(floor, in_progress, write, as_technician):
    test = in_progress()

    def asked():
        with CaptureQueriesContext(connection) as seen:
            assert as_technician.get(f"/tests/{test.pk}/").status_code == 200
        return len(seen)

    empty = asked()
    filled(floor, write, test)
    assert asked() <= empty


def test_the_sheet_on_paper_opens_the_test_and_carries_ports_checks_and_cautions(in_progress, as_technician):
    test = in_progress("T03", "T08", "T12")
    answer = as_technician.get(f"/tests/{test.pk}/sheet.pdf")
    pages = [page.extract_text() for page in PdfReader(io.BytesIO(answer.content)).pages]
    assert len(pages) == 2
    words = " ".join(" ".join(pages).split())
    for told in (
        "Ports, in the order of walking round",
        "Plug CH",
        "50 °C",
        "80 °C",
        "Seat empty, Brake off",
        "Oil through the skin",
        test.number,
    ):
        assert told in words, told


def test_the_code_on_the_sheet_is_the_address_of_the_test(rf, in_progress):
    test = in_progress("T03")
    assert code_of(address_of(rf.get("/"), test)) == f"http://testserver/tests/{test.pk}/"


def test_words_of_people_are_words_on_the_page(floor, in_progress, write, as_technician):
    test = in_progress("T03")
    write(
        test, **COND, T03_3__before__value="22.6 bar", T03_3__before__note="<script>alert(1)</script>", T03_3__before__could_not="<b>no</b>"
    )
    assert "<script>alert(1)" not in as_technician.get(f"/tests/{test.pk}/").content.decode()
    close(as_technician, test)
    page = as_technician.get(f"/tests/{test.pk}/result/").content.decode()
    assert "<script>alert(1)" not in page and "<b>no</b>" not in page


def test_json_of_marks_is_small_enough_to_send_all_fields_at_once(in_progress, as_technician, technician):
    test = in_progress("T03", "T05", "T08", "T12", columns="two")
    names = sorted(OpenSheet(test, technician).known)
    marks = [{"key": f"all-at-once-{place:05d}", "name": name, "value": ""} for place, name in enumerate(names)]
    assert send(as_technician, test, marks).json()["kept"] == len(names)
    assert len(json.dumps(marks)) < 100_000

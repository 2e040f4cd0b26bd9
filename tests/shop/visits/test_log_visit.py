import io
from decimal import Decimal

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from PIL import Image

from fleet.models import ConditionAssessment, DriveTest, FluidFill, HourReading, Reading
from shop.models import Finding, TaskDone, Visit
from tests.shop.visits.sending import sent_for


def charge(floor, value, **more):
    return {"quantity": "charge_neutral", "value": value, "value_unit": "bar", "instrument": str(floor.charge_gauge.pk)} | more


def relief_of(floor, value, unit):
    gauge = str(floor.system_gauge.pk)
    return {"quantity": "main_relief", "direction": "forward", "value": value, "value_unit": unit, "instrument": gauge}


@pytest.fixture
def address(floor):
    return reverse("log_visit", args=[floor.machine.pk])


@pytest.fixture
def log(floor, technician, as_technician, address):
    """Send a visit and return the answer."""

    def send(**fields):
        return as_technician.post(address, sent_for(floor.machine, technician, **fields))

    return send


CONDITIONS = {"oil_temp_0": "", "oil_temp": "60", "oil_temp_unit": "degC", "engine_speed": "2300", "engine_speed_unit": "rpm"}


def test_a_whole_round_is_written_and_judged(floor, log, filter_task, technician):
    answer = log(
        readings=[
            charge(floor, "22,5"),
            relief_of(floor, "6100", "psi"),
        ],
        fills=[{"kind": "top_up", "product": str(floor.oil.pk), "fill": "1.5", "fill_unit": "L", "is_measured": "on", "batch": "00123"}],
        tasks=[{"task": filter_task, "was_done": "yes", "part_number": "007-0019"}],
        findings=[{"words": "Hose cover cut at the left motor", "urgency": "before_season"}],
        note="Warmed up by driving",
        **CONDITIONS,
    )
    visit = Visit.objects.get()
    assert answer.status_code == 302 and answer.url == reverse("visit", args=[visit.pk])
    assert visit.life_h == Decimal("1215.5")
    assert [reading.value for reading in Reading.objects.order_by("pk")] == [pytest.approx(22.5), pytest.approx(6100 * 0.0689475729)]
    relief = Reading.objects.get(quantity="main_relief")
    assert (relief.typed, relief.typed_unit, relief.unit, relief.direction) == ("6100", "psi", "bar", "forward")
    assert ConditionAssessment.objects.in_force().count() == 2
    test = DriveTest.objects.get()
    assert (test.oil_temp_c, test.engine_speed_rpm, test.component_h, test.tested_by) == (60, 2300, Decimal("1215.5"), technician)
    assert FluidFill.objects.get(kind="top_up").batch == "00123"
    assert TaskDone.objects.get().part_number == "007-0019"
    assert Finding.objects.get().urgency == "before_season"


def test_hours_alone_are_a_visit(log):
    assert log().status_code == 302
    assert Visit.objects.get().tests.count() == 0


def test_a_double_click_logs_once(log):
    first, second = log(), log()
    assert Visit.objects.count() == 1
    assert first.url == second.url
    assert HourReading.objects.filter(meter_h=Decimal("1215.5")).count() == 1


def test_hours_that_run_backwards_are_asked_about_once_and_then_kept_unconfirmed(log, floor):
    answer = log(meter_h="12.0")
    assert answer.status_code == 422
    assert "replaced" in answer.content.decode()
    assert not Visit.objects.exists()
    assert log(meter_h="12.0", keep_hours="on").status_code == 302
    kept = HourReading.objects.get(meter_h=Decimal("12.0"))
    assert not kept.is_confirmed and kept.question
    assert Visit.objects.get().life_h == Decimal("1210.0")


def test_more_hours_than_the_day_holds_are_kept_unconfirmed(log):
    log(visited_at="2026-03-02T15:00", meter_h="1260.0", keep_hours="on")
    assert not HourReading.objects.get(meter_h=Decimal("1260.0")).is_confirmed


def test_digits_that_changed_places_are_suggested(log, floor):
    HourReading.objects.filter(meter=floor.meter).update(meter_h=Decimal("1470"), life_h=Decimal("1470"))
    page = log(meter_h="1843").content.decode()
    assert "1843 or 1483?" in page


def test_hours_keep_what_was_typed(log):
    log(meter_h="01215.5")
    assert HourReading.objects.filter(typed="01215.5", meter_h=Decimal("1215.5")).exists()


def test_a_reading_without_oil_temperature_is_kept_and_not_compared(log, floor):
    log(readings=[charge(floor, "22.5")], engine_speed="2300", engine_speed_unit="rpm")
    assert ConditionAssessment.objects.get().state == "not comparable"


def test_a_line_may_have_its_own_oil_temperature(log, floor):
    log(readings=[charge(floor, "22.5", oil_temp="150", oil_temp_unit="degF")], **CONDITIONS)
    assert Reading.objects.get().oil_temp_c == pytest.approx(65.5556, abs=1e-3)


def test_psi_typed_as_bar_is_asked_about_and_kept_with_a_tick(log, floor):
    relief = {"quantity": "main_relief", "direction": "forward", "value": "3000", "value_unit": "bar"}
    answer = log(readings=[relief], **CONDITIONS)
    page = answer.content.decode()
    assert answer.status_code == 422
    assert "3000 bar is outside" in page and "psi" in page and "Reading 8" in page
    assert not Reading.objects.exists()
    assert log(readings=[relief | {"as_read": "on"}], **CONDITIONS).status_code == 302
    assert "as read" in Reading.objects.get().note


def test_a_figure_beyond_the_scale_of_its_gauge_is_asked_about(log, floor):
    floor.charge_gauge.span_high = 16
    floor.charge_gauge.save()
    assert "The scale of G-11 ends at 16 bar" in log(readings=[charge(floor, "22")], **CONDITIONS).content.decode()


@pytest.mark.parametrize(
    ("fields", "said"),
    [
        ({"value": "abc"}, "which no number has"),
        ({"value": "1,234"}, "may mean 1234 or 1.234"),
        ({"value": "NaN"}, "not a finite number"),
        ({"value": "22", "value_unit": "L/min"}, "Select a valid choice"),
        ({"value": "22", "oil_temp": "900", "oil_temp_unit": "degC"}, "which is the most this can be"),
        ({"value": "22", "engine_speed": "7000", "engine_speed_unit": "rpm"}, "which is the most this can be"),
        ({"value": "", "note": "needle stuck"}, "no reading"),
        ({"value": "22", "repeats": "22.1; x"}, "which no number has"),
        ({"value": "-5"}, "cannot be"),
    ],
)
def test_a_wrong_reading_is_one_sentence_with_its_line_and_nothing_is_written(log, floor, fields, said):
    answer = log(readings=[charge(floor, "22") | fields], findings=[{"words": "leak", "urgency": "now"}])
    page = answer.content.decode()
    assert answer.status_code == 422
    assert said in page and "Reading 2" in page
    assert not Visit.objects.exists() and not Finding.objects.exists() and HourReading.objects.count() == 1


def test_a_flow_meter_cannot_show_a_pressure(log, floor):
    reading = {"quantity": "stroke_time", "direction": "forward", "value": "2", "value_unit": "s", "instrument": str(floor.charge_gauge.pk)}
    assert "is a pressure gauge and cannot show" in log(readings=[reading]).content.decode()


def test_repeats_are_kept_in_the_house_unit(log, floor):
    log(readings=[charge(floor, "326", value_unit="psi", repeats="330; 322")], **CONDITIONS)
    assert Reading.objects.get().repeats == [pytest.approx(psi * 0.0689475729) for psi in (326, 330, 322)]


@pytest.mark.parametrize(
    ("fill", "said"),
    [
        ({"kind": "top_up", "fill": "2", "fill_unit": "L", "drained": "1", "drained_unit": "L"}, "A top-up drains nothing"),
        ({"kind": "first_fill", "fill": "45", "fill_unit": "L"}, "filled before"),
        ({"kind": "change", "product": "not known"}, "how much went in"),
        ({"fill": "2", "fill_unit": "L"}, "first fill, a change"),
        ({"kind": "top_up", "fill": "2", "fill_unit": "L"}, "Pick the oil"),
        ({"kind": "top_up", "fill": "-2", "fill_unit": "L"}, "least this can be"),
    ],
)
def test_a_wrong_fill_is_refused(log, floor, fill, said):
    answer = log(fills=[fill])
    assert answer.status_code == 422
    assert said in answer.content.decode()
    assert not Visit.objects.exists()


def test_a_task_not_done_says_why(log, filter_task):
    assert "Write why it was not done" in log(tasks=[{"task": filter_task, "was_done": "no"}]).content.decode()
    log(tasks=[{"task": filter_task, "was_done": "no", "why_not": "no element in the van"}])
    assert (TaskDone.objects.get().was_done, TaskDone.objects.get().why_not) == (False, "no element in the van")


def test_a_visit_in_the_future_is_refused(log):
    assert "future" in log(visited_at="2199-01-01T10:00").content.decode()


def test_room_for_more_lines_loses_nothing_and_judges_nothing(log, floor):
    answer = log(readings=[charge(floor, "abc")], more="readings", note="half written")
    page = answer.content.decode()
    assert answer.status_code == 200
    assert 'value="abc"' in page and "half written" in page and "which no number has" not in page
    assert page.count("Another reading") == 6
    assert not Visit.objects.exists()


def test_oil_filled_on_the_visit_is_the_oil_the_readings_are_judged_with(log, floor):
    change = {"kind": "change", "product": "not known", "fill": "45", "fill_unit": "L", "drained": "45", "drained_unit": "L"}
    log(readings=[charge(floor, "22.5")], fills=[change], **CONDITIONS)
    assert "not known" in ConditionAssessment.objects.get().reason


def test_a_machine_without_a_drive_can_still_be_visited(as_technician, technician, floor):
    floor.installation.delete()
    page = as_technician.get(reverse("log_visit", args=[floor.machine.pk])).content.decode()
    assert "No drive is fitted" in page
    as_technician.post(reverse("log_visit", args=[floor.machine.pk]), sent_for(floor.machine, technician))
    assert Visit.objects.count() == 1


@pytest.mark.parametrize(("who", "status"), [("as_manager", 200), ("as_technician", 200), ("as_office", 403), ("as_stranger", 302)])
def test_only_those_who_work_on_machines_log_visits(request, address, who, status):
    assert request.getfixturevalue(who).get(address).status_code == status


def test_a_wrong_machine_is_not_found(as_technician):
    assert as_technician.get(reverse("log_visit", args=[99])).status_code == 404


def test_the_person_finds_their_own_units_first(as_technician, technician, address):
    from shop.models import Person

    Person.objects.create(user=technician, system="us")
    page = as_technician.get(address).content.decode()
    assert page.index('<option value="psi">') < page.index('<option value="bar">')


def test_markup_typed_into_a_remark_stays_text(log, as_technician):
    log(note="<b>bold</b><script>alert(1)</script>")
    page = as_technician.get(reverse("visit", args=[Visit.objects.get().pk])).content.decode()
    assert "<script>alert" not in page and "&lt;b&gt;bold" in page


@pytest.mark.parametrize("broken", ["reading-TOTAL_FORMS", "fill-TOTAL_FORMS", "task-TOTAL_FORMS"])
def test_a_mangled_page_is_refused_and_not_a_crash(as_technician, technician, floor, address, broken):
    sent = sent_for(floor.machine, technician)
    del sent[broken]
    assert as_technician.post(address, sent).status_code == 422
    assert not Visit.objects.exists()


def picture(name="cut.png"):
    body = io.BytesIO()
    Image.new("RGB", (8, 8), "white").save(body, "PNG")
    return SimpleUploadedFile(name, body.getvalue(), content_type="image/png")


def test_photos_are_kept_with_the_visit(log, settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path
    assert log(photos=[picture(), picture("hose.png")]).status_code == 302
    assert [paper.name for paper in Visit.objects.get().papers.all()] == ["cut.png", "hose.png"]


def test_a_file_that_is_no_photo_takes_the_whole_visit_back(log, settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path
    answer = log(photos=[picture(), SimpleUploadedFile("drive.exe", b"MZ not a picture")])
    assert answer.status_code == 422 and "drive.exe" in answer.content.decode()
    assert not Visit.objects.exists() and not [file for file in tmp_path.rglob("*") if file.is_file() and file.suffix == ".png"]


def test_an_empty_page_blames_nobody_and_begins_with_now_and_me(as_technician, address, technician):
    answer = as_technician.get(address)
    form = answer.context["form"]
    assert not form.is_bound and "errorlist" not in answer.content.decode()
    assert form["visited_by"].value() == technician.pk and form["visited_at"].value()


def test_a_field_left_empty_says_what_is_wanted(log):
    assert "Write what the hour meter shows." in log(meter_h="").content.decode()


def test_a_finding_may_make_a_task_due(log, filter_task):
    sign = {"words": "Indicator up when hot", "urgency": "now", "calls_task": str(filter_task.pk), "sign": "indicator"}
    log(findings=[sign])
    found = Finding.objects.get()
    assert (found.calls_task, found.sign, found.oil_was_warm) == (filter_task, "indicator", True)
    assert "Write what was found" in log(findings=[sign | {"words": ""}], token="page-2").content.decode()


def test_a_slip_of_unit_within_the_plausible_span_is_caught_by_the_last_reading(log, floor):
    case = {"quantity": "case_pressure", "value_unit": "bar", "instrument": str(floor.charge_gauge.pk)}
    assert log(readings=[case | {"value": "0.4"}]).status_code == 302
    later = {"visited_at": "2026-03-10T10:00", "meter_h": "1216.5"}
    assert "was this one read in psi" in log(readings=[case | {"value": "3.5"}], token="page-2", **later).content.decode()
    assert log(readings=[case | {"value": "0.9"}], token="page-3", **later).status_code == 302

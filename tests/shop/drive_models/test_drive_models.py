"""Drive models: every figure with its source, rules of all ten forms, and the chart with its sliders."""

import re

import pytest

from fleet.models import AcceptanceRule, DriveModel, FigureSource, Port
from shop.drive_models.forms import FIGURES_OF_FORM, DriveModelForm
from shop.drive_models.rows import FIGURES, rule_words
from tests.shop.asking import questions_of, version_in


def every_figure(model, **changes) -> dict:
    """What the form of a model sends when nothing is changed."""
    form = DriveModelForm(instance=model)
    sent = {}
    for bound in form:
        value = bound.value()
        if isinstance(value, bool):
            sent |= {bound.html_name: "on"} if value else {}
        elif bound.name in FIGURES and hasattr(bound.field.widget, "widgets"):
            typed, unit = bound.field.widget.decompress(value)
            sent |= {bound.html_name: typed or "", f"{bound.html_name}_unit": unit or bound.field.widget.widgets[1].choices[0][0]}
        else:
            sent[bound.html_name] = "" if value is None else str(value)
    return sent | changes


def test_the_list_asks_the_same_of_the_database_for_five_models_as_for_fifty(as_manager, floor):
    def fill(numbers):
        for number in numbers:
            DriveModel.objects.create(
                code=f"Z{number}", maker="Z", pump_displacement_cc=50, motor_displacement_max_cc=50, motor_displacement_min_cc=50
            )

    fill(range(4))
    few = questions_of(as_manager, "/drive-models/")
    fill(range(4, 50))
    assert questions_of(as_manager, "/drive-models/") == few


def test_the_page_says_where_each_figure_stands_and_what_is_not_known(as_technician, floor):
    FigureSource.objects.filter(figure="charge_relief_bar").delete()
    page = as_technician.get(f"/drive-models/{floor.drive_model.pk}/").content.decode()
    assert "Drive book H75 HD-75 rev. C, p. 12" in page
    assert "no source: shown, cannot decide" in page
    assert "Not known" in page and "Least charge inlet pressure, absolute" in page


def test_figures_and_sources_are_kept_in_one_act(as_manager, floor):
    path = f"/drive-models/{floor.drive_model.pk}/edit/"
    changed = {
        "charge_relief_bar": "319",
        "charge_relief_bar_unit": "psi",
        "page_charge_relief_bar": "14",
        "paper_servo_flow_lpm": "",
        "page_servo_flow_lpm": "",
    }
    assert as_manager.post(path, every_figure(floor.drive_model, **changed)).status_code == 302
    floor.drive_model.refresh_from_db()
    assert floor.drive_model.charge_relief_bar == pytest.approx(21.994, abs=0.001)
    assert floor.drive_model.source_of("charge_relief_bar").page == "14"
    assert floor.drive_model.source_of("servo_flow_lpm") is None
    assert floor.drive_model.pump_displacement_cc == 75


def test_a_paper_without_a_page_is_refused(as_manager, floor):
    path = f"/drive-models/{floor.drive_model.pk}/edit/"
    answer = as_manager.post(path, every_figure(floor.drive_model, page_charge_relief_bar=""))
    assert answer.status_code == 422 and "a source is a paper and a page" in answer.content.decode()


def test_two_managers_do_not_overwrite_each_other(as_manager, floor):
    path = f"/drive-models/{floor.drive_model.pk}/edit/"
    sent = every_figure(floor.drive_model, version=version_in(as_manager.get(path)))
    assert as_manager.post(path, sent | {"note": "first"}).status_code == 302
    second = as_manager.post(path, sent | {"note": "second", "token": "another form"})
    assert second.status_code == 409 and "first" in second.content.decode()


def test_only_the_manager_changes_a_model(as_technician, as_office, floor):
    for client in (as_technician, as_office):
        assert client.get(f"/drive-models/{floor.drive_model.pk}/edit/").status_code == 403
        assert client.get(f"/drive-models/{floor.drive_model.pk}/").status_code == 200


RULE = {"low": "5", "high": "9", "nominal": "20", "tolerance": "1,5", "share": "0.8"}


@pytest.mark.parametrize("form", list(FIGURES_OF_FORM))
def test_a_rule_of_every_form_is_taken_with_its_own_figures_alone(as_manager, floor, form):
    given = {"quantity": "charge_neutral", "direction": "", "form": form, "document": floor.document.pk, "page": "31", **RULE}
    assert as_manager.post(f"/drive-models/{floor.drive_model.pk}/rule/add/", given).status_code == 302
    rule = AcceptanceRule.objects.get()
    known = {name for name in RULE if getattr(rule, name) is not None}
    assert known == set(FIGURES_OF_FORM[form]) and rule.has_source
    assert rule_words(rule)


def test_a_rule_without_its_figure_is_refused_and_a_second_one_in_force_too(as_manager, floor):
    path = f"/drive-models/{floor.drive_model.pk}/rule/add/"
    answer = as_manager.post(path, {"quantity": "charge_neutral", "form": "band", "low": "5"})
    assert answer.status_code == 422 and "needs this figure" in answer.content.decode()
    good = {"quantity": "charge_neutral", "form": "band", "low": "5", "high": "9"}
    assert as_manager.post(path, good).status_code == 302
    second = as_manager.post(path, good)
    assert second.status_code == 422 and "retire it first" in second.content.decode()
    as_manager.post(f"/drive-models/rule/{AcceptanceRule.objects.get().pk}/retire/")
    assert as_manager.post(path, good).status_code == 302


def test_a_port_stands_in_the_map_once_for_a_quantity(as_manager, floor):
    given = {"code": "MA", "name": "Charge gallery", "quantity": "charge_neutral", "walk_order": "2"}
    path = f"/drive-models/{floor.drive_model.pk}/port/add/"
    assert as_manager.post(path, given).status_code == 302
    assert as_manager.post(path, given).status_code == 422
    assert Port.objects.count() == 1


def test_the_chart_tells_what_warmer_oil_changes_and_which_reading_moves(as_technician, floor):
    page = as_technician.get(f"/drive-models/{floor.drive_model.pk}/chart/", {"oil_temp_c": "80"}).content.decode()
    assert "Oil 60\u00a0°C → 80\u00a0°C: leakage" in page
    assert "case drain is the reading that moves most" in page and re.search(
        r"moves most \(pump \+\d+.%, motor \+\d+.%\), charge stroked next", page
    )
    assert "<svg" in page and "The same as figures" in page


def test_the_chart_works_as_a_plain_form_with_slider_or_box(as_technician, floor):
    path = f"/drive-models/{floor.drive_model.pk}/chart/"
    slid = as_technician.get(path, {"oil_temp_c": "60", "was_oil_temp_c": "60", "slide_oil_temp_c": "75"}).content.decode()
    boxed = as_technician.get(path, {"oil_temp_c": "75", "was_oil_temp_c": "60", "slide_oil_temp_c": "60"}).content.decode()
    assert "→ 75\u00a0°C" in slid and "→ 75\u00a0°C" in boxed


def test_a_moved_slider_asks_for_the_part_alone(as_technician, floor):
    part = as_technician.get(f"/drive-models/{floor.drive_model.pk}/chart/", {"part": "1", "command": "1"}).content.decode()
    assert part.lstrip().startswith("<div") and "<html" not in part


@pytest.mark.parametrize("junk", ["oil_temp_c=nan", "command=99", "load_bar=-5&wear_times=x", "machine=9999&oil=abc", "oil_temp_c=1e999"])
def test_junk_in_the_sliders_is_brought_into_range(as_technician, floor, junk):
    assert as_technician.get(f"/drive-models/{floor.drive_model.pk}/chart/?{junk}").status_code == 200


def test_the_chart_prints(as_technician, floor):
    answer = as_technician.get(f"/drive-models/{floor.drive_model.pk}/chart.pdf?oil_temp_c=80")
    assert answer["Content-Type"] == "application/pdf" and answer.content.startswith(b"%PDF")


def test_a_model_in_no_machine_with_a_known_wheel_says_what_to_do(as_technician, floor):
    floor.machine.rolling_radius_m = None
    floor.machine.save()
    page = as_technician.get(f"/drive-models/{floor.drive_model.pk}/chart/").content.decode()
    assert "no ground speed to show" in page


def test_with_a_fixed_motor_control_ends_at_full_pump_stroke(as_technician, floor):
    floor.drive_model.motor_displacement_min_cc = floor.drive_model.motor_displacement_max_cc
    floor.drive_model.save()
    page = as_technician.get(f"/drive-models/{floor.drive_model.pk}/chart/", {"command": "2"}).content.decode()
    assert "The motor is fixed" in page and "motor is flattened" not in page
    assert 'data-label="Control">1.00' in page and 'data-label="Control">1.25' not in page

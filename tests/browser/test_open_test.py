"""A test in progress on a tablet in a real browser: the network is cut in the middle, the lid is closed, and nothing is lost."""

import re

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import expect

from fleet.models import ConditionAssessment, Port
from shop.models import OpenTest, OpenTestMark
from shop.tests.actions import open_test
from shop.tests.marks import standing
from shop.tests.procedures import in_force, load_procedures

pytestmark = pytest.mark.django_db(transaction=True)
TABLET = {"width": 1024, "height": 768}
AXE = Axe()


@pytest.fixture
def opened(transactional_db, floor, technician) -> OpenTest:
    """A test of charge, drains and interlock, before and after a repair."""
    load_procedures()
    Port.objects.create(drive_model=floor.drive_model, code="CH", name="Charge gallery", thread="G 1/4", quantity="charge_neutral")
    procedures = in_force().filter(code__in=["T03", "T05", "T08", "T12"])
    return open_test(by=technician, unit=floor.unit, machine=floor.machine, procedures=procedures, columns="two")


def kept(page, words="Everything written is kept."):
    expect(page.locator("#kept")).to_have_text(words, timeout=10_000)


def fill(page, name, value):
    page.locator(f"[name='{name}']").fill(value)


def pick(page, name, value):
    page.locator(f"[name='{name}']").select_option(value)


def violations(page) -> list[str]:
    found = AXE.run(page).response["violations"]
    return [f"{one['id']}: {one['help']}: {node['html'][:160]}" for one in found for node in one["nodes"]]


def test_nothing_written_without_a_network_is_lost(opened, floor, technician, page, sign_in, snap, complaints, live_server):
    page.set_viewport_size(TABLET)
    go = sign_in(technician)
    go(f"/tests/{opened.pk}/")
    kept(page, "Every field is kept as you write it.")
    fill(page, "conditions-before-oil_temp", "60")
    fill(page, "conditions-before-engine_speed", "2300")
    fill(page, "conditions-before-idle_speed", "1000")
    fill(page, "conditions-before-loop_pressure", "200")
    kept(page)
    beside = page.locator("#beside-T03_3-before")
    expect(beside).to_contain_text(re.compile(r"Expected 22\.\d\sbar"))
    pick(page, "T03_2-before-instrument", str(floor.charge_gauge.pk))
    fill(page, "T03_2-before-value", "21.6")
    kept(page)

    page.context.set_offline(True)
    fill(page, "T03_3-before-value", "328")
    pick(page, "T03_3-before-value_unit", "psi")
    fill(page, "T05_2-before-value", "19.8")
    pick(page, "T12_1-before-found", "right")
    expect(page.locator("#kept")).to_contain_text("No connection", timeout=10_000)
    expect(page.locator("#kept")).to_contain_text("kept on this device")
    snap("open-test-offline")
    page.set_viewport_size(TABLET)
    assert "T03_3-before-value" not in standing(opened)
    page.get_by_role("button", name="Close the test and judge it").click()
    expect(page.locator("#kept")).to_contain_text("No connection")

    page.close()  # the lid goes down with the fields still unsent
    page.context.set_offline(False)
    again = page.context.new_page()
    again.set_viewport_size(TABLET)
    again.goto(f"{live_server.url}/tests/{opened.pk}/")
    kept(again)
    assert standing(opened)["T03_3-before-value"] == "328"
    assert standing(opened)["T03_3-before-value_unit"] == "psi"
    assert standing(opened)["T05_2-before-value"] == "19.8"
    assert standing(opened)["T12_1-before-found"] == "right"
    expect(again.locator("[name='T03_3-before-value']")).to_have_value("328")
    expect(again.locator("#beside-T03_3-before")).to_contain_text(f"{floor.charge_gauge.tag} (from T03)")
    assert (
        OpenTestMark.objects.filter(open_test=opened).values("key").distinct().count()
        == OpenTestMark.objects.filter(open_test=opened).count()
    )

    fill(again, "close-meter_h", "1212")
    again.get_by_role("button", name="Close the test and judge it").click()
    again.wait_for_url(re.compile(r"/tests/\d+/result/"))
    opened.refresh_from_db()
    read = opened.test_before.readings.get(quantity="charge_neutral")
    assert (read.typed, read.typed_unit) == ("328", "psi")
    assert read.value == pytest.approx(22.61, abs=0.01)
    assert ConditionAssessment.objects.in_force().get(reading=read).state == "inside"
    expect(again.locator("main")).to_contain_text("inside")
    assert [line for line in complaints if "ERR_INTERNET_DISCONNECTED" not in line and "Failed to load" not in line] == []


def test_a_slip_of_unit_is_asked_about_while_it_is_typed(opened, floor, technician, page, sign_in):
    go = sign_in(technician)
    go(f"/tests/{opened.pk}/")
    fill(page, "T03_3-before-value", "3000")
    tick = page.locator("[data-asks='T03_3-before']")
    expect(tick).to_be_visible(timeout=10_000)
    expect(page.locator("#beside-T03_3-before")).to_contain_text("was it read in kPa?")
    fill(page, "T03_3-before-value", "22.6")
    expect(tick).to_be_hidden(timeout=10_000)


def test_when_the_shift_ends_what_is_written_waits_for_the_next_sign_in(opened, technician, page, sign_in, client):
    go = sign_in(technician)
    go(f"/tests/{opened.pk}/")
    cookies = page.context.cookies()
    page.context.clear_cookies(name="sessionid")
    fill(page, "T03_3-before-value", "22.4")
    expect(page.locator("#kept")).to_contain_text("not signed in any more", timeout=10_000)
    page.context.add_cookies([cookie for cookie in cookies if cookie["name"] == "sessionid"])
    kept(page)
    assert standing(opened)["T03_3-before-value"] == "22.4"


def test_without_script_the_page_works_by_its_button(opened, floor, technician, browser, live_server, client):
    client.force_login(technician)
    context = browser.new_context(java_script_enabled=False)
    context.add_cookies([{"name": "sessionid", "value": client.cookies["sessionid"].value, "url": live_server.url}])
    page = context.new_page()
    page.goto(f"{live_server.url}/tests/{opened.pk}/")
    page.locator("[name='conditions-before-oil_temp']").fill("60")
    page.locator("[name='conditions-before-engine_speed']").fill("2300")
    page.locator("[name='T03_3-before-value']").fill("22,6")
    page.get_by_role("button", name="Keep what is written").last.click()
    expect(page.locator("main")).to_contain_text("fields kept")
    expect(page.locator("#beside-T03_3-before")).to_contain_text("Expected 22")
    page.locator("[name='close-meter_h']").fill("1212")
    page.get_by_role("button", name="Close the test and judge it").click()
    expect(page.locator("h1")).to_contain_text(str(opened))
    context.close()
    opened.refresh_from_db()
    assert opened.test_before.readings.get().value == 22.6


@pytest.mark.parametrize("size", [{"width": 1280, "height": 900}, {"width": 390, "height": 844}], ids=["desk", "phone"])
def test_the_pages_of_testing_have_no_faults_that_axe_can_find(opened, floor, manager, page, sign_in, snap, size):
    page.set_viewport_size(size)
    go = sign_in(manager)
    wrong = []
    pages = {
        "open-test": f"/tests/{opened.pk}/", "start-test": f"/drives/{floor.unit.pk}/test/", "tests": "/tests/", "procedures": "/procedures/",
        "procedure": "/procedures/T05/", "procedure-version": "/procedures/T05/new/", "diagnosis": f"/drives/{floor.unit.pk}/diagnosis/",
        "against-fleet": "/instruments/against-the-fleet/", "instrument": f"/instruments/{floor.charge_gauge.pk}/",
    }  # fmt: skip
    for name, address in pages.items():
        go(address)
        page.wait_for_load_state("networkidle")
        wide = page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")
        wrong += [f"{name}: {one}" for one in violations(page)] + ([f"{name} runs {wide} px out of the side"] if wide > 0 else [])
    go(f"/tests/{opened.pk}/")
    fill(page, "conditions-before-oil_temp", "60")
    fill(page, "conditions-before-engine_speed", "2300")
    fill(page, "T03_3-before-value", "22.4")
    kept(page)
    fill(page, "close-meter_h", "1212")
    page.get_by_role("button", name="Close the test and judge it").click()
    page.wait_for_url(re.compile(r"/result/"))
    wrong += [f"result: {one}" for one in violations(page)]
    assert wrong == []

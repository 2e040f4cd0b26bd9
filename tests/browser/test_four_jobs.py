"""The shop's whole round in a real browser: look up a machine, log a visit with readings, see them judged, see what is due, see the wear, open an
order from what was found, and print it."""

import io
import re
from datetime import date

import pytest
from django.contrib.auth import get_user_model
from playwright.sync_api import expect
from pypdf import PdfReader

from fleet.models import ConditionAssessment, HourReading, Machine
from shop.models import Visit, WorkOrder

pytestmark = pytest.mark.django_db(transaction=True)


def line_of(page, words: str):
    return page.locator("fieldset.line").filter(has=page.locator("legend", has_text=re.compile(f"^{re.escape(words)}"))).first


def write_reading(page, words: str, figure: str, unit: str, gauge: str | None = None, loop: str | None = None) -> None:
    line = line_of(page, words)
    line.locator("input[name$=-value]").fill(figure)
    line.locator("select[name$=-value_unit]").select_option(unit)
    if gauge:
        line.locator("select[name$=-instrument]").select_option(gauge)
    if loop:
        line.locator("input[name$=-loop_pressure]").fill(loop)


def test_the_whole_round_of_the_shop(demo_shop, page, sign_in, snap, complaints, live_server):
    technician = get_user_model().objects.get(username="tilde")
    machine = Machine.objects.get(number="M-00020")
    go = sign_in(technician)

    go("/")
    expect(page.get_by_role("heading", level=1)).to_be_visible()
    snap("today")
    page.keyboard.press("/")
    page.keyboard.type(machine.serial[-4:])
    page.keyboard.press("Enter")
    page.wait_for_url(re.compile("/(find|machines)/"))
    go(f"/machines/{machine.pk}/")
    snap("machine")

    page.get_by_role("link", name="Log a visit").first.click()
    snap("log-visit")
    last = HourReading.objects.accepted().of(machine).latest_first().first()
    page.fill("input[name=meter_h]", str(last.meter_h + 1))
    page.fill("input[name=oil_temp]", "62")
    page.fill("input[name=engine_speed]", "2200")
    gauge = page.locator("fieldset.line select[name$=-instrument]").first.locator("option", has_text="G-01").get_attribute("value")
    write_reading(page, "Charge pressure, neutral, high idle", "330", "bar", gauge)
    page.get_by_role("button", name="Log the visit").last.click()
    expect(page.get_by_role("alert")).to_contain_text("psi")
    assert not Visit.objects.filter(machine=machine, visited_at__date=date.today(), visited_by=technician).exists()
    snap("log-visit-asked")
    write_reading(page, "Charge pressure, neutral, high idle", "330", "psi", gauge)
    write_reading(page, "Charge pressure, stroked and loaded, forward", "19,4", "bar", gauge)
    drain = line_of(page, "Pump case drain flow")
    flow_meter = drain.locator("select[name$=-instrument] option").nth(1).get_attribute("value")
    write_reading(page, "Pump case drain flow", "21.5", "L/min", flow_meter, "200")
    page.locator("input[name$='-words'], textarea[name$='-words']").first.fill("Pump drain hose sweats at the crimp")
    page.get_by_role("button", name="Log the visit").last.dblclick()
    page.wait_for_url(re.compile(r"/visits/\d+/"))
    snap("visit")
    visit = Visit.objects.get(machine=machine, visited_at__date=date.today(), visited_by=technician)
    test = visit.tests.get()
    stored = test.readings.get(quantity="charge_neutral")
    assert (stored.typed, stored.typed_unit, stored.unit) == ("330", "psi", "bar")
    assert stored.value == pytest.approx(22.753, abs=0.001)
    judged = ConditionAssessment.objects.in_force().get(reading__drive_test=test, reading__quantity="pump_case_flow")
    assert judged.state == "outside high"
    assert judged.working
    expect(page.locator("main")).to_contain_text("outside high")

    go(f"/readings/{judged.reading_id}/working/")
    expect(page.locator("main")).to_contain_text("ASTM D341")
    snap("working")

    go("/due/")
    expect(page.locator("tbody tr").first).to_contain_text("over late limit")
    snap("due")
    page.fill("input[name=q]", "04720")
    page.get_by_role("button", name="Show").click()
    expect(page.locator("tbody tr").first).to_contain_text("M-00006")

    go("/wear/")
    expect(page.locator("tbody")).to_contain_text("D-00024")
    snap("wear")
    go("/drives/24/")
    chart = page.locator("svg.chart.large").first
    chart.focus()
    page.keyboard.press("End")
    expect(page.locator(".says").first).to_contain_text("x new")
    snap("drive")

    go(f"/visits/{visit.pk}/")
    page.get_by_role("button", name=re.compile("order", re.IGNORECASE)).first.click()
    page.wait_for_url(re.compile(r"/orders/\d+/"))
    snap("order")
    order = WorkOrder.objects.get(machine=machine, taken_in_at__date=date.today())
    assert order.lines.filter(words__icontains="hose sweats").exists()

    for paper in ("A4", "Letter"):
        answer = page.request.get(f"{live_server.url}/orders/{order.pk}/order.pdf?paper={paper}")
        assert answer.ok, answer.status
        sheets = PdfReader(io.BytesIO(answer.body()))
        text = "\n".join(sheet.extract_text() for sheet in sheets.pages)
        width = float(sheets.pages[0].mediabox.width)
        assert width == pytest.approx(595 if paper == "A4" else 612, abs=1)
        for words in (order.number, machine.serial, "Complaint", "50", "80", "skin"):
            assert words in text, words
    assert [line for line in complaints if "422" not in line] == []

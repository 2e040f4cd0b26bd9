"""From the phone call to the released order and its papers, in a browser, as the three who do it."""

import io

import pytest
from pypdf import PdfReader

from fleet.models import DriveTest, Reading
from shop.models import ServiceTask, Technician, WorkOrder

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def shop_floor(floor, technician):
    ServiceTask.objects.create(code="F1", name="Charge filter", kind="filter", cautions=["C2", "C3", "C4"])
    Technician.objects.create(name="Tilde Invented", user=technician)
    return floor


def take_test_after_repair(floor, technician):
    from django.utils import timezone

    test = DriveTest.objects.create(
        number="T-00001", unit=floor.unit, machine=floor.machine, tested_at=timezone.now(), tested_by=technician, life_h=1210, component_h=1210,
        oil_temp_c=60, engine_speed_rpm=2300, fluid=floor.oil, moment="after",
    )  # fmt: skip
    Reading.objects.create(drive_test=test, quantity="charge_neutral", typed="21.8", typed_unit="bar", value=21.8, unit="bar")


def test_from_the_call_to_the_release_as_three_roles(page, live_server, sign_in, snap, complaints, shop_floor, office, technician, manager):
    go = sign_in(office)
    go("/orders/")
    page.get_by_role("link", name="Take in a machine").click()
    page.get_by_label("A part of its serial").fill("00421")
    page.get_by_role("button", name="Look it up").click()
    page.get_by_role("link", name="HW180-00421").click()
    page.get_by_label("Who calls, and how to reach them").fill("Åse Brinkholm, 555 0101")
    page.get_by_label("Yes, or perhaps").check()
    page.get_by_label("Complaint, in the caller's words").fill("Slow when hot <b>and</b> uphill")
    page.get_by_label("Does it stand safely?").select_option("yes")
    page.get_by_label("Can it move?").select_option("no")
    page.get_by_label("Nearest symptom").select_option("slow_hot")
    page.get_by_role("button", name="Open the order").click()
    assert "surgical emergency" in page.get_by_role("alert").inner_text()
    assert page.get_by_label("Complaint, in the caller's words").input_value() == "Slow when hot <b>and</b> uphill"
    snap("order-call")
    page.get_by_label("No", exact=True).check()
    page.get_by_role("button", name="Open the order").click()
    order = WorkOrder.objects.get()
    assert page.url.endswith(f"/orders/{order.pk}/")
    assert "nothing brakes the machine" in page.inner_text("main")

    go = sign_in(technician)
    go(f"/orders/{order.pk}/")
    page.get_by_role("button", name="Begin diagnosing").click()
    page.get_by_role("link", name="Add a line").click()
    page.get_by_label("Task", exact=False).last.select_option(label="Charge filter")
    page.get_by_label("Because").fill("Filter indicator up when hot")
    page.get_by_role("button", name="Save").click()
    page.get_by_role("link", name="Start a clock").click()
    page.get_by_role("button", name="Start").click()
    page.get_by_role("button", name="Stop the clock").click()
    snap("order-bench")

    go = sign_in(office)
    go(f"/orders/{order.pk}/quote/")
    page.get_by_role("link", name="Write down the approval").click()
    page.locator("input[name=lines]").first.check()
    page.get_by_label("Who said so").select_option(label="Åse Brinkholm")
    page.get_by_label("Up to what sum").fill("500,00")
    page.get_by_label("Exact words").fill("Do it before Friday")
    page.get_by_role("button", name="Keep the approval").click()
    assert "Do it before Friday" in page.inner_text("aside")

    go = sign_in(technician)
    go(f"/orders/{order.pk}/story/")
    page.get_by_label("Cause").fill("Filter blocked")
    page.get_by_label("Correction").fill("Filter changed, charge 21.8 bar at 60 °C")
    page.get_by_role("button", name="Save").click()
    page.get_by_role("button", name="Done: Charge filter").click()
    page.locator("summary", has_text="Another state").click()
    page.get_by_role("button", name="Begin work").click()
    page.get_by_role("button", name="Begin final test").click()
    take_test_after_repair(shop_floor, technician)
    assert page.get_by_role("link", name="Release").count() == 0

    go = sign_in(manager)
    go(f"/orders/{order.pk}/")
    page.get_by_role("link", name="Release").click()
    page.get_by_role("button", name="Release the order").click()
    alert = page.get_by_role("alert").inner_text()
    assert "safe to work" in alert and "Read the cautions" in alert
    snap("order-release")
    page.get_by_label("I have read the cautions above").check()
    page.get_by_label("I have seen what is due next").check()
    page.get_by_label("Hour meter now").fill("1215.0")
    page.get_by_label("Safe to work").select_option("yes")
    page.get_by_role("button", name="Release the order").click()
    assert "is released" in page.inner_text("main")
    snap("order-released")
    body = page.request.get(f"{live_server.url}/orders/{order.pk}/order.pdf").body()
    words = " ".join(" ".join(sheet.extract_text() for sheet in PdfReader(io.BytesIO(body)).pages).split())
    for wanted in (
        "Slow when hot <b>and</b> uphill",
        "Filter changed, charge 21.8 bar at 60 °C",
        "Do it before Friday",
        "Safe to work",
        "☑ 1 Charge filter",
    ):
        assert wanted in words
    for paper in ("label.pdf", "warranty.pdf", "quote.pdf"):
        assert page.request.get(f"{live_server.url}/orders/{order.pk}/{paper}").body().startswith(b"%PDF-")
    assert [found for found in complaints if "status of 422" not in found] == []

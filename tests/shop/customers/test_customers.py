"""Customers: numbered, changed by two people without loss, retired and never deleted."""

import pytest

from fleet.models import Contact, Customer
from tests.shop.asking import another_machine, questions_of, token_in, version_in

FORM = {"name": "Ørsted & Søn", "preferred_channel": "phone"}


def test_the_list_asks_the_same_of_the_database_for_five_customers_as_for_fifty(as_office, floor):
    def fill(numbers):
        for number in numbers:
            Customer.objects.create(number=f"C-{number:05d}", name=f"Farm {number}")

    fill(range(2, 6))
    few = questions_of(as_office, "/customers/")
    fill(range(6, 51))
    assert questions_of(as_office, "/customers/") == few


def test_a_name_is_found_without_its_accents(as_office, floor):
    Customer.objects.create(number="C-00009", name="Ørsted & Søn")
    assert "Ørsted" in as_office.get("/customers/?q=orsted").content.decode()


def test_a_customer_is_added_once_with_a_number(as_office, floor):
    token = token_in(as_office.get("/customers/add/"))
    first = as_office.post("/customers/add/", FORM | {"token": token, "stop_cost_per_hour_cents": "350,00"})
    again = as_office.post("/customers/add/", FORM | {"token": token})
    made = Customer.objects.get(name="Ørsted & Søn")
    assert first.url == again.url == f"/customers/{made.pk}/"
    assert made.number == "C-00002" and made.stop_cost_per_hour_cents == 35_000


def test_two_people_who_change_one_customer_meet(as_office, as_manager, floor):
    path = f"/customers/{floor.customer.pk}/edit/"
    version = version_in(as_office.get(path))
    assert as_manager.post(path, FORM | {"name": "Brinkholm Gods", "version": version}).status_code == 302
    second = as_office.post(path, FORM | {"name": "Brinkholm Estate", "phone": "0123", "version": version})
    assert second.status_code == 409 and "Brinkholm Gods" in second.content.decode() and "0123" in second.content.decode()


def test_a_retired_customer_leaves_the_list_and_keeps_the_page(as_office, floor):
    path = f"/customers/{floor.customer.pk}/"
    assert as_office.post(f"{path}retire/", {"version": floor.customer.version}).status_code == 302
    assert "Brinkholm" not in as_office.get("/customers/").content.decode().split("<table")[1]
    assert "Brinkholm" in as_office.get("/customers/?with_retired=on").content.decode()
    assert "retired" in as_office.get(path).content.decode()
    assert as_office.post(f"{path}retire/", {"version": 1}).status_code == 409


def test_an_approval_limit_is_only_for_people_who_may_approve(as_office, floor):
    path = f"/customers/{floor.customer.pk}/contact/add/"
    refused = as_office.post(path, {"name": "Ivo", "approval_limit_cents": "100"})
    assert refused.status_code == 422 and "only for people who may approve" in refused.content.decode()
    assert as_office.post(path, {"name": "Ivo", "may_approve": "on", "approval_limit_cents": "1 500"}).status_code == 302
    assert Contact.objects.get(name="Ivo").approval_limit_cents == 150_000


def test_a_site_stands_once_under_its_name(as_office, floor):
    path = f"/customers/{floor.customer.pk}/site/add/"
    refused = as_office.post(path, {"name": "Home yard", "drive_minutes": "20"})
    assert refused.status_code == 422 and "already has a site named Home yard" in refused.content.decode()


def test_the_page_holds_machines_and_approvers(as_technician, floor):
    another_machine(floor, 2)
    page = as_technician.get(f"/customers/{floor.customer.pk}/").content.decode()
    assert "M-00002" in page and "Åse Brinkholm" in page and "2\u202f500.00" in page


@pytest.mark.parametrize("path", ["/customers/add/", "/customers/{}/edit/", "/customers/{}/site/add/", "/customers/{}/contact/add/"])
def test_a_technician_does_not_keep_customers(as_technician, floor, path):
    assert as_technician.get(path.format(floor.customer.pk)).status_code == 403

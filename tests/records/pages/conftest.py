"""One full shop for the pages to be walked through; every text in it is markup. It is rolled back at the end."""

import re
from dataclasses import dataclass
from datetime import date

import pytest
from django.db import connection, transaction
from django.test import Client
from django.test.utils import CaptureQueriesContext, override_settings
from django.urls import URLPattern, get_resolver, reverse

from fleet.assess import assess_all
from fleet.models import (
    Calibration,
    Contact,
    Customer,
    DriveModel,
    DriveTest,
    DriveUnit,
    FluidFill,
    FluidProduct,
    HourReading,
    Instrument,
    Machine,
    Reading,
    Site,
)  # fmt: skip
from shop.demo.fill import fill
from shop.keeping.tables import count_over, sums
from shop.models import ChangeEntry, HeldPart, LabourEntry, OrderLine, Paper, Part, Visit, WorkOrder
from tests.conftest import signed_in
from tests.records.pages.stock import models_of_ours, poison, stock_the_rest

AS_OF = date(2026, 11, 25)
OTHER_WORDS = {"table": "fleet.machine", "place": "order"}
BY_FOLDER = {
    "people": None, "orders": WorkOrder, "drives": DriveUnit, "parts": Part, "papers": Paper, "machines": Machine, "readings": Reading,
    "drive-models": DriveModel, "customers": Customer, "visits": Visit, "fluids": FluidProduct, "instruments": Instrument, "calibrations": Calibration,
}  # fmt: skip
BY_NAME = {
    "order_line": OrderLine, "line_done": OrderLine, "issue_part": OrderLine, "return_part": OrderLine, "hold_part": OrderLine, "edit_site": Site,
    "settle_part": HeldPart, "print_tag": HeldPart, "stop_clock": LabourEntry, "edit_contact": Contact, "new_papers": WorkOrder, "take_in": Machine, "pick_machine": Machine,
    "correct_fill": FluidFill, "correct_test": DriveTest, "correct_reading": Reading, "correct_hours": HourReading,
}  # fmt: skip


@dataclass
class Seen:
    name: str
    address: str
    status: int
    headers: dict
    body: bytes
    questions: int

    @property
    def is_page(self) -> bool:
        return self.headers.get("Content-Type", "").startswith("text/html")

    @property
    def text(self) -> str:
        return self.body.decode()


@pytest.fixture(scope="package")
def full_shop(django_db_setup, django_db_blocker, tmp_path_factory):
    """The demo shop with a row of every kind and markup in every text; some of its readings judged."""
    with django_db_blocker.unblock(), override_settings(MEDIA_ROOT=tmp_path_factory.mktemp("papers")), transaction.atomic():
        book = fill(AS_OF)
        assess_all(Reading.objects.filter(drive_test__unit__in=DriveUnit.objects.order_by("pk")[:3]))
        stock_the_rest(book.users["marta"])
        book.poisoned = poison(0)
        count_over()
        yield book
        transaction.set_rollback(True)


def addresses(book) -> dict[str, list[str]]:
    """Return addresses of every named page, with numbers of records that exist."""
    found = {}
    for pattern in get_resolver().url_patterns:
        if isinstance(pattern, URLPattern):
            found[pattern.name] = [reverse(pattern.name, kwargs=given) for given in numbers_for(pattern, book)]
    return found


def numbers_for(pattern, book) -> list[dict]:
    wanted = pattern.pattern.converters
    if "pk" not in wanted:
        return [{}] if not wanted else []
    model = BY_NAME.get(pattern.name) or BY_FOLDER.get(str(pattern.pattern).split("/")[0], Machine) or type(book.users["marta"])
    numbers = model._base_manager.order_by("pk").values_list("pk", flat=True)
    given = {"table": "fleet.machine", "place": "order"}
    return [
        {"pk": pk, **{name: given[name] for name in wanted if name in given}} for pk in dict.fromkeys([numbers.first(), numbers.last()])
    ]


@pytest.fixture(scope="package")
def walk(full_shop, django_db_blocker):
    """Every page as the manager sees it, and the sums of all tables before and after."""
    client = signed_in(full_shop.users["marta"])
    client.raise_request_exception = False
    client.get("/account/")
    before = _facts()
    seen = []
    for name, several in addresses(full_shop).items():
        if name != "sign_out":
            looked = [_look(client, name, address) for address in several]
            seen += looked if any(page.status != 404 for page in looked) or not looked else [_first_found(client, name)]
    return seen, before, _facts()


def _first_found(client: Client, name: str) -> Seen:
    """Look at a page with the number of a record of each kind in turn, until there is one; for pages that are not in the tables above."""
    pattern = next(p for p in get_resolver().url_patterns if getattr(p, "name", "") == name)
    given = {key: value for key, value in OTHER_WORDS.items() if key in pattern.pattern.converters}
    numbers = {model._base_manager.order_by("pk").values_list("pk", flat=True).last() for model in models_of_ours()}
    for number in sorted(numbers):
        page = _look(client, name, reverse(name, kwargs={"pk": number, **given}))
        if page.status != 404:
            break
    return page


def _look(client: Client, name: str, address: str) -> Seen:
    with CaptureQueriesContext(connection) as asked:
        answer = client.get(address)
    body = b"".join(answer.streaming_content) if answer.streaming else answer.content
    return Seen(name, address, answer.status_code, dict(answer.headers), body, sum(one["sql"].startswith("SELECT") for one in asked))


def _facts() -> dict:
    doors = re.compile("django_session|axes_|shop_person|auth_user$")
    return {name: total for name, total in sums().items() if not doors.match(name)} | {"entries": ChangeEntry.objects.count()}

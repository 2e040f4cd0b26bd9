"""Whatever stands in the address of a list, the list is shown, short, and leads nowhere else."""

import re

import pytest
from django.http import HttpResponse, QueryDict
from django.test import RequestFactory
from django.urls import URLPattern, get_resolver, reverse

from tests.records.keys_read import EVERYTHING, keys_read

HUGE = "9" * 40
JUNK = (
    "page=-1", "page=0", "page=x", f"page={HUGE}", "page=1.5", "page=%00", "page=1&page=2", "per_page=-1", "per_page=0", "per_page=1000000",
    "per_page=1e20", "per_page=x", "sort=nothing", "sort=-", "sort=--pk", "sort=password", "sort=pk;DROP TABLE x", "sort=%00", "sort=recorded_by__password",
    "q=%00", "q=%27%22%3C%3E", f"q={'x' * 5000}", "q=%F0%9F%91%8D", "q=%25", "q=_", "q=\\", "q=%C3%28", "customer=999999", "customer=x", f"customer={HUGE}",
    "machine=-1", "kind=nothing", "state=nothing", "from=2025-02-30", "to=99999-01-01", "day=0000-00-00", "weeks=-5", "format=../../etc/passwd",
    "next=//zz.example/", "id=1&id=2&id=x", f"ids={HUGE},x", "as_of=2025-13-01", "unit=x&quantity=x&direction=x", "region=%00&gap=nan",
)  # fmt: skip


def lists() -> list[str]:
    plain = [p for p in get_resolver().url_patterns if isinstance(p, URLPattern) and not p.pattern.converters]
    return sorted(reverse(p.name) for p in plain if p.name not in ("sign_out", "sign_in"))


def worth_trying(look) -> list[str]:
    """Return the junk to try: each piece that has a key the page reads, and all the rest at once, since what is not read can change nothing."""
    with keys_read() as read:
        look("")
    alone = [junk for junk in JUNK if EVERYTHING in read or read & set(QueryDict(junk))]
    rest = "&".join(junk for junk in JUNK if junk not in alone)
    return [*alone, rest] if rest else alone


def wrong_with(answer) -> list[str]:
    away = answer.get("Location", "/")
    found = [f"{answer.status_code} {away}"] if answer.status_code >= 500 or away[:2] == "//" or "zz.example" in away else []
    rows = len(re.findall(rb"<tr", answer.content)) if not answer.streaming else 0
    return found + ([f"{rows} rows"] if rows > 200 else [])


def test_junk_in_the_address_breaks_no_list(as_manager, floor):
    wrong = {}
    for address in lists():
        for junk in worth_trying(lambda query, address=address: as_manager.get(f"{address}?{query}")):
            found = wrong_with(as_manager.get(f"{address}?{junk}"))
            wrong |= {f"{address}?{junk[:60]}": found} if found else {}
    assert wrong == {}


@pytest.mark.parametrize(
    ("page", "tried"),
    [
        (lambda request: request.GET.get("per_page"), {"per_page"}),
        (lambda request: "q" in request.GET, {"q"}),
        (lambda request: request.GET.getlist("id"), {"id"}),
        (lambda request: request.GET.get("gap") or request.GET.get("day"), {"gap", "region", "day"}),
        (lambda request: request.path, set()),
    ],
)
def test_what_a_page_reads_is_tried_alone_and_the_rest_together(page, tried):
    *alone, rest = worth_trying(lambda query: page(RequestFactory().get(f"/?{query}")))
    assert {key for junk in alone for key in QueryDict(junk)} == tried
    assert sorted("&".join([*alone, rest]).split("&")) == sorted("&".join(JUNK).split("&"))


@pytest.mark.parametrize(
    "page",
    [
        lambda request: request.GET.urlencode(), lambda request: request.GET.copy(), lambda request: request.GET.dict(), lambda request: list(request.GET.items()),
        lambda request: dict(request.GET), lambda request: {**request.GET}, lambda request: request.GET or None, lambda request: [*request.GET],
        lambda request: request.get_full_path(), lambda request: request.build_absolute_uri(), lambda request: request.GET == {}, lambda request: f"{request.GET}",
        lambda request: list(request.GET.lists()), lambda request: request.META["QUERY_STRING"], lambda request: request.environ.get("QUERY_STRING"),
    ],
)  # fmt: skip
def test_a_page_that_goes_through_all_keys_is_tried_with_each(page):
    assert worth_trying(lambda query: page(RequestFactory().get(f"/?{query}"))) == list(JUNK)


def test_the_probe_for_junk_bites():
    assert (
        wrong_with(HttpResponse(status=500))
        and wrong_with(HttpResponse(headers={"Location": "//zz.example/"}))
        and wrong_with(HttpResponse("<tr>" * 201))
    )
    assert wrong_with(HttpResponse("<tr>" * 200, headers={"Location": "/drives/"})) == []


def test_there_are_lists_to_try():
    assert len(JUNK) >= 40 and len(lists()) > 15


def test_no_list_shows_more_rows_than_a_page_holds_whatever_is_asked(as_manager, floor):
    from fleet.models import Customer

    Customer.objects.bulk_create(Customer(number=f"C-{k:05d}", name=f"Many {k}") for k in range(1000, 1300))
    for asked in ("", "?per_page=100000", "?per_page=-1"):
        assert 2 <= as_manager.get(f"/customers/{asked}").content.count(b"<tr") <= 30


@pytest.mark.parametrize("number", [0, 10**18, 10**30])
def test_a_number_beyond_all_records_is_not_found(as_manager, floor, number):
    wrong = []
    for pattern in get_resolver().url_patterns:
        if isinstance(pattern, URLPattern) and "pk" in pattern.pattern.converters:
            others = {name: "fleet.machine" if name == "table" else "machine" for name in pattern.pattern.converters if name != "pk"}
            status = as_manager.get(reverse(pattern.name, kwargs={"pk": number, **others})).status_code
            wrong += [] if status in (404, 405) else [f"{pattern.name}: {status}"]
    assert wrong == []

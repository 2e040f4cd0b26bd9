"""Whatever stands in the address of a list, the list is shown, short, and leads nowhere else."""

import re
from itertools import product

import pytest
from django.urls import URLPattern, get_resolver, reverse

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


def test_junk_in_the_address_breaks_no_list(as_manager, floor):
    wrong = []
    for address, junk in product(lists(), JUNK):
        answer = as_manager.get(f"{address}?{junk}")
        if answer.status_code >= 500 or answer.get("Location", "/")[:2] == "//" or "zz.example" in answer.get("Location", ""):
            wrong.append(f"{address}: {answer.status_code} {answer.get('Location', '')}")
        rows = len(re.findall(rb"<tr", answer.content)) if not answer.streaming else 0
        wrong += [f"{address}: {rows} rows"] if rows > 200 else []
    assert wrong == []


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

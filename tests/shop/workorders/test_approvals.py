"""An approval holds only within what the person may approve, and stays as it was given."""

import pytest
from django.utils import timezone

from fleet.models import Contact
from shop.models import Approval, OrderLine
from shop.refusals import Refused
from shop.workorders.approvals import record_approval
from shop.workorders.lines import add_line, change_line
from shop.workorders.totals import cents_by_urgency, order_cents, spoken_money


@pytest.fixture
def line(bench, manager):
    return add_line(by=manager, order=bench.order, kind="labour", words="Reseal", quantity=10, price_each_cents=9_500)


def approve(bench, manager, floor, lines, **more):
    given = {"contact": floor.approver, "channel": "phone", "words": "go ahead", "limit_cents": 300_000, "given_at": timezone.now()} | more
    return record_approval(by=manager, order=bench.order, lines=lines, **given)


def test_an_approval_keeps_words_channel_limit_and_lines(bench, manager, floor, line):
    kept = approve(bench, manager, floor, [line])
    assert (kept.words, kept.channel, kept.limit_cents) == ("go ahead", "phone", 300_000)
    assert kept.lines == [{"line": line.pk, "words": "Reseal", "cents": 95_000}]
    assert OrderLine.objects.get(pk=line.pk).is_approved is True
    line.refresh_from_db()
    change_line(by=manager, line=line, version=line.version, words="Reseal and more", price_each_cents=20_000)
    assert Approval.objects.get().lines[0]["cents"] == 95_000


def test_above_a_persons_limit_is_refused_with_the_reason(bench, manager, floor, line):
    big = add_line(by=manager, order=bench.order, kind="part", words="Pump", quantity=1, price_each_cents=200_000)
    with pytest.raises(Refused, match="may approve up to"):
        approve(bench, manager, floor, [line, big])
    approve(bench, manager, floor, [line])
    with pytest.raises(Refused, match="approved before"):
        approve(bench, manager, floor, [big])
    assert Approval.objects.count() == 1


def test_above_the_sum_that_was_said_is_refused(bench, manager, floor, line):
    with pytest.raises(Refused, match="above the"):
        approve(bench, manager, floor, [line], limit_cents=90_000)


def test_somebody_who_may_not_approve_is_refused(bench, manager, floor, line):
    driver = Contact.objects.create(customer=floor.customer, name="Driver")
    with pytest.raises(Refused, match="may not approve"):
        approve(bench, manager, floor, [line], contact=driver)


def test_sums_are_exact_in_cents_and_what_was_refused_does_not_count(bench, manager, floor):
    odd = add_line(by=manager, order=bench.order, kind="labour", words="a", quantity="0.33", price_each_cents=9_999)
    refused = add_line(by=manager, order=bench.order, kind="part", words="b", quantity=3, price_each_cents=3_333, urgency="can_wait")
    lines = list(bench.order.lines.all())
    assert cents_by_urgency(lines) == {"now": 3_300, "before_season": 0, "can_wait": 9_999}
    approve(bench, manager, floor, [odd], refused=[refused])
    assert order_cents(bench.order.lines.all()) == 3_300
    assert spoken_money(123_456) == "1\u202f234.56\u00a0EUR"

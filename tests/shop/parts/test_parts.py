"""The shelf adds up, numbers follow one another, and nobody takes the same last part twice."""

from datetime import date
from decimal import Decimal

import pytest

from shop.models import OrderLine, Part, StockMove
from shop.parts.actions import count_part, issue_part, issued_to, receive_part, return_part, stock_of
from shop.parts.numbers import earlier_numbers, standing_part
from shop.parts.rows import oldest_good_until
from shop.refusals import Refused
from shop.workorders.actions import move_order, open_order


@pytest.fixture
def part(db):
    return Part.objects.create(number="F-100", name="Filter", price_cents=4_150)


@pytest.fixture
def line(part, floor, manager):
    order = open_order(by=manager, machine=floor.machine)
    return OrderLine.objects.create(order=order, kind="part", words=str(part), part=part, quantity=2, price_each_cents=4_150)


def test_received_issued_and_returned_add_up(part, line, manager):
    receive_part(by=manager, part=part, quantity=Decimal(5))
    issue_part(by=manager, line=line, quantity=Decimal(2))
    return_part(by=manager, line=line, quantity=Decimal("0.5"))
    assert (stock_of(part), issued_to(line)) == (Decimal("3.5"), Decimal("1.5"))


def test_more_than_lies_there_is_not_issued(part, line, manager):
    receive_part(by=manager, part=part, quantity=Decimal(1))
    with pytest.raises(Refused, match="1 pc on the shelf, 2 wanted"):
        issue_part(by=manager, line=line, quantity=Decimal(2))
    assert StockMove.objects.count() == 1


def test_more_than_was_issued_does_not_come_back(part, line, manager):
    receive_part(by=manager, part=part, quantity=Decimal(5))
    issue_part(by=manager, line=line, quantity=Decimal(1))
    with pytest.raises(Refused, match="cannot come back"):
        return_part(by=manager, line=line, quantity=Decimal(2))


def test_a_count_puts_the_shelf_right_and_stays_on_record(part, manager):
    receive_part(by=manager, part=part, quantity=Decimal(5))
    count_part(by=manager, part=part, counted=Decimal(3))
    count_part(by=manager, part=part, counted=Decimal(3))
    assert stock_of(part) == 3
    assert [move.quantity for move in part.moves.filter(kind="counted")] == [-2, 0]


def test_nothing_is_issued_to_an_order_that_has_ended(part, line, manager):
    receive_part(by=manager, part=part, quantity=Decimal(5))
    move_order(by=manager, order=line.order, to="cancelled", version=line.order.version, reason="sold")
    with pytest.raises(Refused, match="cancelled"):
        issue_part(by=manager, line=line, quantity=Decimal(1))


def test_a_number_resolves_to_the_last_that_follows_it(db):
    last = Part.objects.create(number="C", name="c")
    middle = Part.objects.create(number="B", name="b", superseded_by=last)
    first = Part.objects.create(number="A", name="a", superseded_by=middle)
    assert standing_part(first) == standing_part(middle) == standing_part(last) == last
    assert earlier_numbers(last) == [middle, first]


def test_numbers_in_a_circle_end_and_the_form_refuses_them(as_manager, db):
    a, b = Part.objects.create(number="A", name="a"), Part.objects.create(number="B", name="b")
    Part.objects.filter(pk=a.pk).update(superseded_by=b)
    sent = {
        "number": "B",
        "name": "b",
        "unit": "pc",
        "lead_days": "0",
        "price_cents": "1",
        "superseded_by": a.pk,
        "version": b.version,
        "token": "t",
    }
    answer = as_manager.post(f"/parts/{b.pk}/change/", sent)
    assert answer.status_code == 422 and b"in a circle" in answer.content
    Part.objects.filter(pk=b.pk).update(superseded_by=a)
    assert standing_part(Part.objects.get(pk=a.pk)).number in "AB"


def test_the_oldest_piece_left_says_how_long_the_shelf_is_good(part, manager):
    part.shelf_months = 6
    part.save()
    for day, quantity, kind in (("2026-01-31", 2, "received"), ("2026-05-10", 3, "received"), ("2026-06-01", -2, "issued")):
        move = StockMove.objects.create(part=part, kind=kind, quantity=quantity, moved_at=f"{day}T09:00:00Z", recorded_by=manager)
        if day == "2026-01-31":
            assert oldest_good_until(part, date(2026, 2, 1)) == date(2026, 7, 31)
    assert move.quantity == -2
    assert oldest_good_until(part, date(2026, 6, 2)) == date(2026, 11, 10)


@pytest.mark.parametrize("typed, cents", [("41.50", 4150), ("41,5", 4150), ("1 234,56", 123456), ("0", 0)])
def test_a_price_is_kept_in_whole_cents(typed, cents, as_manager, db):
    answer = as_manager.post(
        "/parts/new/", {"number": "X", "name": "x", "unit": "pc", "lead_days": "0", "price_cents": typed, "token": "t"}
    )
    assert answer.status_code == 302
    assert Part.objects.get().price_cents == cents


def test_pages_of_parts_answer_by_right(part, as_manager, as_technician, as_stranger):
    for page in ("/parts/", f"/parts/{part.pk}/"):
        assert as_technician.get(page).status_code == 200
        assert as_stranger.get(page).status_code == 302
    for page in (
        "/parts/new/",
        f"/parts/{part.pk}/receive/",
        f"/parts/{part.pk}/count/",
        f"/parts/{part.pk}/change/",
        f"/parts/{part.pk}/kit/",
    ):
        assert as_manager.get(page).status_code == 200
        assert as_technician.get(page).status_code == 403
    assert as_manager.post(f"/parts/{part.pk}/receive/", {"quantity": "3", "token": "a"}).status_code == 302
    assert as_manager.post(f"/parts/{part.pk}/count/", {"quantity": "2", "token": "b"}).status_code == 302
    assert stock_of(part) == 2

"""The pages of an order: from the call to the release as three roles, and whoever may not is refused."""

import io
from decimal import Decimal

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from pypdf import PdfReader

from shop.models import Approval, FormToken, HeldPart, LabourEntry, OrderLine, Part, WorkOrder
from shop.workorders.actions import open_order, write_story
from shop.workorders.intake import HOSPITAL

CALL = {
    "caller": "Åse Brinkholm, 555 0101",
    "hurt": "no",
    "safe": "yes",
    "moves": "barely",
    "complaint": "Slow when hot",
    "symptom": "slow_hot",
}
PAGES = (
    "",
    "story/",
    "line/",
    "quote/",
    "approval/",
    "clock/",
    "hours/",
    "failure/",
    "warranty/",
    "order.pdf",
    "quote.pdf",
    "label.pdf",
    "warranty.pdf",
)


def words_of(answer) -> str:
    return answer.content.decode()


def test_an_order_goes_from_the_call_to_the_release_as_three_roles(as_office, as_technician, as_manager, floor, hands, task, tested):
    answer = as_office.post(f"/orders/new/{floor.machine.pk}/", CALL | {"token": "call"})
    order = WorkOrder.objects.get()
    assert answer.url == f"/orders/{order.pk}/"
    as_technician.post(f"/orders/{order.pk}/move/", {"version": order.version, "to": "diagnosing", "token": "m1"})
    as_technician.post(f"/orders/{order.pk}/line/", {"kind": "task", "task": task.pk, "quantity": "1", "urgency": "now", "token": "l1"})
    as_technician.post(
        f"/orders/{order.pk}/line/",
        {
            "kind": "labour",
            "words": "Reseal pump",
            "quantity": "4,5".replace(",", "."),
            "price_each_cents": "95,00",
            "urgency": "now",
            "token": "l2",
        },
    )
    labour = order.lines.get(kind="labour")
    assert labour.price_each_cents == 9_500
    as_office.post(
        f"/orders/{order.pk}/approval/",
        {
            "lines": [line.pk for line in order.lines.all()],
            "contact": floor.approver.pk,
            "channel": "phone",
            "limit_cents": "500",
            "words": "do it",
            "token": "a1",
        },
    )
    assert Approval.objects.get().limit_cents == 50_000
    for to in ("in_work", "final_test"):
        order.refresh_from_db()
        as_technician.post(f"/orders/{order.pk}/move/", {"version": order.version, "to": to, "token": to})
    order.refresh_from_db()
    story = {
        "complaint": order.complaint,
        "symptom": "slow_hot",
        "cause": "Seal gone",
        "correction": "Resealed",
        "caller": order.caller,
        "version": order.version,
    }
    as_technician.post(f"/orders/{order.pk}/story/", story | {"token": "s1"})
    for line in order.lines.all():
        as_technician.post(f"/orders/line/{line.pk}/done/", {"version": line.version})
    tested()
    assert as_technician.get(f"/orders/{order.pk}/release/").status_code == 403
    assert "Charge filter" not in words_of(as_manager.get(f"/orders/{order.pk}/release/")).split("Still open")[-1][:200]
    order.refresh_from_db()
    said = {"version": order.version, "meter_h": "1215.0", "fitness": "yes", "cautions_read": "on", "next_due_told": "on", "token": "r1"}
    answer = as_manager.post(f"/orders/{order.pk}/release/", said)
    assert answer.status_code == 302, words_of(answer)
    order.refresh_from_db()
    assert order.state == "released"
    pdf = as_office.get(f"/orders/{order.pk}/order.pdf")
    text = "\n".join(page.extract_text() for page in PdfReader(io.BytesIO(pdf.content)).pages)
    for words in ("Resealed", "Seal gone", "Released by", "Marta Invented", "do it", "Åse Brinkholm"):
        assert words in text
    assert as_office.get(f"/orders/{order.pk}/label.pdf").status_code == 200


def test_a_hurt_person_comes_before_the_order(as_office, floor):
    answer = as_office.post(f"/orders/new/{floor.machine.pk}/", CALL | {"hurt": "yes"})
    assert answer.status_code == 422
    assert HOSPITAL in words_of(answer).replace("&#x27;", "'")
    assert "Slow when hot" in words_of(answer)
    assert WorkOrder.objects.count() == 0
    assert as_office.post(f"/orders/new/{floor.machine.pk}/", CALL | {"hurt": "yes", "looked_after": "on"}).status_code == 302


def test_the_call_shows_what_the_book_knows(as_office, office, floor):
    open_order(by=office, machine=floor.machine, complaint="creeps at the gate")
    words = words_of(as_office.get(f"/orders/new/{floor.machine.pk}/"))
    for known in ("creeps at the gate", "D-00001", "Fenoil Hydrol 46", "1\u202f210.0", "Warranty"):
        assert known in words


def test_the_call_sent_twice_opens_one_order(as_office, floor):
    for _ in range(2):
        answer = as_office.post(f"/orders/new/{floor.machine.pk}/", CALL | {"token": "same"})
        assert answer.url == f"/orders/{WorkOrder.objects.get().pk}/"
    assert FormToken.objects.filter(token="same").count() == 1


@pytest.mark.parametrize("page", PAGES)
def test_a_page_answers_those_who_may_and_sends_a_stranger_to_the_door(page, bench, as_manager, as_technician, as_office, as_stranger):
    address = f"/orders/{bench.order.pk}/{page}"
    for client in (as_manager, as_technician, as_office):
        assert client.get(address).status_code == 200
    answer = as_stranger.get(address)
    assert (answer.status_code, answer.url.startswith("/sign-in/")) == (302, True)


@pytest.mark.parametrize("page", PAGES)
def test_an_order_that_is_not_there_is_not_found(page, as_manager):
    assert as_manager.get(f"/orders/987654/{page}").status_code == 404


def test_two_who_write_the_story_see_each_others_words(bench, manager, as_technician):
    version = bench.order.version
    write_story(by=manager, order=bench.fresh(), version=version, cause="Written by Marta", correction="")
    mine = {"complaint": "slow", "symptom": "slow_hot", "cause": "Written by Tilde", "correction": "x", "version": version, "token": "t"}
    answer = as_technician.post(f"/orders/{bench.order.pk}/story/", mine)
    assert answer.status_code == 409
    assert "Written by Marta" in words_of(answer) and "Written by Tilde" in words_of(answer)
    assert bench.fresh().cause == "Written by Marta"
    again = mine | {"version": bench.order.version, "token": "t2"}
    assert as_technician.post(f"/orders/{bench.order.pk}/story/", again).status_code == 302
    assert bench.fresh().cause == "Written by Tilde"


def test_two_who_change_a_line_see_each_others_words(bench, as_technician, as_office):
    line = bench.order.lines.get()
    mine = {"words": "Charge filter, theirs", "quantity": "1", "urgency": "now", "state": "open", "version": line.version}
    assert as_office.post(f"/orders/line/{line.pk}/", mine | {"token": "1"}).status_code == 302
    answer = as_technician.post(f"/orders/line/{line.pk}/", mine | {"words": "Charge filter, mine", "token": "2"})
    assert answer.status_code == 409
    assert "theirs" in words_of(answer) and "mine" in words_of(answer)


def test_a_tick_on_a_line_changed_meanwhile_changes_nothing(bench, as_technician):
    line = bench.order.lines.get()
    answer = as_technician.post(f"/orders/line/{line.pk}/done/", {"version": line.version + 5})
    assert answer.status_code == 409
    assert OrderLine.objects.get().state == "open"


def test_a_refused_move_says_why_on_the_order(bench, as_technician):
    answer = as_technician.post(f"/orders/{bench.order.pk}/move/", {"version": 1, "to": "collected", "token": "t"}, follow=True)
    assert "cannot go to collected" in words_of(answer)


def test_markup_in_any_field_stays_words(as_office, floor, office):
    bad = "<b>x</b><script>alert(1)</script>{{ 7 }}"
    order = open_order(by=office, machine=floor.machine, complaint=bad, caller=bad[:160], intake={"noise": bad})
    from shop.workorders.lines import add_line

    add_line(by=office, order=order, words=bad, evidence=bad)
    for page in ("", "quote/", "story/"):
        words = words_of(as_office.get(f"/orders/{order.pk}/{page}"))
        assert "<script>alert" not in words and "&lt;script&gt;" in words


def test_the_list_asks_as_much_for_fifty_orders_as_for_five(as_office, office, floor):
    def asked() -> int:
        with CaptureQueriesContext(connection) as seen:
            as_office.get("/orders/")
        return len(seen)

    asked()  # the first page of a session writes the session
    for _ in range(5):
        open_order(by=office, machine=floor.machine)
    few = asked()
    for _ in range(45):
        open_order(by=office, machine=floor.machine)
    assert asked() == few


@pytest.mark.parametrize("junk", ["?page=99", "?page=x", "?sort=nothing", "?show=%00", "?words=%27%3B--"])
def test_junk_in_the_address_still_lists(as_office, bench, junk):
    assert as_office.get(f"/orders/{junk}").status_code == 200


def test_many_orders_print_as_one_pdf_in_the_order_picked(as_office, office, floor):
    first, second = (open_order(by=office, machine=floor.machine, complaint=words) for words in ("one", "two"))
    answer = as_office.get(f"/orders/orders.pdf?order={second.pk}&order={first.pk}&order={second.pk}&order=x")
    pages = [page.extract_text() for page in PdfReader(io.BytesIO(answer.content)).pages]
    assert "W-00002" in pages[0] and "page 1 of 3" in pages[0]
    assert "W-00001" in pages[3] and "page 1 of 3" in pages[3]
    assert len(pages) == 6
    assert as_office.get("/orders/orders.pdf")["Location"] == "/orders/"


def test_a_clock_runs_once_and_hours_by_hand_do_not_overlap(bench, as_technician, hands):
    begun = {"technician": hands.pk, "kind": "repair"}
    assert as_technician.post(f"/orders/{bench.order.pk}/clock/", begun | {"token": "1"}).status_code == 302
    answer = as_technician.post(f"/orders/{bench.order.pk}/clock/", begun | {"token": "2"})
    assert answer.status_code == 422 and "stop it first" in words_of(answer)
    as_technician.post(f"/orders/clock/{LabourEntry.objects.get().pk}/stop/")
    day = {"day": "2026-03-02", "begun": "08:00", "ended": "10:30", "kind": "repair", "technician": hands.pk}
    assert as_technician.post(f"/orders/{bench.order.pk}/hours/", day | {"token": "3"}).status_code == 302
    answer = as_technician.post(f"/orders/{bench.order.pk}/hours/", day | {"begun": "10:00", "ended": "11:00", "token": "4"})
    assert answer.status_code == 422 and "may not overlap" in words_of(answer)
    assert LabourEntry.objects.get(by_hand=True).work_h == 2.5


def test_a_core_keeps_its_tag_until_it_is_settled(bench, as_technician, manager):
    part = Part.objects.create(number="P-1", name="Pump", core_charge_cents=40_000)
    line = OrderLine.objects.create(order=bench.order, kind="part", words="Pump", part=part, quantity=Decimal(1))
    as_technician.post(
        f"/orders/line/{line.pk}/tag/", {"kind": "core", "words": "Old pump 0188", "place": "Shelf 2", "core_cents": "400.00", "token": "1"}
    )
    held = HeldPart.objects.get()
    text = PdfReader(io.BytesIO(as_technician.get(f"/orders/tag/{held.pk}/tag.pdf").content)).pages[0].extract_text()
    assert "P-00001" in text and bench.order.number in text and "open until settled" in text
    assert "Old pump 0188" in words_of(as_technician.get("/orders/tags/"))
    as_technician.post(f"/orders/tag/{held.pk}/settle/", {"words": "credited", "token": "2"})
    assert "Old pump 0188" not in words_of(as_technician.get("/orders/tags/"))


def test_what_is_due_on_a_machine_becomes_an_order_with_the_reasons(as_office, floor, task):
    from shop.models import IntervalRule

    IntervalRule.objects.create(task=task, drive_model=floor.drive_model, every_h=500)
    words = words_of(as_office.get(f"/orders/due/{floor.machine.pk}/"))
    assert "Charge filter" in words and "checked" in words
    key = words.split('name="tasks" value="')[1].split('"')[0]
    assert as_office.post(f"/orders/due/{floor.machine.pk}/", {"token": "x"}).status_code == 422
    for _ in range(2):
        answer = as_office.post(f"/orders/due/{floor.machine.pk}/", {"tasks": [key], "token": "once"})
        assert answer.url == f"/orders/{WorkOrder.objects.get().pk}/"
    line = OrderLine.objects.get()
    assert line.task == task and "500 h" in line.evidence


def test_the_page_and_the_paper_ask_as_much_for_fifty_lines_as_for_five(as_office, bench, manager):
    def asked(path: str) -> int:
        with CaptureQueriesContext(connection) as seen:
            assert as_office.get(path).status_code == 200
        return len(seen)

    def put(count: int) -> None:
        OrderLine.objects.bulk_create(OrderLine(order=bench.order, position=n, words=f"line {n}", kind="labour") for n in range(count))

    paths = [f"/orders/{bench.order.pk}/{page}" for page in ("", "order.pdf", "quote/")]
    put(5)
    for path in paths:
        as_office.get(path)
    few = [asked(path) for path in paths]
    put(45)
    assert [asked(path) for path in paths] == few


def test_a_call_about_the_same_symptom_asks_whether_it_is_a_comeback(as_office, bench, manager, floor):
    from shop.workorders.release import ReleaseEntry, release_order

    order = bench.ready()
    said = ReleaseEntry(fitness="yes", meter_h=Decimal("1215.0"), cautions_read=True, next_due_told=True, test_waiver="x")
    release_order(by=manager, order=order, version=order.version, said=said)
    answer = as_office.post(f"/orders/new/{floor.machine.pk}/", CALL | {"unit": floor.unit.pk, "token": "a"})
    assert answer.status_code == 422 and "say whether this is a comeback" in words_of(answer)
    assert WorkOrder.objects.count() == 1
    told = CALL | {"unit": floor.unit.pk, "token": "b", "comeback": order.pk, "comeback_answer": "same noise"}
    assert as_office.post(f"/orders/new/{floor.machine.pk}/", told).status_code == 302
    assert WorkOrder.objects.order_by("-pk").first().comeback_of == order
    fresh = CALL | {"unit": floor.unit.pk, "token": "c", "symptom": "leak"}
    assert as_office.post(f"/orders/new/{floor.machine.pk}/", fresh).status_code == 302


def test_a_failure_may_be_not_known_and_debris_puts_its_lines(bench, as_technician):
    address = f"/orders/{bench.order.pk}/failure/"
    sent = {
        "mode": "no_drive",
        "severity": "stops",
        "evidence": "assumed",
        "happened_on": "2026-03-01",
        "has_debris": "on",
        "version": bench.order.version,
    }
    assert as_technician.post(address, sent | {"token": "a"}).status_code == 302
    failure = bench.fresh().failure
    assert (failure.mechanism, failure.cause, failure.detected_by) == ("not known", "not known", "not known")
    assert bench.order.lines.filter(is_forced=True).count() == 9
    answer = as_technician.post(address, sent | {"token": "b", "mechanism": "block broken"})
    assert answer.status_code == 409
    assert bench.fresh().failure.mechanism == "not known"


def test_hours_of_the_kinds_add_up_to_the_time_attended(bench, hands):
    from datetime import UTC, datetime, timedelta

    from shop.workorders.totals import hours_by_kind

    start = datetime(2026, 3, 2, 8, tzinfo=UTC)
    for place, (kind, minutes) in enumerate((("repair", 100), ("test", 50), ("repair", 20), ("wait_parts", 70))):
        begun = start + timedelta(hours=3 * place)
        LabourEntry.objects.create(
            order=bench.order, technician=hands, kind=kind, started_at=begun, ended_at=begun + timedelta(minutes=minutes)
        )
    sums = hours_by_kind(bench.order.labour.all())
    assert sums == {"repair": Decimal("2.00"), "test": Decimal("0.83"), "wait_parts": Decimal("1.17")}
    assert sum(sums.values()) == Decimal("4.00")

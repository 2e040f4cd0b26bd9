"""Hours sent by machines: read like typed ones, doubted where they should be, never over what was typed."""

import json
from datetime import UTC, datetime
from decimal import Decimal

import pytest

from fleet.models import HourMeter, HourReading
from shop.exchange.fleet_snapshot import hours_of_duration, read_snapshot
from shop.exchange.hours_plan import plan_hours, record_sent_hours
from shop.exchange.plans import Choices
from shop.refusals import Refused
from tests.shop.exchange.sheets_of_floor import SNAPSHOT


@pytest.fixture
def send(floor, technician):
    def sent(body):
        plan = plan_hours(body if isinstance(body, bytes) else body.encode(), technician, Choices())
        record_sent_hours(by=technician, plan=plan, reason="snapshot")
        return plan

    return sent


def as_json(**changes) -> bytes:
    header = {"EquipmentID": "OTHER-7", "SerialNumber": "HW180-00421", "PIN": None} | changes.pop("header", {})
    hours = {"datetime": "2026-03-20T04:50:10Z", "Hour": 1214.9} | changes
    return json.dumps({"Fleet": {"Equipment": [{"EquipmentHeader": header, "CumulativeOperatingHours": hours}]}}).encode()


DURATIONS = [("PT3533H6M", 3533.1), ("pt12h", 12), ("P147DT5H6M", 3533.1), ("PT90M", 1.5), ("PT0S", 0)]


@pytest.mark.parametrize(("text", "hours"), [*DURATIONS, ("P", None), ("PT", None), ("3533", None), ("P1Y", None)])
def test_durations_are_read_as_hours(text, hours):
    assert hours_of_duration(text) == (pytest.approx(hours) if hours is not None else None)  # ISO 8601-1:2019, 5.5.2


@pytest.mark.parametrize("body", [SNAPSHOT.encode(), as_json(), as_json(Hour="PT1214H54M")])
def test_xml_and_json_say_the_same(send, body):
    assert (len(send(body).fresh), HourReading.objects.count()) == (1, 2)
    new = HourReading.objects.latest("pk")
    assert (new.meter_h, new.life_h, new.origin, new.is_confirmed) == (Decimal("1214.9"), Decimal("1214.9"), "telematics", True)
    assert new.read_at == datetime(2026, 3, 20, 4, 50, 10, tzinfo=UTC)


def test_names_count_in_any_case_and_with_any_namespace(send):
    body = SNAPSHOT.replace("<Fleet", '<Fleet xmlns="http://standards.example/15143"').replace(
        "CumulativeOperatingHours", "cumulativeoperatinghours"
    )
    assert len(send(body).fresh) == 1


def test_the_same_snapshot_adds_nothing(send):
    send(SNAPSHOT)
    plan = send(SNAPSHOT)
    assert (plan.known, len(plan.fresh), HourReading.objects.count()) == (1, 0, 2)


def test_hours_older_than_the_last_reading_are_kept_and_not_believed(send, floor):
    plan = send(as_json(datetime="2026-02-20T04:50:10Z", Hour=1209.5))
    new = HourReading.objects.latest("pk")
    assert (new.is_confirmed, len(plan.fresh)) == (False, 1)
    assert "older than the last reading" in new.question
    assert HourReading.objects.accepted().of(floor.machine).latest_first().first().meter_h == Decimal("1210.0")


@pytest.mark.parametrize("hour", [12.0, 9000.0])
def test_hours_that_cannot_be_are_kept_and_not_believed(send, floor, hour):
    send(as_json(Hour=hour))
    new = HourReading.objects.latest("pk")
    assert (new.is_confirmed, bool(new.question)) == (False, True)


@pytest.mark.parametrize(
    ("body", "column", "words"),
    [
        (as_json(header={"SerialNumber": "HW180-99999"}), "SerialNumber", "No machine of ours"),
        (as_json(Hour="abc"), "Hour", "no number"),
        (as_json(Hour=None), "Hour", "Nothing is written"),
        (as_json(Hour=-3), "Hour", "cannot stand"),
        (as_json(Hour=1e300), "Hour", "cannot"),
        (as_json(datetime="yesterday"), "datetime", "no date"),
        (as_json(datetime="2099-01-01T00:00:00Z"), "datetime", "future"),
        (as_json(datetime=None), "datetime", "No date"),
    ],
)
def test_what_cannot_be_taken_is_named(send, body, column, words):
    plan = send(body)
    assert [(refusal.line, refusal.column) for refusal in plan.refused] == [(1, column)]
    assert words in plan.refused[0].reason
    assert HourReading.objects.count() == 1


def test_a_machine_is_found_by_its_pin_or_our_number_too(send):
    assert len(send(as_json(header={"SerialNumber": None, "PIN": "hw180 00421"})).fresh) == 1
    number = as_json(header={"SerialNumber": "", "EquipmentID": "M-00001"}, datetime="2026-03-21T04:50:10Z")
    assert len(send(number).fresh) == 1


def test_names_of_two_machines_in_one_are_refused(send, floor):
    from tests.shop.asking import another_machine

    another_machine(floor, 2)
    plan = send(as_json(header={"EquipmentID": "M-00002"}))
    assert "names two machines" in plan.refused[0].reason


def test_a_machine_without_a_meter_gets_none_from_a_file(send, floor):
    HourReading.objects.all().delete()
    HourMeter.objects.all().delete()
    assert "no hour meter" in send(as_json()).refused[0].reason


@pytest.mark.parametrize(
    "body",
    [
        b"", b"<", b"{", b"[]", b"<Fleet/>", b'{"Fleet": 5}', b"<a>" * 10_000, b"[" * 100_000, b'{"Fleet":' * 5_000, b"1" * 10_000,
        b'<!DOCTYPE a [<!ENTITY b "c">]><Fleet>&b;</Fleet>', b'<?xml version="1.0" encoding="klingon"?><Fleet/>', b"\xff\xfe\x00",
        b'{"Equipment": [5, null, [], {"EquipmentHeader": 5}]}'.replace(b"5, null, [], ", b"") + b"x",
    ],
)  # fmt: skip
def test_what_is_no_snapshot_is_refused_as_a_whole(body):
    with pytest.raises(Refused):
        read_snapshot(body)


def test_odd_things_in_a_list_of_machines_are_refused_one_by_one(send):
    plan = send(b'{"Equipment": [5, null, {"EquipmentHeader": {"SerialNumber": "\\ud800"}}, {"SerialNumber": {}}]}')
    assert [refusal.line for refusal in plan.refused] == [1, 2, 3, 4]

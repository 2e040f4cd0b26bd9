"""What tests of pages share: questions to the database, tokens and versions of forms, more machines and drives."""

import re
from datetime import UTC, date, datetime
from decimal import Decimal

from django.db import connection
from django.test.utils import CaptureQueriesContext

from fleet.models import DriveUnit, HourMeter, HourReading, Installation, Machine


def questions_of(client, path: str) -> int:
    client.get(path)  # what is kept after the first look does not count
    with CaptureQueriesContext(connection) as asked:
        assert client.get(path).status_code == 200
    return len(asked)


def token_in(response) -> str:
    return re.search(r'name="token" value="([^"]+)"', response.content.decode())[1]


def version_in(response) -> str:
    return re.search(r'name="version" value="([^"]*)"', response.content.decode())[1]


def another_machine(floor, number: int, meter_h: str = "500.0") -> Machine:
    machine = Machine.objects.create(
        number=f"M-{number:05d}",
        kind="sprayer",
        maker="Hollowick",
        model="S40",
        serial=f"HS40-{number:05d}",
        customer=floor.customer,
        site=floor.site,
        engine_rated_speed_rpm=2200,
        rolling_radius_m=0.8,
        final_ratio=22,
    )
    meter = HourMeter.objects.create(machine=machine, fitted_on=date(2022, 1, 1))
    read = {"meter_h": Decimal(meter_h), "life_h": Decimal(meter_h), "typed": meter_h}
    HourReading.objects.create(meter=meter, read_at=datetime(2026, 3, 1, 9, tzinfo=UTC), **read)
    return machine


def another_unit(floor, number: int, machine: Machine | None = None) -> DriveUnit:
    unit = DriveUnit.objects.create(tag=f"D-{number:05d}", serial=f"H75-{number:04d}", drive_model=floor.drive_model)
    if machine:
        Installation.objects.create(unit=unit, machine=machine, from_date=date(2022, 1, 1), from_life_h=Decimal(0))
    return unit

"""The hours of a machine stay true whatever is typed: a plain second book agrees after every step, and no serial is two machines."""

from collections import Counter

import pytest

from fleet.models import Machine
from tests.records.meter_book import live_through

SEQUENCES = 12


def test_life_hours_agree_with_a_plain_second_book_whatever_is_typed(floor, technician):
    told = Counter()
    for seed in range(SEQUENCES):
        machine = Machine.objects.create(
            number=f"M-9{seed:04d}",
            kind="loader",
            maker="Hollowick",
            model="L90",
            serial=f"L-9{seed}",
            customer=floor.customer,
            engine_rated_speed_rpm=2200,
        )
        told.update(live_through(seed, machine, technician))
    assert all(told[kind] for kind in ("kept", "refused", "doubted", "replaced", "corrected")), told


@pytest.mark.parametrize("again", ["hw180 00421", "HW18O-OO421", "ＨＷ１８０-00421", " hw-180-00421 ", "HW180.00421"])
def test_one_plate_written_in_many_ways_is_one_machine(again, floor, as_manager):
    form = as_manager.get("/machines/add/").context["form"]
    sent = {name: form.get_initial_for_field(field, name) or "" for name, field in form.fields.items()}
    sent |= {"kind": "windrower", "maker": "Hollowick", "model": "W180", "customer": floor.customer.pk, "engine_rated_speed_rpm": "2300"}
    sent |= {
        "engine_rated_speed_rpm_unit": "rpm",
        "owned_from": "2024-01-01",
        "meter_h": "10",
        "meter_h_unit": "h",
        "life_h": "10",
        "life_h_unit": "h",
    }
    answer = as_manager.post("/machines/add/", sent | {"serial": again})
    assert answer.status_code == 422
    assert "serial" in answer.context["form"].errors
    assert Machine.objects.count() == 1

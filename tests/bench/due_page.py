"""Server time of the due list over 10,000 machines and 60,000 rules, warm and right after one write, in a throw-away database.

Run: python tests/bench/due_page.py [--machines 10000] [--own-rules]

With --own-rules each machine has six rules of its own (60,000 rows of rules); else six drive models have sixty rules that reach 60,000 tasks.
"""

import argparse
import logging
import os
import sys
import tempfile
import time
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))
os.environ["SHOP_VAR"] = tempfile.mkdtemp(prefix="due-page-")
os.environ["DJANGO_SETTINGS_MODULE"] = "shop.settings"
os.environ["SHOP_SECRET_KEY"] = "for this run alone, thrown away with its folder " * 2

import django  # noqa: E402

django.setup()

import numpy as np  # noqa: E402
from django.contrib.auth import get_user_model  # noqa: E402
from django.contrib.auth.models import Group  # noqa: E402
from django.core.management import call_command  # noqa: E402
from django.db import connection, transaction  # noqa: E402
from django.test import Client  # noqa: E402
from django.test.utils import CaptureQueriesContext  # noqa: E402

from fleet.models import (  # noqa: E402
    Customer,
    Document,
    DriveModel,
    DriveUnit,
    FluidFill,
    FluidProduct,
    HourMeter,
    HourReading,
    Installation,
    Machine,
    Site,
)  # fmt: skip
from shop.acts import act  # noqa: E402
from shop.changes import triggers  # noqa: E402
from shop.models import Deferral, IntervalRule, SeasonBlock, ServiceTask, TaskDone  # noqa: E402
from shop.roles import MANAGER  # noqa: E402
from tests.floor import MODEL_FIGURES  # noqa: E402

TASKS = (
    ("filter", "Charge filter", "filter", {"every_h": 500, "every_months": 12, "first_steps_h": [50]}),
    ("fluid", "Fluid", "fluid", {"every_h": 1000, "every_months": 24, "every_h_other_fluid": 800}),
    ("sample", "Oil sample", "sample", {"every_h": 250, "reset": "window"}),
    ("hose", "Suction hose", "hose", {"every_months": 72, "reset": "item_date", "anchor": "hose_made", "anchor_date": date(2022, 3, 1)}),
    (
        "check",
        "Before-season test",
        "test",
        {"every_months": 12, "reset": "grid", "anchor": "season_start", "anchor_date": date(2022, 7, 1)},
    ),
    ("lock", "Interlock", "interlock", {"every_months": 12, "reset": "grid"}),
)
READINGS, MODELS = 24, 10
KINDS = [kind for kind, _ in Machine.Kind.choices]
TODAY = datetime.now(UTC).date()


def fill(machines: int, own_rules: bool) -> None:
    """Write the fleet with the change record laid aside; it is put back before anything is timed."""
    rng = np.random.default_rng(11)
    user = get_user_model().objects.create_user("marta", password="no password is asked here")
    user.groups.add(Group.objects.get_or_create(name=MANAGER)[0])
    customers = Customer.objects.bulk_create(Customer(number=f"C-{k:05d}", name=f"Farm {k}") for k in range(max(1, machines // 12)))
    sites = Site.objects.bulk_create(Site(customer=c, name="Yard", region=("north", "south")[c.pk % 2]) for c in customers)
    models = [DriveModel.objects.create(code=f"H{k}", maker="Hollowick Drives", **MODEL_FIGURES) for k in range(MODELS)]
    made = Machine.objects.bulk_create(
        (
            Machine(
                number=f"M-{k:05d}", kind=KINDS[k % len(KINDS)], maker="Hollowick", model="C70", serial=f"S{k:06d}", serial_key=f"s{k:06d}",
                customer=customers[k % len(customers)], site=sites[k % len(sites)], engine_rated_speed_rpm=2300, search_text=f"m-{k:05d} s{k:06d}",
                severity=["dust"] if k % 3 == 0 else [],
            )
            for k in range(machines)
        ),
        batch_size=2000,
    )  # fmt: skip
    units = DriveUnit.objects.bulk_create(
        (DriveUnit(tag=f"D-{k:05d}", serial=f"U{k:06d}", serial_key=f"u{k:06d}", drive_model=models[k % MODELS]) for k in range(machines)),
        batch_size=2000,
    )
    Installation.objects.bulk_create(
        (Installation(unit=u, machine=m, from_date=date(2022, 4, 1), from_life_h=0) for u, m in zip(units, made, strict=True)),
        batch_size=2000,
    )
    put_hours(rng, made, user)
    put_rules(made, models, own_rules)
    put_done(rng, made, user)


def put_hours(rng, made, user) -> None:
    meters = HourMeter.objects.bulk_create((HourMeter(machine=m, fitted_on=date(2022, 4, 1)) for m in made), batch_size=5000)
    hours = np.cumsum(rng.gamma(1.2, 40, (len(made), READINGS)), axis=1).round(1)
    days = [datetime.combine(TODAY, datetime.min.time(), UTC) - timedelta(days=45 * (READINGS - j) - 20) for j in range(READINGS)]
    HourReading.objects.bulk_create(
        (
            HourReading(meter=meter, read_at=days[j], meter_h=hours[k, j], life_h=hours[k, j], typed=f"{hours[k, j]}", recorded_by=user)
            for k, meter in enumerate(meters)
            for j in range(READINGS)
        ),
        batch_size=5000,
    )
    oil = FluidProduct.objects.create(
        maker="Fenoil", name="Hydrol 46", kind="hydraulic", viscosity_grade="VG 46", nu40_mm2s=46, nu100_mm2s=6.8
    )
    FluidFill.objects.bulk_create(
        (FluidFill(machine=m, kind="first_fill", product=oil, filled_at=days[0], life_h=0, fill_l=45) for m in made), batch_size=5000
    )


def put_rules(made, models, own_rules: bool) -> None:
    document = Document.objects.create(title="Maker's manual", number="HD-7", revision="B")
    tasks = [ServiceTask.objects.create(code=code, name=name, kind=kind) for code, name, kind, _ in TASKS]
    places = [{"machine": m} for m in made] if own_rules else [{"drive_model": m} for m in models]
    IntervalRule.objects.bulk_create(
        (
            IntervalRule(task=task, document=document, page="12", **figures, **place)
            for place in places
            for task, (_, _, _, figures) in zip(tasks, TASKS, strict=True)
        ),
        batch_size=2000,
    )
    SeasonBlock.objects.create(name="Harvest", from_date=date(2022, 7, 8), to_date=date(2022, 8, 22), machine_kind="combine")


def put_done(rng, made, user) -> None:
    last = dict(HourReading.objects.order_by("read_at").values_list("meter__machine_id", "life_h"))
    tasks = list(ServiceTask.objects.order_by("pk"))
    TaskDone.objects.bulk_create(
        (
            TaskDone(
                task=task, machine=m, done_on=TODAY - timedelta(days=int(rng.integers(20, 500))), recorded_by=user,
                life_h=max(Decimal(0), last[m.pk] - Decimal(int(rng.integers(0, 700)))),
            )
            for m in made
            for task in tasks
        ),
        batch_size=5000,
    )  # fmt: skip


def look(client, path="/due/") -> tuple[float, float]:
    """Return milliseconds by the clock on the wall, and of the processor: on a machine shared with others only the second can be compared."""
    began, worked = time.perf_counter(), time.process_time()
    assert client.get(path).status_code == 200
    return (time.perf_counter() - began) * 1000, (time.process_time() - worked) * 1000


def told(words: str, spent: list[tuple[float, float]]) -> None:
    wall, processor = np.array(spent).T
    ends = [
        f"{name} median {np.median(ms):6.0f}, p95 {np.quantile(ms, 0.95):6.0f} ms"
        for name, ms in (("wall", wall), ("processor", processor))
    ]
    print(f"{words:34} {'   '.join(ends)}   ({len(spent)} times)", flush=True)


def write_hours(k: int, user) -> None:
    meter = HourMeter.objects.order_by("pk")[k * 37 % HourMeter.objects.count()]
    last = meter.readings.order_by("-life_h").first()
    with act("record hours", by=user):
        hours = last.life_h + 5
        HourReading.objects.create(meter=meter, read_at=datetime.now(UTC), meter_h=hours, life_h=hours, typed=f"{hours}", recorded_by=user)


def write_done(k: int, user) -> None:
    machine = Machine.objects.order_by("pk")[k * 53 % Machine.objects.count()]
    with act("task done", by=user):
        TaskDone.objects.create(task=ServiceTask.objects.first(), machine=machine, done_on=TODAY, life_h=900, recorded_by=user)


def write_deferral(k: int, user) -> None:
    machine = Machine.objects.order_by("pk")[k * 71 % Machine.objects.count()]
    with act("put off", by=user):
        Deferral.objects.create(
            task=ServiceTask.objects.first(), machine=machine, reason="away", words="Machine is away", risk="Filter may clog", asked_by=user,
            until_h=2000, until_on=TODAY + timedelta(days=20),
        )  # fmt: skip


def write_rule(k: int, user) -> None:
    rule = IntervalRule.objects.order_by("pk")[k % 50]
    rule.page, rule.early_share = f"{k}", 0.1 + 0.001 * k
    with act("change a rule", by=user):
        rule.save_over(rule.version)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--machines", type=int, default=10_000)
    parser.add_argument("--own-rules", action="store_true")
    parser.add_argument("--times", type=int, default=20)
    asked = parser.parse_args()
    call_command("migrate", verbosity=0)
    triggers.uninstall()
    began = time.perf_counter()
    with transaction.atomic():
        fill(asked.machines, asked.own_rules)
    triggers.install()
    print(
        f"{asked.machines} machines, {IntervalRule.objects.count()} rows of rules, {HourReading.objects.count()} readings: "
        f"{time.perf_counter() - began:.0f} s"
    )
    user = get_user_model().objects.get()
    client = Client(SERVER_NAME="localhost")
    client.force_login(user)
    print("first look after the start: {:.0f} ms, processor {:.0f} ms".format(*look(client)))
    told("nothing changed", [look(client) for _ in range(3 * asked.times)])
    told("filters: one state, one kind", [look(client, "/due/?show=overdue&kind=combine&page=2") for _ in range(asked.times)])
    with CaptureQueriesContext(connection) as seen:
        look(client)
    print(f"questions to the database: {len(seen)}")
    logging.disable(logging.INFO)
    for write in (write_deferral, write_done, write_rule, write_hours):
        spent = []
        for k in range(asked.times):
            write(k, user)
            spent.append(look(client))
        told(f"after one write: {write.__name__.removeprefix('write_')}", spent)


if __name__ == "__main__":
    main()

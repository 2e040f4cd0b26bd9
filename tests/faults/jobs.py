"""The kinds of work that are cut short: what each needs before it, what it does, and how to tell before from after."""

import io
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime
from decimal import Decimal
from pathlib import Path

from django.conf import settings
from django.core.files.uploadedfile import SimpleUploadedFile
from django.core.management import call_command

from shop.changes.chain import FIELDS, entry_hash
from tests.faults.later_edition import later_edition


@dataclass
class Job:
    name: str
    prepare: Callable
    work: Callable
    state: Callable  # of what was found in the database, and of the counts before and after: "before", "after" or "half"
    goes_on: Callable = lambda in_a_child: True
    on_a_server: bool = True  # whether it is tried on PostgreSQL too


@dataclass
class Found:
    """What the database holds when it is opened anew."""

    broken: list[str]
    counts: dict[str, int]
    papers: list[str]


def breaks_of_chain(base) -> bool:
    """Say whether an entry of the change record does not fit the one before it."""
    previous = ""
    for row in base.execute(f"SELECT hash, {', '.join(chr(34) + name + chr(34) for name in FIELDS)} FROM shop_changeentry ORDER BY id"):
        entry = dict(zip(("hash", *FIELDS), row, strict=True))
        if entry["previous_hash"] != previous or entry_hash(entry) != entry["hash"]:
            return True
        previous = entry["hash"]
    return False


def by_counts(found: Found, before: dict, after: dict) -> str:
    return "before" if found.counts == before else "after" if found.counts == after else "half"


def somebody():
    from django.contrib.auth import get_user_model

    return get_user_model().objects.get(username="marta")


def lay_shop() -> None:
    """A shop with one machine, one drive and a manager."""
    from shop.people.actions import add_person
    from tests.floor import lay_floor

    call_command("migrate", verbosity=0)
    lay_floor(add_person(by=None, username="marta", password="a long shop password", roles=["manager"]))


def log_visit() -> None:
    from fleet.models import DriveUnit, FluidProduct, Instrument, Machine
    from shop.visits.actions import record_visit
    from shop.visits.entries import FillEntry, FindingEntry, HoursEntry, ReadingEntry, RoundConditions, VisitEntry

    unit, gauge = DriveUnit.objects.get(), Instrument.objects.get(tag="G-11")
    read = [ReadingEntry(unit, "charge_neutral", f"{20 + k / 10}", "bar", 20 + k / 10, "bar", instrument=gauge) for k in range(20)]
    entry = VisitEntry(
        hours=HoursEntry(Decimal("1215.5"), "1215.5"),
        conditions=RoundConditions(oil_temp_c=60, engine_speed_rpm=2300),
        readings=tuple(read),
        fills=(FillEntry("top_up", FluidProduct.objects.get(), Decimal("1.50")),),
        findings=tuple(FindingEntry(f"Hose {k} rubs", "now") for k in range(5)),
    )
    record_visit(by=somebody(), machine=Machine.objects.get(), visited_at=datetime(2026, 3, 9, 10, tzinfo=UTC), entry=entry, token="t")


def lay_order() -> None:
    """An order ready to be released."""
    from fleet.models import Machine
    from shop.models import ServiceTask
    from shop.workorders.actions import open_order
    from tests.shop.workorders.conftest import Bench

    lay_shop()
    tasks = [ServiceTask.objects.create(code=f"F{k}", name=f"Task {k}", kind="filter") for k in range(8)]
    order = open_order(by=somebody(), machine=Machine.objects.get(), complaint="slow when hot", tasks=tasks, symptom="slow_hot")
    Bench(order, tasks[0], somebody()).ready()


def release() -> None:
    from fleet.models import FluidProduct
    from shop.models import WorkOrder
    from shop.workorders.release import ReleaseEntry, release_order

    order = WorkOrder.objects.get()
    fill = {"kind": "change", "product": FluidProduct.objects.get(), "fill_l": Decimal(40), "drained_l": Decimal(40), "batch": "B7"}
    said = ReleaseEntry(
        fitness="yes", meter_h=Decimal("1215.0"), cautions_read=True, next_due_told=True, test_waiver="x", fills=[fill], baseline="repaired"
    )
    release_order(by=somebody(), order=order, version=order.version, said=said, token="t")


def attach() -> None:
    from PIL import Image

    from fleet.models import Machine
    from shop.papers.actions import keep_papers

    out = io.BytesIO()
    Image.effect_noise((900, 700), 60).convert("RGB").save(out, "JPEG")
    photos = [SimpleUploadedFile(f"{k}.jpg", out.getvalue()) for k in range(4)]
    keep_papers(by=somebody(), uploads=photos, token="t", machine=Machine.objects.get())


def papers_state(found: Found, before: dict, after: dict) -> str:
    """Every row must have its file; a file without a row is litter and no harm."""
    return by_counts(found, before, after) if all((Path(settings.MEDIA_ROOT) / name).is_file() for name in found.papers) else "half"


def bring_in() -> None:
    from shop.exchange.actions import record_readings
    from shop.exchange.plans import Choices
    from shop.exchange.reading_plan import plan_readings
    from tests.shop.exchange.sheets_of_floor import as_csv, long_rows

    plan = plan_readings(as_csv(long_rows(40)), somebody(), Choices())
    if plan.refused or not plan.fresh:
        raise SystemExit(f"the sheet is refused: {plan.refused[:3]}")
    record_readings(by=somebody(), plan=plan, reason="a sheet", token="t")


def lay_much() -> None:
    from fleet.models import Customer

    lay_shop()
    Customer.objects.bulk_create(Customer(number=f"C-{k}", name=f"Customer {k}") for k in range(3000))
    papers = Path(settings.MEDIA_ROOT)
    papers.mkdir(parents=True, exist_ok=True)
    for k in range(40):
        (papers / f"{k}.jpg").write_bytes(bytes([k]) * 200_000)


def back_up() -> None:
    from shop.keeping.snapshot import make_backup

    make_backup(settings.VAR_DIR / "backups")


def backup_state(found: Found, before: dict, after: dict) -> str:
    """A backup is there under its name and whole, or not there under its name; the shop itself is as it was."""
    from shop.keeping.manifest import BrokenCopy, read_manifest

    there = list((settings.VAR_DIR / "backups").glob("backup-*"))
    try:
        for folder in there:
            read_manifest(folder)
    except BrokenCopy:
        return "half"
    return "half" if found.counts != before else "after" if there else "before"


def lay_older() -> None:
    """A shop with rows in it, as this edition keeps it."""
    from fleet.models import Customer

    lay_shop()
    log_visit()
    Customer.objects.bulk_create(Customer(number=f"C-{k}", name=f"Customer {k}") for k in range(1000))


def upgrade() -> None:
    """Bring the shop up to a made-up later edition, in two steps."""
    with later_edition(settings.VAR_DIR.parent / "later"):
        call_command("migrate", verbosity=0)


def upgraded_state(found: Found, before: dict, after: dict) -> str:
    """Each step of an upgrade is whole or not there; the rows of the shop are all there in between, too."""
    if found.counts == after:
        return "after"
    one_step_on = before | {"django_migrations": before["django_migrations"] + 1}
    return "before" if found.counts in (before, one_step_on) else "half"


def can_upgrade_again(in_a_child) -> bool:
    return in_a_child(upgrade)[0]


JOBS = {
    job.name: job
    for job in (
        Job("visit", lay_shop, log_visit, by_counts),
        Job("release", lay_order, release, by_counts),
        Job("attachment", lay_shop, attach, papers_state),
        Job("import", lay_shop, bring_in, by_counts),
        Job("backup", lay_much, back_up, backup_state, lambda in_a_child: in_a_child(back_up)[0], on_a_server=False),
        Job("migrate", lay_older, upgrade, upgraded_state, can_upgrade_again),
    )
}

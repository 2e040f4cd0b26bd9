"""A shop of the first edition, with ugly words in it, is brought up to this one and keeps every row; a backup of an older edition comes back too."""

import hashlib
import shutil
from contextlib import contextmanager
from pathlib import Path

import pytest
from django.core.management import call_command
from django.db import connections, transaction

from shop.changes import triggers
from tests.faults.later_edition import later_edition
from tests.records.on_disk import run

UGLY = (
    "",
    " ",
    "'",
    '"',
    "\\",
    "%s",
    "Żaneta “Ø” 油 👍",
    "a\nb\r\nc",
    "\t",
    "<b>&amp;</b>",
    "=1+2",
    "x" * 100,
    "NULL",
    "0",
    "1e5",
    "ß" * 30,
)
FIRST = ("shop", "0001")
ROWS = 1000
OLDER = "older"


@pytest.fixture(scope="module")
def first_edition(django_db_setup, django_db_blocker, tmp_path_factory) -> Path:
    """A database as the first edition kept it, in a file of its own."""
    path = tmp_path_factory.mktemp("first") / "shop.sqlite3"
    with django_db_blocker.unblock(), beside(path):
        call_command("migrate", *FIRST, database=OLDER, verbosity=0)
        with transaction.atomic(using=OLDER):
            fill(OLDER)
    return path


@contextmanager
def beside(path: Path):
    """Open a database beside the one that the tests run on."""
    plain = {"ENGINE": "django.db.backends.sqlite3", "NAME": str(path), "OPTIONS": {}}
    connections.databases[OLDER] = connections.databases["default"] | {"TEST": {}, **plain}
    try:
        yield
    finally:
        connections[OLDER].close()
        del connections[OLDER]
        del connections.databases[OLDER]


@pytest.fixture
def older(first_edition, django_db_blocker, tmp_path) -> Path:
    return Path(shutil.copyfile(first_edition, tmp_path / "shop.sqlite3"))


def fill(name: str) -> None:
    with connections[name].cursor() as cursor:
        for k in range(ROWS):
            words = UGLY[k % len(UGLY)]
            put(cursor, "fleet_customer", number=f"C-{k}", name=words, invoice_address=words * 3, phone=words[:40], preferred_channel="phone",
                agrees_to_photos=k % 2, is_retired=0, note=words, search_text=words, version=1)  # fmt: skip
            put(
                cursor,
                "shop_part",
                number=f"P-{k}",
                name=words,
                bin="",
                lead_days=k % 9,
                price_cents=k * 7919,
                core_charge_cents=0,
                unit="pc",
                search_text="",
                version=1,
            )
            put(cursor, "fleet_document", title=f"Paper {k}", number=words[:60], revision=str(k))


def put(cursor, table: str, **fields) -> None:
    marks = ", ".join(["%s"] * len(fields))
    cursor.execute(f'INSERT INTO "{table}" ({", ".join(fields)}) VALUES ({marks})', list(fields.values()))


def told(name: str) -> dict[str, tuple]:
    """Return count and checksum of every table of facts over the columns of the first edition."""
    found = {}
    with connections[name].cursor() as cursor:
        for table in sorted(t for t in connections[name].introspection.table_names() if t.startswith(("fleet_", "shop_"))):
            columns = COLUMNS.setdefault(table, [c.name for c in connections[name].introspection.get_table_description(cursor, table)])
            cursor.execute(f'SELECT {", ".join(chr(34) + c + chr(34) for c in columns)} FROM "{table}" ORDER BY 1')
            rows = cursor.fetchall()
            found[table] = len(rows), hashlib.sha256(repr(rows).encode()).hexdigest()
    return found


COLUMNS: dict[str, list[str]] = {}
MADE_BY_UPGRADES = {"shop_procedure"}  # texts that come with the program


def test_every_row_of_the_first_edition_is_there_after_the_upgrade(older, django_db_blocker):
    COLUMNS.clear()
    with django_db_blocker.unblock(), beside(older):
        before = told(OLDER)
        call_command("migrate", database=OLDER, verbosity=0)
        after = told(OLDER)
        assert triggers.unwatched(OLDER) == []
        with connections[OLDER].cursor() as cursor:
            assert cursor.execute("PRAGMA integrity_check").fetchone() == ("ok",)
            assert cursor.execute("PRAGMA foreign_key_check").fetchall() == []
    held = {table for table in before if before[table][0] and table not in MADE_BY_UPGRADES}
    assert {table: after.get(table) for table in held} == {table: before[table] for table in held}
    assert before["fleet_customer"][0] == before["shop_part"][0] == ROWS and before["shop_changeentry"][0] == 3 * ROWS


def test_a_later_edition_that_changes_every_row_keeps_what_was_there(older, tmp_path, django_db_blocker):
    COLUMNS.clear()
    with django_db_blocker.unblock(), beside(older):
        call_command("migrate", database=OLDER, verbosity=0)
        before = told(OLDER)
        with later_edition(tmp_path / "later"):
            call_command("migrate", database=OLDER, verbosity=0)
        after = told(OLDER)
        with connections[OLDER].cursor() as cursor:
            made = cursor.execute("SELECT count(*) FROM fleet_document WHERE revision = 'made up'").fetchone()[0]
        assert triggers.unwatched(OLDER) == []
    assert {table for table in before if after[table] != before[table]} == {"fleet_document"}
    assert made == ROWS and after["fleet_document"][0] == 2 * ROWS


def test_a_backup_of_the_first_edition_comes_back_as_a_shop_of_this_one(older, tmp_path):
    made = run(tmp_path, "backup", "--into", str(tmp_path / "backups"))
    assert made.returncode == 0, made.stderr
    new = tmp_path / "new"
    restored = run(new, "restore", made.stdout.strip())
    assert restored.returncode == 0, restored.stderr
    assert run(new, "verify_record", "--against", made.stdout.strip()).returncode == 0
    listed = run(new, "showmigrations", "--plan")
    assert "[ ]" not in listed.stdout and "[X]  shop.0001_initial" in listed.stdout

"""A whole moment of the shop in one folder: database, papers, manifest. A copy of the database file alone would miss what still waits in its log."""

import os
import shutil
import sqlite3
from datetime import UTC, datetime
from pathlib import Path

from django.conf import settings
from django.db import connection, transaction

from shop.keeping.manifest import write_manifest
from shop.keeping.tables import editions, stored_counts, stored_tables
from shop.models import ChangeEntry

DATABASE = "shop.sqlite3"
TABLES = "tables"


def make_backup(into: Path) -> Path:
    """Write a backup below `into` and return its folder; it appears whole under its name or not at all."""
    name = f"backup-{datetime.now(UTC):%Y%m%dT%H%M%S%fZ}"
    half = into / f".{name}.half"
    half.mkdir(mode=0o700, parents=True)  # passwords and papers lie in it: for its owner alone
    try:
        said = _copy_postgresql(half) if connection.vendor == "postgresql" else _copy_sqlite(half)
        # Papers are written before the row that names them commits, and never changed: copied after the rows, none is missing.
        if Path(settings.MEDIA_ROOT).is_dir():
            shutil.copytree(settings.MEDIA_ROOT, half / "papers", ignore=shutil.ignore_patterns("*.half"))
        write_manifest(half, made_at=datetime.now(UTC).isoformat(), vendor=connection.vendor, editions=editions(), **said)
        _flush(half)
        whole = into / name
        half.rename(whole)
    except BaseException:
        shutil.rmtree(half, ignore_errors=True)
        raise
    return whole


def _said() -> dict:
    head = ChangeEntry.objects.order_by("-pk").values_list("pk", "hash").first()
    return {"counts": stored_counts(), "head": list(head) if head else None}


def _copy_sqlite(folder: Path) -> dict:
    """Copy by the database's own backup, which is one moment even while others write; then count in the copy."""
    source = sqlite3.connect(connection.settings_dict["NAME"], timeout=20)
    copy = sqlite3.connect(folder / DATABASE)
    source.backup(copy)
    source.close()
    found = {table: copy.execute(f'SELECT count(*) FROM "{table}"').fetchone()[0] for table in stored_tables()}
    head = copy.execute(f"SELECT id, hash FROM {ChangeEntry._meta.db_table} ORDER BY id DESC LIMIT 1").fetchone()
    copy.execute("PRAGMA journal_mode=DELETE")
    copy.close()
    return {"counts": found, "head": list(head) if head else None}


def _copy_postgresql(folder: Path) -> dict:
    """Copy every table inside one repeatable-read transaction: one moment."""
    (folder / TABLES).mkdir()
    with transaction.atomic(), connection.cursor() as cursor:
        cursor.execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ")
        for table in stored_tables():
            target = (folder / TABLES / f"{table}.csv").open("wb")
            with target, cursor.copy(f'COPY "{table}" TO STDOUT WITH (FORMAT csv, HEADER)') as rows:
                for chunk in rows:
                    target.write(chunk)
        return _said()


def _flush(folder: Path) -> None:
    for path in folder.rglob("*"):
        if path.is_file():
            with path.open("rb") as file:
                os.fsync(file.fileno())

"""Putting a backup back into an empty place, after checking it against its own manifest."""

import shutil
from pathlib import Path

from django.conf import settings
from django.core.management import call_command
from django.db import connection, transaction

from shop.changes import triggers
from shop.changes.chain import first_break
from shop.keeping.manifest import BrokenCopy, read_manifest
from shop.keeping.snapshot import DATABASE, TABLES
from shop.keeping.tables import counts, kept_models, reset_sequences
from shop.models import ChangeEntry


class PlaceTaken(Exception):
    """The place to restore into holds a shop already."""


def verify(folder: Path) -> dict:
    """Check a backup without putting it back; return what its manifest says."""
    return read_manifest(folder)


def restore(folder: Path) -> dict:
    """Put the backup in `folder` into the empty database and papers folder of this setting; return what it says."""
    said = read_manifest(folder)
    if said["vendor"] != connection.vendor:
        raise BrokenCopy(f"This backup was made on {said['vendor']}; this place runs on {connection.vendor}. Restore there, then use move_shop.")
    papers = Path(settings.MEDIA_ROOT)
    if papers.is_dir() and any(papers.iterdir()):
        raise PlaceTaken(f"{papers} holds papers already. Move them away first; nothing was written.")
    if connection.vendor == "postgresql":
        _fill_postgresql(folder)
    else:
        _place_sqlite(folder)
    if (folder / "papers").is_dir():
        shutil.copytree(folder / "papers", papers, dirs_exist_ok=True)
    _agree(said)
    return said


def _place_sqlite(folder: Path) -> None:
    target = Path(connection.settings_dict["NAME"])
    connection.close()
    if target.exists():
        raise PlaceTaken(f"{target} is there already. Move it away first; nothing was written.")
    target.parent.mkdir(parents=True, exist_ok=True)
    half = target.with_suffix(".half")
    shutil.copyfile(folder / DATABASE, half)
    half.rename(target)


def _fill_postgresql(folder: Path) -> None:
    call_command("migrate", verbosity=0)
    if ChangeEntry.objects.exists():
        raise PlaceTaken("The database holds a shop already. Give an empty one; nothing was written.")
    triggers.uninstall()
    try:
        with transaction.atomic(), connection.cursor() as cursor:
            for model in kept_models():
                _refill(cursor, model, folder / TABLES / f"{model._meta.db_table}.csv")
            reset_sequences("default")
    finally:
        triggers.install()


def _refill(cursor, model, path: Path) -> None:
    table = model._meta.db_table
    cursor.execute(f'DELETE FROM "{table}"')
    columns = path.open().readline().strip()
    with path.open("rb") as source, cursor.copy(f'COPY "{table}" ({columns}) FROM STDIN WITH (FORMAT csv, HEADER)') as rows:
        while chunk := source.read(1 << 16):
            rows.write(chunk)


def _agree(said: dict) -> None:
    there = counts()
    for table, count in said["counts"].items():
        if there.get(table) != count:
            raise BrokenCopy(f"{table} holds {there.get(table)} rows after restoring; the backup says {count}.")
    found = first_break(tuple(said["head"]) if said["head"] else None)
    if found:
        raise BrokenCopy(f"The change record breaks at entry {found[0]}: it {found[1]}.")

"""Putting a backup back into an empty place, after checking it against its own manifest."""

import csv
import shutil
from pathlib import Path

from django.conf import settings
from django.core.management import call_command
from django.db import connection, transaction

from shop.changes import triggers
from shop.changes.chain import first_break
from shop.keeping.editions import not_known_here
from shop.keeping.manifest import BrokenCopy, read_manifest
from shop.keeping.snapshot import DATABASE, TABLES
from shop.keeping.tables import count_over, reset_sequences
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
        raise BrokenCopy(
            f"This backup was made on {said['vendor']}; this place runs on {connection.vendor}. Restore there, then use move_shop."
        )
    later = not_known_here(said["editions"])
    if later:
        raise BrokenCopy(
            f"This backup is of a later edition of the program ({', '.join(later)}). Install that one first; nothing was written."
        )
    papers = Path(settings.MEDIA_ROOT)
    if papers.is_dir() and any(papers.iterdir()):
        raise PlaceTaken(f"{papers} holds papers already. Move them away first; nothing was written.")
    if connection.vendor == "postgresql":
        _fill_postgresql(folder, said)
    else:
        _place_sqlite(folder)
    if (folder / "papers").is_dir():
        shutil.copytree(folder / "papers", papers, dirs_exist_ok=True)
    _agree(said)
    call_command("migrate", verbosity=0)  # a backup of an earlier edition is brought up to this one
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


def _fill_postgresql(folder: Path, said: dict) -> None:
    """Make the tables as they were when the backup was made, and fill them."""
    if ChangeEntry._meta.db_table in connection.introspection.table_names() and ChangeEntry.objects.exists():
        raise PlaceTaken("The database holds a shop already. Give an empty one; nothing was written.")
    for app, edition in said["editions"].items():
        call_command("migrate", app, edition, verbosity=0)
    triggers.uninstall()
    try:
        with transaction.atomic(), connection.cursor() as cursor:
            for path in sorted((folder / TABLES).glob("*.csv")):
                _refill(cursor, path)
            reset_sequences("default", set(said["counts"]))
            count_over()
    finally:
        triggers.install()


def _refill(cursor, path: Path) -> None:
    table = path.stem
    cursor.execute(f'DELETE FROM "{table}"')
    with path.open(newline="") as source:
        columns = ", ".join(f'"{name}"' for name in next(csv.reader(source)))
    with path.open("rb") as source, cursor.copy(f'COPY "{table}" ({columns}) FROM STDIN WITH (FORMAT csv, HEADER)') as rows:
        while chunk := source.read(1 << 16):
            rows.write(chunk)


def _agree(said: dict) -> None:
    with connection.cursor() as cursor:
        for table, count in said["counts"].items():
            cursor.execute(f'SELECT count(*) FROM "{table}"')
            (there,) = cursor.fetchone()
            if there != count:
                raise BrokenCopy(f"{table} holds {there} rows after restoring; the backup says {count}.")
    found = first_break(tuple(said["head"]) if said["head"] else None)
    if found:
        raise BrokenCopy(f"The change record breaks at entry {found[0]}: it {found[1]}.")

"""Write a backup of database and papers, a whole moment even while people work."""

import logging
import sqlite3
from pathlib import Path

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError
from django.db import DatabaseError

from shop.keeping.snapshot import make_backup

log = logging.getLogger("shop.keeping")


class Command(BaseCommand):
    help = __doc__

    def add_arguments(self, parser):
        parser.add_argument(
            "--into", type=Path, default=settings.VAR_DIR / "backups", help="folder that the backup's own folder is made in"
        )

    def handle(self, *, into: Path, **options):
        try:
            folder = make_backup(into)
        except (OSError, sqlite3.Error, DatabaseError) as trouble:
            log.error("backup failed: %s", trouble)
            raise CommandError(f"No backup was made: {trouble}. Nothing is left half-written.") from trouble
        log.info("backup made: %s", folder)
        self.stdout.write(str(folder))

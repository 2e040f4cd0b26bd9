"""Put a backup back into an empty place, or with --verify only check it."""

import logging
from pathlib import Path

from django.core.management.base import BaseCommand, CommandError
from django.db import DatabaseError

from shop.keeping.manifest import BrokenCopy
from shop.keeping.restoring import PlaceTaken, restore, verify

log = logging.getLogger("shop.keeping")


class Command(BaseCommand):
    help = __doc__
    requires_system_checks = []

    def add_arguments(self, parser):
        parser.add_argument("folder", type=Path)
        parser.add_argument("--verify", action="store_true", help="check the backup against its manifest and write nothing")

    def handle(self, *, folder: Path, verify: bool, **options):
        try:
            said = self.checked(folder) if verify else restore(folder)
        except (BrokenCopy, PlaceTaken) as trouble:
            log.error("restore refused: %s", trouble)
            raise CommandError(str(trouble)) from trouble
        except (OSError, DatabaseError) as trouble:
            log.error("restore failed: %s", trouble)
            raise CommandError(f"The backup could not be put back: {trouble}. Take an empty place and try again.") from trouble
        rows = sum(said["counts"].values())
        self.stdout.write(f"{'Agrees' if verify else 'Restored'}: {rows} rows, {len(said['files'])} files, made {said['made_at']}.")

    def checked(self, folder: Path) -> dict:
        return verify(folder)

"""Verify the chain of the change record, its guards, and the tables against it; name the first break."""

import json
from pathlib import Path

from django.core.management.base import BaseCommand, CommandError

from shop.changes.against import first_strange_row
from shop.changes.chain import first_break
from shop.changes.triggers import unwatched
from shop.models import ChangeEntry


class Command(BaseCommand):
    help = __doc__

    def add_arguments(self, parser):
        parser.add_argument("--against", type=Path, help="a backup's folder: its noted head shows when the end of the record was cut off")

    def handle(self, *, against: Path | None, **options):
        head = json.loads((against / "manifest.json").read_text())["said"]["head"] if against else None
        found = first_break(tuple(head) if head else None)
        if found:
            raise CommandError(f"The change record breaks at entry {found[0]}: it {found[1]}.")
        missing = unwatched()
        if missing:
            raise CommandError(
                f"Writes to {', '.join(missing)} are not recorded: a trigger is missing or was altered. Run migrate, which puts it back."
            )
        strange = first_strange_row()
        if strange:
            raise CommandError(f"The record holds, but {strange}.")
        count = ChangeEntry.objects.count()
        self.stdout.write(
            f"The change record holds: {count} entries, each chained to the one before. Every row is as its latest entry has it."
        )

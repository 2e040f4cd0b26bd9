"""Take everything out: every table as plain CSV with a file that explains the columns, packed into one zip."""

import os
from pathlib import Path

from django.core.management.base import BaseCommand, CommandError

from shop.exchange.taking_out import write_book


class Command(BaseCommand):
    help = __doc__

    def add_arguments(self, parser):
        parser.add_argument("file", type=Path)

    def handle(self, *, file: Path, **options):
        if file.exists():
            raise CommandError(f"{file} is there already: name another file.")
        try:
            with os.fdopen(os.open(file, os.O_RDWR | os.O_CREAT | os.O_EXCL, 0o600), "w+b") as target:
                counts = write_book(target)
        except OSError as trouble:
            raise CommandError(f"{file} cannot be written: {trouble.strerror}.") from trouble
        for table, rows in counts.items():
            self.stdout.write(f"{rows:>8} {table}")
        self.stdout.write(f"{sum(counts.values()):>8} rows in {len(counts)} tables, in {file}")

"""Judge the wear of the whole fleet from its readings: safe to stop and repeat, same answer twice."""

import time

from django.core.management.base import BaseCommand

from fleet.wear import review_fleet


class Command(BaseCommand):
    help = __doc__

    def handle(self, **options):
        begun = time.monotonic()
        review_fleet(say=lambda line: self.stdout.write(f"{time.monotonic() - begun:6.2f} s  {line}"))

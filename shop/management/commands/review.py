"""Judge the wear of the whole fleet from its readings, and write what it suggests: safe to stop and repeat, same answer twice."""

import time

from django.core.management.base import BaseCommand

from shop.advice.review import review_shop


class Command(BaseCommand):
    help = __doc__

    def handle(self, **options):
        begun = time.monotonic()
        review_shop(say=lambda line: self.stdout.write(f"{time.monotonic() - begun:6.2f} s  {line}"))

"""Serve the site, on this machine or on the shop's network, for work: no extra server needed, a proxy in front is welcome."""

import logging
import os

from django.core.management import call_command
from django.core.management.base import BaseCommand
from django.urls import get_resolver

from shop.due.fleet_due import fleet_due
from shop.serving import serve_site

MOST_PROCESSES = 4
log = logging.getLogger("shop.due")


class Command(BaseCommand):
    help = __doc__

    def add_arguments(self, parser):
        parser.add_argument("--host", default="127.0.0.1")
        parser.add_argument("--port", type=int, default=8000)
        parser.add_argument("--threads", type=int, default=8, help="of each process")
        parser.add_argument(
            "--processes", type=int, default=min(os.cpu_count() or 1, MOST_PROCESSES), help="default: one for each core, up to four"
        )

    def handle(self, *, host: str, port: int, threads: int, processes: int, **options):
        call_command("migrate", verbosity=0)
        self.warm_up()
        self.stdout.write(f"Serving at http://{host}:{port} (stop with Ctrl-C)")
        self.stdout.flush()
        serve_site(host=host, port=port, threads=threads, processes=processes)

    def warm_up(self) -> None:
        """Work out once, before anybody waits for it, what is due over the fleet; a fault in it is logged and never keeps the shop shut."""
        try:
            get_resolver().url_patterns  # noqa: B018, reading it loads the rooms
            fleet_due()
        except Exception:
            log.exception("what is due could not be worked out at the start")

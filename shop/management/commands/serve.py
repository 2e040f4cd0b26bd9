"""Serve the site, on this machine or on the shop's network, for work: no extra server needed, a proxy in front is welcome."""

from django.core.management import call_command
from django.core.management.base import BaseCommand

from shop.serving import serve_site


class Command(BaseCommand):
    help = __doc__

    def add_arguments(self, parser):
        parser.add_argument("--host", default="127.0.0.1")
        parser.add_argument("--port", type=int, default=8000)
        parser.add_argument("--threads", type=int, default=8)

    def handle(self, *, host: str, port: int, threads: int, **options):
        call_command("migrate", verbosity=0)
        self.stdout.write(f"Serving at http://{host}:{port} (stop with Ctrl-C)")
        self.stdout.flush()
        serve_site(host=host, port=port, threads=threads)

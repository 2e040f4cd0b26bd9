"""`python manage.py demo`: an invented shop to look round in, and a server on this machine alone."""

from datetime import date
from time import perf_counter

from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError

from fleet.assess import assess_all
from fleet.models import Reading
from shop.advice.review import review_shop
from shop.demo.fill import NotEmpty, fill, is_empty
from shop.demo.people import PASSWORD, PEOPLE, leave_mark, mark_file, people_at_the_door
from shop.serving import serve_site


class Command(BaseCommand):
    help = "Fill an empty database with an invented shop and serve it at 127.0.0.1. A database that holds anything is left alone."

    def add_arguments(self, parser):
        parser.add_argument("--as-of", type=date.fromisoformat, metavar="YYYY-MM-DD", help="the day that counts as today; default today")
        parser.add_argument("--no-server", action="store_true", help="fill only")
        parser.add_argument("--port", type=int, default=8000)

    def handle(self, *, as_of, no_server, port, **options):
        call_command("migrate", verbosity=0)
        if is_empty():
            self.fill(as_of or date.today())
        elif as_of or not mark_file().exists() or not people_at_the_door():
            raise CommandError(f"{NotEmpty.__doc__} Point SHOP_VAR or DATABASE_URL at an empty place and run this again.")
        if not no_server:
            self.serve(port)

    def fill(self, as_of: date):
        begun = perf_counter()
        book = fill(as_of)
        leave_mark()
        judged = assess_all(Reading.objects.all())
        review_shop()
        counts = f"{len(book.machines)} machines, {len(book.units)} drives, {len(book.tests)} tests, {judged} readings judged"
        self.stdout.write(f"Filled in {perf_counter() - begun:.1f} s: {counts}.")

    def serve(self, port: int):
        names = ", ".join(row[0] for row in PEOPLE)
        self.stdout.write(f"Open http://127.0.0.1:{port} and sign in as {names} with the password: {PASSWORD}")
        serve_site(host="127.0.0.1", port=port)

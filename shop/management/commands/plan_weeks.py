"""Work out a plan that was asked for: started by the plan page, apart from it, so that pages stay quick."""

from django.core.management.base import BaseCommand

from shop.plan.planning import work_out


class Command(BaseCommand):
    help = "Work out the weeks of a plan that was asked for on the plan page."

    def add_arguments(self, parser):
        parser.add_argument("run", type=int, help="number of the run")

    def handle(self, *, run, **options):
        work_out(run)

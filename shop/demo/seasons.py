"""Weeks in which machines must not stand still, and the one that is close at hand."""

from datetime import date, timedelta

from shop.demo import stories
from shop.demo.book import Book
from shop.models import SeasonBlock

YEARLY = (  # name, first and last day (month, day), kind, region, hard
    ("Cereal harvest", (7, 8), (8, 22), "combine", "", True),
    ("Spray rush", (4, 5), (5, 15), "sprayer", "", False),
    ("First cut", (5, 10), (6, 8), "windrower", "", True),
    ("Maize silage", (9, 8), (10, 10), "forage", "", True),
    ("Mowing, south", (5, 1), (6, 30), "mower", "south", False),
)
CLOSE_DAYS = 38


def make_seasons(book: Book) -> None:
    year = book.span.as_of.year
    for name, first, last, kind, region, hard in YEARLY:
        SeasonBlock.objects.create(
            name=name, from_date=date(year, *first), to_date=date(year, *last), machine_kind=kind, region=region, is_hard=hard
        )
    machine = book.machines[stories.machine_of("overdue_filter")]
    begin = book.span.as_of + timedelta(days=stories.SEASON_IN_DAYS)
    SeasonBlock.objects.create(
        name="Late seed harvest under contract",
        from_date=begin,
        to_date=begin + timedelta(days=CLOSE_DAYS),
        customer=machine.customer,
        machine_kind=machine.kind,
        repeats_yearly=False,
    )

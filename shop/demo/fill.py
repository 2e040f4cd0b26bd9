"""Filling an empty database with the demo shop, noun by noun."""

from datetime import date

from django.apps import apps
from django.contrib.auth import get_user_model
from django.db import transaction

from shop.acts import act
from shop.demo import (
    customers,
    drive_models,
    instruments,
    machines,
    marks,
    oils,
    orders,
    parts,
    people,
    reference,
    rounds,
    samples,
    seasons,
    tests,
    units,
    work,
)
from shop.demo.book import Book
from shop.demo.times import Span, moment, times_as_given
from shop.keeping.tables import count_over
from shop.tests.procedures import load_procedures


class NotEmpty(Exception):
    """The database holds something already, so the demo keeps its hands off."""


MAY_STAND = {"Procedure", "CurrentAct"}  # what a new database comes with


def is_empty() -> bool:
    """Say whether nobody and nothing is in the book yet."""
    kept = [model for label in ("fleet", "shop") for model in apps.get_app_config(label).get_models() if model.__name__ not in MAY_STAND]
    return not any(model._base_manager.exists() for model in (get_user_model(), *kept))


def fill(as_of: date) -> Book:
    """Fill the empty database as it would stand on a day; all of it or nothing."""
    if not is_empty():
        raise NotEmpty("The database is not empty: the demo shop is only put into an empty one.")
    book = Book(Span(as_of))
    with transaction.atomic(), times_as_given():
        reference.load_reference(book)
        people.make_people(book)
        with act("Fill the demo shop", by=book.users["marta"], reason="Invented data to look round with"):
            _fill_in_order(book)
        count_over()
    return book


def _fill_in_order(book: Book) -> None:
    load_procedures(moment(book.span.start))
    customers.make_customers(book)
    drive_models.make_models(book)
    instruments.make_instruments(book)
    machines.make_machines(book)
    units.make_units(book)
    rounds.make_calls(book)
    work.make_rules(book)
    done = work.make_tasks_done(book)
    oils.make_fills(book, done)
    tests.make_tests(book)
    work.make_deferrals(book)
    samples.make_samples(book)
    seasons.make_seasons(book)
    parts.make_parts(book)
    orders.make_orders(book)
    marks.make_marks(book)
    marks.set_counters(book)

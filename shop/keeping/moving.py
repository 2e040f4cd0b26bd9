"""Carrying a whole shop from this database into another empty one, with counts and sums compared."""

from contextlib import contextmanager

import dj_database_url
from django.core.management import call_command
from django.db import connections, transaction

from shop.changes import triggers
from shop.keeping.editions import not_known_here, stands_behind
from shop.keeping.tables import count_over, counts, editions, kept_models, reset_sequences, sums

TARGET = "target"


class NotTheSame(Exception):
    """What arrived differs from what was sent."""


def move_shop(url: str, say=lambda line: None) -> dict[str, int]:
    """Copy every row into the empty database at `url`, compare counts and sums, return the counts."""
    connections.databases[TARGET] = {**connections.databases["default"], "OPTIONS": {}, **dj_database_url.parse(url)}
    refuse_other_editions()
    call_command("migrate", database=TARGET, verbosity=0)
    if counts(TARGET)["shop_changeentry"]:
        raise NotTheSame("The target holds a shop already; nothing was written.")
    triggers.uninstall(TARGET)
    try:
        with transaction.atomic(using=TARGET):
            _empty()
            for model in kept_models():
                say(f"{model._meta.db_table}: {_carry(model)} rows")
            reset_sequences(TARGET)
            count_over(TARGET)
            _compare()
    finally:
        triggers.install(TARGET)
    return counts(TARGET)


def refuse_other_editions() -> None:
    """Rows are carried between tables of this edition alone."""
    if stands_behind("default"):
        raise NotTheSame("This shop stands at an earlier edition of the program. Run manage.py migrate first; nothing was written.")
    later = not_known_here(editions("default") | editions(TARGET))
    if later:
        raise NotTheSame(f"There are tables of a later edition than this program ({', '.join(later)}); nothing was written.")


def _empty() -> None:
    """Take away the rows that migrating made (content types, permissions), so that the carried ones keep their numbers."""
    with connections[TARGET].cursor() as cursor:
        for model in kept_models():
            cursor.execute(f'DELETE FROM "{model._meta.db_table}"')


def _carry(model) -> int:
    done, batch = 0, []
    with _own_times(model):
        for row in model._base_manager.using("default").order_by("pk").iterator(chunk_size=1000):
            batch.append(row)
            if len(batch) == 1000:
                done += len(model._base_manager.using(TARGET).bulk_create(batch))
                batch = []
        done += len(model._base_manager.using(TARGET).bulk_create(batch)) if batch else 0
    return done


@contextmanager
def _own_times(model):
    """Keep the times a row was made at, instead of taking the time of the move."""
    fields = [f for f in model._meta.local_concrete_fields if getattr(f, "auto_now_add", False)]
    for field in fields:
        field.auto_now_add = False
    try:
        yield
    finally:
        for field in fields:
            field.auto_now_add = True


def _compare() -> None:
    for what, here, there in (("count", counts("default"), counts(TARGET)), ("sum", sums("default"), sums(TARGET))):
        for table, figure in here.items():
            if there[table] != figure:
                raise NotTheSame(f"{table}: the {what} is {figure} here and {there[table]} there; nothing was kept.")

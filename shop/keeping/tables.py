"""The tables of the shop, for counting and for carrying rows from one database to another."""

from django.apps import apps
from django.core.management.color import no_style
from django.db import DEFAULT_DB_ALIAS, connections
from django.db.migrations.recorder import MigrationRecorder
from django.db.models import DecimalField, FloatField, IntegerField, Sum


def kept_models() -> list:
    """Every model with a table, many-to-many tables included."""
    return [m for m in apps.get_models(include_auto_created=True) if m._meta.managed and not m._meta.proxy]


def stored_tables(using: str = DEFAULT_DB_ALIAS) -> list[str]:
    """Return the tables that the database has, which may be of an earlier edition; what says which edition is left out."""
    return sorted(set(connections[using].introspection.table_names()) - {"django_migrations"})


def stored_counts(using: str = DEFAULT_DB_ALIAS) -> dict[str, int]:
    found = {}
    with connections[using].cursor() as cursor:
        for table in stored_tables(using):
            cursor.execute(f'SELECT count(*) FROM "{table}"')
            found[table] = cursor.fetchone()[0]
    return found


def counts(using: str = DEFAULT_DB_ALIAS) -> dict[str, int]:
    return {m._meta.db_table: m._base_manager.using(using).count() for m in kept_models()}


def sums(using: str = DEFAULT_DB_ALIAS) -> dict[str, dict[str, str]]:
    """Return the sum of every numeric column of every table, as text with eleven digits."""
    found = {}
    for model in kept_models():
        fields = [f.attname for f in model._meta.local_concrete_fields if isinstance(f, (DecimalField, FloatField, IntegerField))]
        totals = model._base_manager.using(using).aggregate(**{f"sum_{name}": Sum(name) for name in fields})
        found[model._meta.db_table] = {name: f"{float(value or 0):.11g}" for name, value in totals.items()}
    return found


def editions(using: str = DEFAULT_DB_ALIAS) -> dict[str, str]:
    """Return the last migration that each app stands at."""
    applied = sorted(MigrationRecorder(connections[using]).applied_migrations())
    return dict(applied)


def reset_sequences(using: str, tables: set[str] | None = None) -> None:
    """Let the next row of each table get a number above those that were carried over."""
    connection = connections[using]
    models = [model for model in kept_models() if tables is None or model._meta.db_table in tables]
    with connection.cursor() as cursor:
        for statement in connection.ops.sequence_reset_sql(no_style(), models):
            cursor.execute(statement)


def count_over(using: str = DEFAULT_DB_ALIAS) -> None:
    """Let PostgreSQL take stock of its tables after many rows came at once; until it has, it may choose very slow ways. SQLite needs none."""
    if connections[using].vendor == "postgresql":
        with connections[using].cursor() as cursor:
            cursor.execute("ANALYZE")

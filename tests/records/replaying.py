"""The change record played back from nothing, and held against the tables as they are."""

import json

from django.db import connection

from shop.changes.against import alike
from shop.changes.triggers import SECRET_COLUMNS, recorded_models
from shop.models import ChangeEntry


def played_back() -> dict[str, dict[str, dict]]:
    """Return every row that the record knows of, by table and key."""
    tables = {}
    for table, row, kind, new in ChangeEntry.objects.order_by("pk").values_list("table", "row", "kind", "new").iterator(chunk_size=5000):
        rows = tables.setdefault(table, {})
        if kind == "delete":
            rows.pop(row, None)
        else:
            rows[row] = json.loads(new)
    return tables


def as_they_are(model) -> dict[str, dict]:
    """Return the rows of a table as the database itself holds them."""
    columns = [f.column for f in model._meta.local_concrete_fields if f.column not in SECRET_COLUMNS]
    with connection.cursor() as cursor:
        cursor.execute(f'SELECT {", ".join(connection.ops.quote_name(c) for c in columns)} FROM "{model._meta.db_table}"')
        return {str(row[columns.index(model._meta.pk.column)]): dict(zip(columns, row, strict=True)) for row in cursor.fetchall()}


def differences() -> list[str]:
    """Return every row and column in which the record and the tables differ."""
    played, found = played_back(), []
    for model in recorded_models():
        kept, told = as_they_are(model), played.get(model._meta.db_table, {})
        found += [f"{model._meta.db_table} {row} is on one side alone" for row in set(kept) ^ set(told)]
        for row in set(kept) & set(told):
            found += [
                f"{model._meta.db_table} {row}.{name}: {told[row].get(name)!r} told, {value!r} kept"
                for name, value in kept[row].items()
                if alike(told[row].get(name)) != alike(value)
            ]
    return found

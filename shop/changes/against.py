"""The change record held against the tables: a row that was written past the record differs from its latest entry."""

import json
from collections.abc import Iterator
from decimal import Decimal

from django.db import connection

from shop.changes.triggers import ENTRY, SECRET_COLUMNS, recorded_models
from shop.models.changes import Act, ChangeEntry

LATEST = f'SELECT "row" AS told_row, max(id) AS entry FROM {ENTRY} WHERE "table" = %s GROUP BY "row"'


def first_strange_row() -> str | None:
    """Return in words the first row that is not as the record has it, or None where all are."""
    for model in recorded_models():
        for row, told, kept in _unlike(model):
            if difference := _difference(told, kept):
                return f"row {row} of {model._meta.db_table} {difference}"
    return None


def _unlike(model) -> Iterator[tuple[str, str | None, str | None]]:
    """Give key, latest entry and present row of each row whose text differs from its entry, or that stands on one side alone."""
    table, key = model._meta.db_table, f'CAST(t."{model._meta.pk.column}" AS TEXT)'
    differs = "IS DISTINCT FROM" if connection.vendor == "postgresql" else "IS NOT"
    changed = (
        f'SELECT {key}, entry.new, {_as_text(model)} FROM "{table}" AS t LEFT JOIN ({LATEST}) AS latest ON latest.told_row = {key} '
        f"LEFT JOIN {ENTRY} AS entry ON entry.id = latest.entry WHERE entry.new {differs} {_as_text(model)} {_left_out(model)}"
    )
    gone = (
        f"SELECT latest.told_row, entry.new, NULL FROM ({LATEST}) AS latest JOIN {ENTRY} AS entry ON entry.id = latest.entry "
        f'WHERE entry.new IS NOT NULL AND latest.told_row NOT IN (SELECT {key} FROM "{table}" AS t)'
    )
    for statement in (changed, gone):
        with connection.cursor() as cursor:
            cursor.execute(statement, [table])
            yield from cursor.fetchall()


def _as_text(model) -> str:
    """Return the expression of a row as its trigger writes it."""
    if connection.vendor == "postgresql":
        return "(to_jsonb(t) - 'password' - 'last_login')::text"
    with connection.cursor() as cursor:
        described = connection.introspection.get_table_description(cursor, model._meta.db_table)
    columns = [column.name for column in described if column.name not in SECRET_COLUMNS]
    return "json_object(" + ", ".join(f"'{name}', t.\"{name}\"" for name in columns) + ")"


def _left_out(model) -> str:
    """Acts of a time before acts were recorded have no entry."""
    if model is not Act:
        return ""
    rows = [int(row) for row in ChangeEntry.objects.filter(table=Act._meta.db_table).values_list("row", flat=True)[:1]]
    return f"AND t.id >= {rows[0]}" if rows else "AND t.id < 0"


def _difference(told: str | None, kept: str | None) -> str | None:
    if told is None:
        return "is not in the record: it was put in past it"
    if kept is None:
        return "is in the record and not in the table: it was taken away past it"
    before, after = json.loads(told), json.loads(kept)
    names = [name for name in before if name in after and alike(before[name]) != alike(after[name])]
    return f"is not as the record has it ({', '.join(names)}): it was changed past it" if names else None


def alike(value) -> str:
    """Return a value as text that does not depend on which database told it."""
    if isinstance(value, (dict, list)):
        return json.dumps(value, sort_keys=True)
    if isinstance(value, (bool, int, float, Decimal)):
        return f"{float(value):.12g}"
    text = str(value)
    if text[:1] in "[{":
        try:
            return json.dumps(json.loads(text), sort_keys=True)
        except ValueError:
            return text
    moment = text.replace("T", " ").removesuffix("Z").removesuffix("+00:00")
    return moment.rstrip("0").rstrip(".") if moment[4:5] == moment[7:8] == "-" and ":" in moment else text

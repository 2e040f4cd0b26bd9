"""The triggers that keep the change record, written from the models, for SQLite and for PostgreSQL.

An entry's hash is SHA-256 over the hash before it and its own content. On SQLite the hash function is the one that Django lends to the connection:
a plain database shell has none, so a write from there is refused instead of going unrecorded.
"""

from itertools import product

from django.apps import apps
from django.db import DEFAULT_DB_ALIAS, connections, transaction

# Not recorded: the record itself, doors that hold no facts, and what can be worked out again at any time.
UNRECORDED = {"shop.CurrentAct", "shop.ChangeEntry", "shop.FormToken", "shop.Counter"}
SECRET_COLUMNS = {"password", "last_login"}
ENTRY = "shop_changeentry"
NEVER_CHANGED = (ENTRY, "shop_act")  # who did what, when and why stands for good
CHAIN_LOCK = 727001  # number of the lock that whoever adds to the chain holds on PostgreSQL


def recorded_models() -> list:
    """Every model whose writes are recorded, many-to-many tables included."""
    found = [
        model
        for model in apps.get_models(include_auto_created=True)
        if model._meta.app_label in {"fleet", "shop"} or model._meta.label in {"auth.User", "auth.User_groups"}
    ]
    return [model for model in found if model._meta.label not in UNRECORDED and not getattr(model, "worked_out_again", False)]


def install(using: str = DEFAULT_DB_ALIAS, **_unused) -> None:
    """Put every trigger in place for the tables and columns that there are; safe to repeat."""
    connection = connections[using]
    there = set(connection.introspection.table_names())
    if ENTRY not in there:
        return
    models = [model for model in recorded_models() if model._meta.db_table in there]
    with transaction.atomic(using=using), connection.cursor() as cursor:
        for statement in _postgresql(models) if connection.vendor == "postgresql" else _sqlite(models, connection, cursor):
            cursor.execute(statement)


def make_way(using: str = DEFAULT_DB_ALIAS, plan=(), **_unused) -> None:
    """Take the triggers away before tables change their shape, for they name the columns; `install` puts them back afterwards."""
    if plan:
        uninstall(using)


def uninstall(using: str = DEFAULT_DB_ALIAS) -> None:
    """Take every trigger away: only for changing tables, for emptying a database in tests and for filling an empty one from a copy."""
    connection = connections[using]
    with transaction.atomic(using=using), connection.cursor() as cursor:
        for name, table in standing(using):
            target = f' ON "{table}"' if connection.vendor == "postgresql" else ""
            cursor.execute(f'DROP TRIGGER "{name}"{target}')


def standing(using: str = DEFAULT_DB_ALIAS) -> list[tuple[str, str]]:
    """Return name and table of every trigger of the record that is in place."""
    with connections[using].cursor() as cursor:
        if connections[using].vendor == "postgresql":
            cursor.execute(
                "SELECT tgname, tgrelid::regclass::text FROM pg_trigger WHERE NOT tgisinternal AND tgname LIKE 'keep!_%' ESCAPE '!'"
            )
        else:
            cursor.execute("SELECT name, tbl_name FROM sqlite_master WHERE type = 'trigger' AND name LIKE 'keep!_%' ESCAPE '!'")
        return [(name, table.strip('"')) for name, table in cursor.fetchall()]


def unwatched(using: str = DEFAULT_DB_ALIAS) -> list[str]:
    """Return the tables whose writes would go unrecorded because a trigger is missing, switched off or not the one that was put there."""
    connection = connections[using]
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            return _unwatched_postgresql(cursor)
        cursor.execute("SELECT name, sql FROM sqlite_master WHERE type = 'trigger'")
        there = dict(cursor.fetchall())
        models = [model for model in recorded_models() if model._meta.db_table in set(connection.introspection.table_names())]
        wanted = [statement for statement in _sqlite(models, connection, cursor) if statement.startswith("CREATE")]
    return sorted({_table_of(statement) for statement in wanted if there.get(statement.split('"')[1]) != statement})


def _table_of(statement: str) -> str:
    """Return the table of a statement that makes one of our triggers, whose name ends with it."""
    return statement.split('"')[1].split("_", 2)[2]


def _unwatched_postgresql(cursor) -> list[str]:
    cursor.execute("SELECT tgname FROM pg_trigger WHERE NOT tgisinternal AND tgenabled IN ('O', 'A')")
    there = {name for (name,) in cursor.fetchall()}
    cursor.execute("SELECT prosrc FROM pg_proc WHERE proname IN ('keep_change', 'refuse_change')")
    bodies = {body for (body,) in cursor.fetchall()}
    if {statement.split("$$")[1] for statement in (KEEP_FUNCTION, REFUSE_FUNCTION)} - bodies:
        return [ENTRY]
    wanted = [statement for statement in _postgresql(recorded_models()) if statement.startswith("CREATE TRIGGER")]
    return sorted({_table_of(statement) for statement in wanted if statement.split('"')[1] not in there})


def _names(table: str) -> list[str]:
    return [f"keep_{kind}_{table}" for kind in ("insert", "update", "delete")]


def _sqlite(models, connection, cursor):
    for model in models:
        table = model._meta.db_table
        columns = [c.name for c in connection.introspection.get_table_description(cursor, table) if c.name not in SECRET_COLUMNS]
        changed = " OR ".join(f'OLD."{c}" IS NOT NEW."{c}"' for c in columns)
        for kind, name in zip(("insert", "update", "delete"), _names(table), strict=True):
            if kind != "insert" and table in NEVER_CHANGED:
                continue
            yield f'DROP TRIGGER IF EXISTS "{name}"'
            when = f"WHEN {changed}" if kind == "update" else ""
            yield f'CREATE TRIGGER "{name}" AFTER {kind.upper()} ON "{table}" {when} BEGIN {_sqlite_entry(model, kind, columns)} END'
    for kind, table in product(("update", "delete"), NEVER_CHANGED):
        name = f"keep_{kind}_{table}"
        yield f'DROP TRIGGER IF EXISTS "{name}"'
        yield f"CREATE TRIGGER \"{name}\" BEFORE {kind.upper()} ON {table} BEGIN SELECT RAISE(ABORT, 'the change record is append-only'); END"


def _sqlite_entry(model, kind: str, columns: list[str]) -> str:
    row = "OLD" if kind == "delete" else "NEW"
    pair = {"OLD": "NULL", "NEW": "NULL"}
    for side in {"insert": ["NEW"], "update": ["OLD", "NEW"], "delete": ["OLD"]}[kind]:
        pair[side] = "json_object(" + ", ".join(f"'{c}', {side}.\"{c}\"" for c in columns) + ")"
    parts = ["previous", "tbl", "row", "kind", "at", "act", "old", "new"]
    content = " || char(10) || ".join(f"coalesce({part}, '')" for part in parts)
    return (
        f'INSERT INTO {ENTRY} ("table", "row", kind, at, act_id, old, new, previous_hash, hash) '
        f"SELECT tbl, row, kind, at, act, old, new, previous, SHA256({content}) FROM (SELECT "
        f"coalesce((SELECT hash FROM {ENTRY} ORDER BY id DESC LIMIT 1), '') AS previous, '{model._meta.db_table}' AS tbl, "
        f"CAST({row}.\"{model._meta.pk.column}\" AS TEXT) AS row, '{kind}' AS kind, strftime('%Y-%m-%dT%H:%M:%fZ', 'now') AS at, "
        f"(SELECT act_id FROM shop_currentact LIMIT 1) AS act, {pair['OLD']} AS old, {pair['NEW']} AS new);"
    )


KEEP_FUNCTION = f"""
CREATE OR REPLACE FUNCTION keep_change() RETURNS trigger AS $$
DECLARE
  before jsonb; after jsonb; previous text; moment text; act bigint; content text; row_key text;
BEGIN
  IF TG_OP <> 'INSERT' THEN before := to_jsonb(OLD) - 'password' - 'last_login'; END IF;
  IF TG_OP <> 'DELETE' THEN after := to_jsonb(NEW) - 'password' - 'last_login'; END IF;
  IF TG_OP = 'UPDATE' AND before = after THEN RETURN NULL; END IF;
  PERFORM pg_advisory_xact_lock({CHAIN_LOCK});
  SELECT hash INTO previous FROM {ENTRY} ORDER BY id DESC LIMIT 1;
  moment := to_char(clock_timestamp() AT TIME ZONE 'UTC', 'YYYY-MM-DD"T"HH24:MI:SS.MS"Z"');
  act := nullif(current_setting('swashbook.act', true), '')::bigint;
  row_key := coalesce(after, before) ->> TG_ARGV[0];
  content := concat_ws(chr(10), coalesce(previous, ''), TG_TABLE_NAME, row_key, lower(TG_OP), moment, coalesce(act::text, ''),
                       coalesce(before::text, ''), coalesce(after::text, ''));
  INSERT INTO {ENTRY} ("table", "row", kind, at, act_id, old, new, previous_hash, hash)
  VALUES (TG_TABLE_NAME, row_key, lower(TG_OP), moment, act, before::text, after::text, coalesce(previous, ''),
          encode(sha256(convert_to(content, 'UTF8')), 'hex'));
  RETURN NULL;
END $$ LANGUAGE plpgsql
"""
REFUSE_FUNCTION = """
CREATE OR REPLACE FUNCTION refuse_change() RETURNS trigger AS $$
BEGIN RAISE EXCEPTION 'the change record is append-only'; END $$ LANGUAGE plpgsql
"""


def _postgresql(models):
    yield KEEP_FUNCTION
    yield REFUSE_FUNCTION
    for model in models:
        table, key = model._meta.db_table, model._meta.pk.column
        name = f"keep_insert_{table}"
        yield f'DROP TRIGGER IF EXISTS "{name}" ON "{table}"'
        yield (
            f'CREATE TRIGGER "{name}" AFTER INSERT OR UPDATE OR DELETE ON "{table}" FOR EACH ROW EXECUTE FUNCTION keep_change(\'{key}\')'
        )
    for kind, table in product(("update", "delete"), NEVER_CHANGED):
        name = f"keep_{kind}_{table}"
        yield f'DROP TRIGGER IF EXISTS "{name}" ON {table}'
        yield f'CREATE TRIGGER "{name}" BEFORE {kind.upper()} ON {table} FOR EACH ROW EXECUTE FUNCTION refuse_change()'
    for table in NEVER_CHANGED:
        name = f"keep_truncate_{table}"
        yield f'DROP TRIGGER IF EXISTS "{name}" ON {table}'
        yield f'CREATE TRIGGER "{name}" BEFORE TRUNCATE ON {table} EXECUTE FUNCTION refuse_change()'

"""What is worked out for the whole fleet is kept until one of its tables changes; the change record says so, exactly and cheaply."""

from collections.abc import Callable
from threading import Lock
from typing import Any

from django.db import connection

from shop.models.changes import ChangeEntry

_kept: dict[str, tuple[tuple, Any]] = {}
_lock = Lock()


def latest_hashes(models) -> tuple[str, ...]:
    """Return the hash of the latest change entry of each model's table; one query, a look at the index for each."""
    table = ChangeEntry._meta.db_table
    one = f'(SELECT hash FROM {table} WHERE "table" = %s ORDER BY id DESC LIMIT 1)'
    with connection.cursor() as cursor:
        cursor.execute("SELECT " + ", ".join([one] * len(models)), [m._meta.db_table for m in models])
        return tuple(hash_ or "" for hash_ in cursor.fetchone())


def keep(name: str, stamp: tuple, make: Callable[[], Any]) -> Any:
    """Return what `make` gave when it was last asked with this stamp, or ask it now."""
    found = _kept.get(name)
    if found is not None and found[0] == stamp:
        return found[1]
    made = make()
    with _lock:
        _kept[name] = (stamp, made)
    return made

"""Which edition of the tables a database or a backup stands at, beside the one that this program knows."""

from django.db import connections
from django.db.migrations.executor import MigrationExecutor
from django.db.migrations.loader import MigrationLoader


def stands_behind(using: str) -> bool:
    """Say whether a database waits for an upgrade to this edition."""
    executor = MigrationExecutor(connections[using])
    return bool(executor.migration_plan(executor.loader.graph.leaf_nodes()))


def not_known_here(editions: dict[str, str]) -> list[str]:
    """Return what of these editions comes from a later program than this one."""
    known = MigrationLoader(None).disk_migrations
    return [f"{app} {name}" for app, name in sorted(editions.items()) if (app, name) not in known]

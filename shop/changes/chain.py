"""Verifying the chain of the change record: the first break, if any, by entry."""

import hashlib

from shop.models.changes import ChangeEntry

FIELDS = ("previous_hash", "table", "row", "kind", "at", "act_id", "old", "new")


def entry_hash(entry: dict) -> str:
    """Return the hash that an entry's content calls for."""
    content = "\n".join("" if entry[name] is None else str(entry[name]) for name in FIELDS)
    return hashlib.sha256(content.encode()).hexdigest()


def first_break(head: tuple[int, str] | None = None) -> tuple[int, str] | None:
    """Return the number of the first entry that does not fit and why, or None where the chain holds.

    `head` is a last entry (number, hash) known from elsewhere, such as a backup's manifest: it shows when the end was cut off.
    """
    previous, known = "", None
    for entry in ChangeEntry.objects.order_by("pk").values("pk", "hash", *FIELDS).iterator(chunk_size=2000):
        if entry["previous_hash"] != previous:
            return entry["pk"], "does not follow the entry before it: one was removed, added or moved"
        if entry_hash(entry) != entry["hash"]:
            return entry["pk"], "was changed after it was written"
        previous = entry["hash"]
        known = entry["hash"] if head and entry["pk"] == head[0] else known
    if head and known != head[1]:
        return head[0], "is missing or differs from the one noted elsewhere"
    return None

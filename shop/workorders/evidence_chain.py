"""Evidence in a chain: each row carries a hash over itself and the row before, so that a later change shows, and where."""

import hashlib
import json

BEGINNING = "0" * 64


def chained(rows) -> list[list[str]]:
    """Return rows as lists of words with their hash in front."""
    previous, out = BEGINNING, []
    for row in rows:
        words = [str(cell) for cell in row]
        previous = hashlib.sha256((previous + json.dumps(words, ensure_ascii=False)).encode()).hexdigest()
        out.append([previous, *words])
    return out


def as_text(chain) -> str:
    """The chain as lines of a file that is kept: hash and words, a tab between."""
    return "".join("\t".join(cell.replace("\t", " ").replace("\n", " ") for cell in row) + "\n" for row in chain)


def first_difference(kept_text: str, chain) -> str:
    """Say which row differs first from the chain as it was kept; empty where all agree."""
    kept, now = kept_text.splitlines(), as_text(chain).splitlines()
    for place, (before, after) in enumerate(zip(kept, now, strict=False), start=1):
        if before != after:
            return f"Row {place} differs. Kept: {' '.join(before.split(chr(9))[1:])} Now: {' '.join(after.split(chr(9))[1:])}"
    if len(kept) > len(now):
        return f"Row {len(now) + 1} is gone. Kept: {' '.join(kept[len(now)].split(chr(9))[1:])}"
    return f"Row {len(kept) + 1} was added later: {' '.join(now[len(kept)].split(chr(9))[1:])}" if len(now) > len(kept) else ""

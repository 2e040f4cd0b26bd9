"""What a backup says of itself: every file with its hash, every table with its count, and the head of the change record's chain."""

import hashlib
import json
from pathlib import Path

MANIFEST = "manifest.json"


class BrokenCopy(Exception):
    """A backup does not agree with its own manifest."""


def file_hash(path: Path) -> str:
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def files_below(folder: Path) -> dict[str, str]:
    """Return hash by relative name of every file below `folder`, the manifest left out."""
    return {
        str(path.relative_to(folder)): file_hash(path) for path in sorted(folder.rglob("*")) if path.is_file() and path.name != MANIFEST
    }


def write_manifest(folder: Path, **said) -> None:
    text = json.dumps({**said, "files": files_below(folder)}, indent=1, sort_keys=True)
    (folder / MANIFEST).write_text(
        json.dumps({"said": json.loads(text), "hash": hashlib.sha256(text.encode()).hexdigest()}, indent=1, sort_keys=True)
    )


def read_manifest(folder: Path) -> dict:
    """Return what the manifest says, after checking it and every file against it; else raise `BrokenCopy` naming what differs."""
    try:
        whole = json.loads((folder / MANIFEST).read_text())
        said = whole["said"]
        text = json.dumps(said, indent=1, sort_keys=True)
    except (OSError, ValueError, KeyError, TypeError) as trouble:
        raise BrokenCopy(f"The manifest of {folder} cannot be read: {trouble}.") from trouble
    if hashlib.sha256(text.encode()).hexdigest() != whole.get("hash"):
        raise BrokenCopy(f"The manifest of {folder} was changed after it was written.")
    there = files_below(folder)
    for name in sorted(set(there) | set(said["files"])):
        if there.get(name) != said["files"].get(name):
            raise BrokenCopy(f"{name} is missing, was changed, or does not belong to this backup.")
    return said

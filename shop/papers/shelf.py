"""Files on the shelf: random names, on the disk before the row that names them, and checked against their hash when taken out."""

import hashlib
import os
import secrets
from pathlib import Path

from django.conf import settings

from shop.refusals import Refused


class Damaged(Exception):
    """A file is gone, or is not the one that was kept."""


def put_away(body: bytes, ending: str) -> tuple[str, str]:
    """Write bytes under a random name so that they are on the disk for good; return that name and their hash."""
    folder = Path(settings.MEDIA_ROOT)
    folder.mkdir(parents=True, exist_ok=True)
    name = secrets.token_hex(16) + ending
    beside = folder / f".{name}.part"
    try:
        with os.fdopen(os.open(beside, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "wb") as file:
            file.write(body)
            file.flush()
            os.fsync(file.fileno())
        os.replace(beside, folder / name)
        keep_entry(folder)
    except OSError as trouble:
        beside.unlink(missing_ok=True)
        (folder / name).unlink(missing_ok=True)
        raise Refused(
            f"The disk of the server did not take the file ({trouble.strerror}): nothing was kept. Tell whoever looks after it."
        ) from trouble
    return name, hashlib.sha256(body).hexdigest()


def keep_entry(folder: Path) -> None:
    """Make the folder's own entry last, too."""
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def take_out(paper) -> bytes:
    """Return the bytes of a paper after checking that they are the ones kept."""
    path = Path(settings.MEDIA_ROOT) / Path(paper.stored_name).name
    try:
        body = path.read_bytes()
    except OSError as trouble:
        raise Damaged(f"The file of “{paper.name}” is not on the shelf any more.") from trouble
    if hashlib.sha256(body).hexdigest() != paper.sha256:
        raise Damaged(f"The file of “{paper.name}” is not the one that was kept on {paper.recorded_at:%-d %b %Y}: its hash differs.")
    return body


def throw_away(name: str) -> None:
    """Take a file off the shelf whose row was never written."""
    (Path(settings.MEDIA_ROOT) / Path(name).name).unlink(missing_ok=True)

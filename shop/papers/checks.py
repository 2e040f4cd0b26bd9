"""What may be kept as a paper: by name, by the first bytes, by size; pictures are drawn anew so that nothing travels in them."""

import io
import threading
import unicodedata
import zipfile
from dataclasses import dataclass
from datetime import datetime
from pathlib import PurePosixPath

from django.utils import timezone
from PIL import Image, ImageOps, UnidentifiedImageError

from shop.refusals import Refused

MOST_BYTES = 10 * 1024 * 1024
MOST_PIXELS = 40_000_000
PICTURES = {".jpg": "JPEG", ".jpeg": "JPEG", ".png": "PNG", ".webp": "WEBP"}
MEDIA_TYPES = {
    ".jpg": "image/jpeg", ".jpeg": "image/jpeg", ".png": "image/png", ".webp": "image/webp", ".pdf": "application/pdf", ".csv": "text/csv",
    ".xlsx": "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet", ".txt": "text/plain",
}  # fmt: skip
DRAWN_AT_ONCE = threading.BoundedSemaphore(2)  # a large picture takes some hundred megabytes while it is drawn
TAKEN_AT = 36867  # EXIF: when the picture was taken


@dataclass(frozen=True)
class Checked:
    """A file that may be kept: its shown name, ending, media type, the bytes to keep, and when a picture was taken."""

    name: str
    ending: str
    media_type: str
    body: bytes
    taken_at: datetime | None = None


def checked(upload) -> Checked:
    """Return the upload as it may be kept, or refuse it with one sentence."""
    name = shown_name(upload.name)
    ending = PurePosixPath(name).suffix.lower()
    if ending not in MEDIA_TYPES:
        raise Refused(f"“{name}” is no kind that is kept here: pictures (jpg, png, webp), pdf, csv, xlsx or txt.")
    if upload.size > MOST_BYTES:
        raise Refused(f"“{name}” has {upload.size / 1048576:.1f} MB; up to {MOST_BYTES // 1048576} MB are kept.")
    body = upload.read(MOST_BYTES + 1)
    if not body:
        raise Refused(f"“{name}” is empty.")
    if ending in PICTURES:
        redrawn, taken_at = redrawn_picture(name, ending, body)
        return Checked(name, ending, MEDIA_TYPES[ending], redrawn, taken_at)
    if not looks_like(ending, body):
        raise Refused(f"“{name}” is not what its ending {ending} says: save it anew in that form.")
    return Checked(name, ending, MEDIA_TYPES[ending], body)


def shown_name(given: str) -> str:
    """The last part of a name without signs that hide or steer; only ever shown, never used as a path."""
    last = given.replace("\\", "/").rsplit("/", 1)[-1]
    plain = "".join(sign for sign in unicodedata.normalize("NFC", last) if unicodedata.category(sign)[0] != "C").strip(" .")
    return plain if len(plain) <= 120 else plain[:80] + "…" + plain[-30:]


def looks_like(ending: str, body: bytes) -> bool:
    if ending == ".pdf":
        return body.startswith(b"%PDF-")
    if ending == ".xlsx":
        return is_workbook(body)
    return is_plain_text(body)


def is_workbook(body: bytes) -> bool:
    """A zip that holds a workbook and no links out of it."""
    if not body.startswith(b"PK\x03\x04"):
        return False
    try:
        with zipfile.ZipFile(io.BytesIO(body)) as packed:
            parts = packed.infolist()
    except zipfile.BadZipFile:
        return False
    names = {part.filename for part in parts}
    has_links = any((part.external_attr >> 16) & 0o170000 == 0o120000 for part in parts)
    return (
        {"[Content_Types].xml", "xl/workbook.xml"} <= names and not has_links and sum(part.file_size for part in parts) <= 20 * MOST_BYTES
    )


def is_plain_text(body: bytes) -> bool:
    if body.startswith((b"\xff\xfe", b"\xfe\xff")):
        return True
    if any(byte < 9 or 13 < byte < 27 for byte in body[:65536]):
        return False
    return not body.startswith((b"%PDF-", b"PK\x03\x04", b"\x89PNG", b"\xff\xd8\xff", b"MZ", b"\x7fELF"))


def redrawn_picture(name: str, ending: str, body: bytes) -> tuple[bytes, datetime | None]:
    """The picture drawn anew, upright, without what else the file held; and when it was taken, where it says so."""
    try:
        with DRAWN_AT_ONCE, Image.open(io.BytesIO(body), formats=[PICTURES[ending]]) as picture:
            if picture.width * picture.height > MOST_PIXELS:
                raise Refused(f"“{name}” has {picture.width} x {picture.height} points; up to {MOST_PIXELS // 1_000_000} million are kept.")
            taken_at = moment_taken(picture)
            ImageOps.exif_transpose(picture, in_place=True)
            out, bands = io.BytesIO(), "RGBA" if "A" in picture.getbands() and PICTURES[ending] != "JPEG" else "RGB"
            drawn = picture if picture.mode == bands else picture.convert(bands)
            drawn.info = {}
            drawn.save(out, PICTURES[ending], **({"quality": 90} if PICTURES[ending] != "PNG" else {}))
            return out.getvalue(), taken_at
    except (UnidentifiedImageError, OSError, ValueError, SyntaxError, Image.DecompressionBombError) as trouble:
        raise Refused(f"“{name}” is not a whole picture of the kind its ending {ending} says.") from trouble


def moment_taken(picture) -> datetime | None:
    said = picture.getexif().get_ifd(0x8769).get(TAKEN_AT) or picture.getexif().get(TAKEN_AT)
    try:
        return timezone.make_aware(datetime.strptime(str(said), "%Y:%m:%d %H:%M:%S")) if said else None
    except ValueError:
        return None

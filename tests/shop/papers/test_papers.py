"""What is kept as a paper, what is not, and how it comes out again."""

import io
import zipfile
from datetime import timedelta
from pathlib import Path

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.utils import timezone
from openpyxl import Workbook
from PIL import Image

from shop.models import Paper
from shop.papers.actions import keep_paper, keep_papers
from shop.papers.checks import MOST_BYTES
from shop.refusals import Refused


@pytest.fixture(autouse=True)
def shelf(settings, tmp_path) -> Path:
    settings.MEDIA_ROOT = tmp_path / "shelf"
    return settings.MEDIA_ROOT


def picture(kind="PNG", size=(40, 30), **more) -> bytes:
    out = io.BytesIO()
    Image.new("RGB", size, "grey").save(out, kind, **more)
    return out.getvalue()


def workbook(**links) -> bytes:
    out = io.BytesIO()
    Workbook().save(out)
    if links:
        with zipfile.ZipFile(out, "a") as packed:
            entry = zipfile.ZipInfo("xl/away")
            entry.external_attr = 0o120777 << 16
            packed.writestr(entry, "/etc/passwd")
    return out.getvalue()


PDF = b"%PDF-1.4\n%%EOF\n"
GOOD = {
    "a.jpg": picture("JPEG"), "a.JPEG": picture("JPEG"), "a.png": picture(), "a.webp": picture("WEBP"), "a.pdf": PDF, "a.csv": b"h;p\n1;2\n",
    "a.xlsx": workbook(), "a.txt": "übrig µ\n".encode(), "x.html.pdf": PDF,
}  # fmt: skip
EVIL = {
    "a.svg": b"<svg onload='alert(1)'/>", "a.html": b"<script>1</script>", "x.pdf.html": PDF, "a.exe": b"MZ\x90", "a": b"x", ".pdf": PDF,
    "a.png": b"\x89PNG\r\n\x1a\nnot a picture",
    "b.png": picture("JPEG"), "c.jpg": b"<html>", "a.pdf": b"<html>%PDF-1.4", "a.xlsx": b"PK\x03\x04junk", "b.xlsx": workbook(link=True),
    "a.csv": b"\x00\x01\x02",
    "b.csv": b"%PDF-1.4", "c.csv": b"\x7fELF\x02", "a.txt": b"", "a.gif": b"GIF89a", "a.pdf\x00.png": PDF,
}  # fmt: skip


def up(name: str, body: bytes) -> SimpleUploadedFile:
    return SimpleUploadedFile(name, body)


@pytest.mark.parametrize("name", GOOD)
def test_a_good_file_is_kept_and_comes_back_by_its_hash(name, manager, as_office, floor, shelf):
    paper = keep_paper(by=manager, upload=up(name, GOOD[name]), kind="photo", machine=floor.machine)
    answer = as_office.get(f"/papers/{paper.pk}/")
    assert answer.status_code == 200
    assert answer["X-Content-Type-Options"] == "nosniff"
    is_picture = name.lower().rsplit(".")[-1] in ("jpg", "jpeg", "png", "webp")
    assert answer["Content-Disposition"].startswith("inline" if is_picture else "attachment")
    assert answer["Content-Type"].startswith("image/" if is_picture else "application/octet-stream")
    assert "script" not in answer["Content-Security-Policy"] and "default-src 'none'" in answer["Content-Security-Policy"]
    assert len(answer.content) == paper.size_bytes
    if not is_picture:
        assert answer.content == GOOD[name]


@pytest.mark.parametrize("name", EVIL)
def test_what_is_not_what_its_name_says_is_refused_and_leaves_nothing(name, manager, floor, shelf):
    upload = up("x.txt", EVIL[name])
    upload._name = name
    with pytest.raises(Refused):
        keep_paper(by=manager, upload=upload, machine=floor.machine)
    assert Paper.objects.count() == 0
    assert not shelf.exists() or list(shelf.iterdir()) == []


def test_a_picture_with_a_page_behind_it_loses_the_page(manager, floor, as_office):
    body = picture() + b"<script>alert(1)</script>"
    paper = keep_paper(by=manager, upload=up("a.png", body), machine=floor.machine)
    assert b"script" not in as_office.get(f"/papers/{paper.pk}/").content


def test_where_a_picture_was_taken_is_not_kept_but_when_is(manager, floor, as_office):
    exif = Image.Exif()
    exif[36867] = "2026:03:02 10:11:12"
    exif[34853] = {1: "N"}
    exif[271] = "Maker of the camera"
    paper = keep_paper(by=manager, upload=up("a.jpg", picture("JPEG", exif=exif)), machine=floor.machine)
    assert f"{paper.taken_at:%Y-%m-%d %H:%M:%S}" == "2026-03-02 10:11:12"
    with Image.open(io.BytesIO(as_office.get(f"/papers/{paper.pk}/").content)) as kept:
        assert len(kept.getexif()) == 0


@pytest.mark.parametrize(
    "name", ["../../x.txt", "..\\..\\x.txt", "/etc/x.txt", "C:\\x.txt", "CON.txt", "a\u202etxt.exe.txt", "n" * 300 + ".txt", "\u0007x.txt"]
)
def test_a_name_steers_nothing(name, manager, floor, shelf):
    upload = up("x.txt", b"words")
    upload._name = name
    paper = keep_paper(by=manager, upload=upload, machine=floor.machine)
    assert [path.name for path in shelf.iterdir()] == [paper.stored_name]
    assert len(paper.stored_name) == 36 and paper.stored_name.isascii()
    assert not set("/\\\u202e\u0007") & set(paper.name) and len(paper.name) <= 120


def test_a_file_that_is_too_big_is_refused(manager, floor):
    with pytest.raises(Refused, match="10 MB are kept"):
        keep_paper(by=manager, upload=up("a.txt", b"x" * (MOST_BYTES + 1)), machine=floor.machine)


def test_a_picture_with_too_many_points_is_refused_before_it_is_drawn(manager, floor):
    body = bytearray(picture())
    body[16:24] = (60_000).to_bytes(4, "big") * 2
    import zlib

    body[29:33] = zlib.crc32(bytes(body[12:29])).to_bytes(4, "big")
    with pytest.raises(Refused):
        keep_paper(by=manager, upload=up("a.png", bytes(body)), machine=floor.machine)


def test_a_file_changed_on_the_disk_is_not_handed_over(manager, floor, shelf, as_office):
    paper = keep_paper(by=manager, upload=up("a.txt", b"120 bar"), machine=floor.machine)
    (shelf / paper.stored_name).write_bytes(b"420 bar")
    answer = as_office.get(f"/papers/{paper.pk}/")
    assert answer.status_code == 410 and b"its hash differs" in answer.content
    (shelf / paper.stored_name).unlink()
    assert b"not on the shelf" in as_office.get(f"/papers/{paper.pk}/").content


def test_several_files_are_kept_together_or_not_at_all(manager, floor, shelf):
    with pytest.raises(Refused):
        keep_papers(by=manager, uploads=[up("a.txt", b"x"), up("b.exe", b"MZ")], machine=floor.machine)
    assert Paper.objects.count() == 0 and list(shelf.iterdir()) == []
    assert len(keep_papers(by=manager, uploads=[up("a.txt", b"x"), up("b.txt", b"y")], machine=floor.machine)) == 2


def test_a_stranger_gets_no_paper_and_none_lies_under_static(manager, floor, as_stranger, settings):
    paper = keep_paper(by=manager, upload=up("a.txt", b"x"), machine=floor.machine)
    assert as_stranger.get(f"/papers/{paper.pk}/").status_code == 302
    assert as_stranger.get(f"/static/{paper.stored_name}").status_code in (302, 404)


def test_the_page_keeps_files_beside_an_order_once(as_technician, floor, technician):
    from shop.workorders.actions import open_order

    order = open_order(by=technician, machine=floor.machine)
    address = f"/papers/order/{order.pk}/new/"
    assert as_technician.get(address).status_code == 200
    for _ in range(2):
        answer = as_technician.post(
            address, {"files": [up("a.png", picture()), up("b.txt", b"x")], "kind": "photo", "caption": "seal", "token": "one"}
        )
        assert (answer.status_code, answer.url) == (302, f"/orders/{order.pk}/")
    assert order.papers.count() == 2
    refused = as_technician.post(address, {"files": [up("a.exe", b"MZ")], "kind": "photo", "token": "two"})
    assert refused.status_code == 422 and b"is no kind that is kept here" in refused.content
    assert as_technician.post(address, {"kind": "photo", "token": "three"}).status_code == 422
    assert as_technician.get(f"/papers/nothing/{order.pk}/new/").status_code == 404
    assert as_technician.get("/papers/order/987/new/").status_code == 404


def filled_day(by, machine, settings) -> Paper:
    """Put away so much that half a megabyte of the day is left."""
    kept = keep_paper(by=by, upload=up("a.pdf", PDF), machine=machine)
    settings.UPLOAD_MB_A_DAY = 3
    Paper.objects.filter(pk=kept.pk).update(size_bytes=int(2.5 * 1024 * 1024))
    return kept


def test_one_person_may_put_away_so_much_in_a_day_and_no_more(technician, manager, floor, shelf, settings):
    first = filled_day(technician, floor.machine, settings)
    large = PDF + b"x" * 600_000
    with pytest.raises(Refused, match="2 MB in the last 24 hours"):
        keep_paper(by=technician, upload=up("b.pdf", large), machine=floor.machine)
    with pytest.raises(Refused):
        keep_papers(by=technician, uploads=[up(f"{k}.pdf", PDF + b"x" * 200_000) for k in range(3)], machine=floor.machine)
    assert (Paper.objects.count(), len(list(shelf.iterdir()))) == (1, 1)
    keep_paper(by=manager, upload=up("c.pdf", large), machine=floor.machine)
    Paper.objects.filter(pk=first.pk).update(recorded_at=timezone.now() - timedelta(hours=25))
    keep_paper(by=technician, upload=up("b.pdf", large), machine=floor.machine)


def test_sheets_that_are_brought_count_among_what_a_person_puts_away(technician, as_technician, floor, settings):
    filled_day(technician, floor.machine, settings)
    answer = as_technician.post("/imports/", {"kind": "readings", "file": up("a.csv", b"serial;value\n" * 50_000)})
    assert answer.status_code == 422 and "24 hours" in answer.content.decode()


def test_neither_remark_nor_profile_travels_in_a_picture(technician, floor, shelf):
    paper = keep_paper(
        by=technician, upload=up("a.jpg", picture("JPEG", comment=b"CANARY<script>", icc_profile=b"CANARY" * 30)), machine=floor.machine
    )
    body = (shelf / paper.stored_name).read_bytes()
    assert b"CANARY" not in body and Image.open(io.BytesIO(body)).size == (40, 30)

"""Doors that must be shut whatever happens: error pages, forged fields, wild uploads, what lies in the repository."""

import re
import subprocess
import sys
from datetime import UTC, datetime
from itertools import product
from pathlib import Path

import pytest
from django import forms
from django.core.exceptions import SuspiciousOperation
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import models
from django.test import Client

from fleet.models import Contact, Instrument, Port, Site
from shop.models import Bay, Paper
from shop.printing.picture import Dot, Picture, Words
from tests.records.on_disk import HOUSE
from tests.records.pages.conftest import Seen
from tests.records.pages.test_every_page import dangers
from tests.shop.papers.test_papers import picture, workbook

DOOR = "/sign-in/"


def broken(trouble):
    def view(*_args, **_more):
        raise trouble

    return view


@pytest.fixture
def errors(as_technician, technician, monkeypatch):
    """One answer of each kind of refusal and breakage."""
    careful = Client(enforce_csrf_checks=True)
    careful.force_login(technician)
    as_technician.raise_request_exception = False
    answers = {
        "404": as_technician.get("/nowhere/at/all/"),
        "403": as_technician.get("/people/"),
        "403 token": careful.post("/account/", {}),
        "400 host": as_technician.get("/", headers={"host": "zz.example"}),
        "405": as_technician.delete("/machines/"),
    }
    monkeypatch.setattr("shop.today.views.needs_of", broken(RuntimeError("planted")))
    answers["500"] = as_technician.get("/")
    monkeypatch.setattr("shop.today.views.needs_of", broken(SuspiciousOperation("planted")))
    answers["400"] = as_technician.get("/")
    for _ in range(11):
        answers["429"] = Client().post(DOOR, {"username": "x", "password": "y"})
    return answers


def test_every_refusal_and_breakage_shuts_the_browsers_doors_and_tells_nothing(errors):
    for kind, answer in errors.items():
        assert str(answer.status_code) == kind[:3]
        policy = answer["Content-Security-Policy"]
        for wanted in ("default-src 'none'", "object-src 'none'", "base-uri 'none'", "frame-ancestors 'none'", "form-action 'self'"):
            assert wanted in policy, kind
        assert "unsafe" not in policy and "http" not in policy
        assert answer["X-Content-Type-Options"] == "nosniff" and answer["X-Frame-Options"] == "DENY", kind
        assert "no-store" in answer["Cache-Control"], kind
        text = answer.content.decode()
        assert dangers(Seen(kind, "", 0, {}, answer.content, 0)) == [], kind
        assert (
            "Traceback" not in text and "planted" not in text and "Django" not in text and "/shop/" not in text.replace("/static/shop/", "")
        ), kind


def test_a_breakage_has_a_number_that_the_person_sees_and_the_log_holds(as_technician, monkeypatch, caplog):
    as_technician.raise_request_exception = False
    monkeypatch.setattr("shop.today.views.needs_of", broken(RuntimeError("planted")))
    with caplog.at_level("ERROR"):
        text = as_technician.get("/").content.decode()
    number = re.search(r"<b>([0-9a-f]{8})</b>", text)[1]
    told = [record for record in caplog.records if number in record.getMessage()]
    assert len(told) == 1 and "planted" in str(told[0].exc_info[1])
    assert [record for record in caplog.records if record.exc_info and record not in told] == [], "told once"


def test_an_error_page_tells_a_stranger_no_way_that_is_shut_to_him(as_stranger):
    assert "find box" not in as_stranger.get("/nowhere/").content.decode()
    text = as_stranger.get("/", headers={"host": "zz.example"}).content.decode()
    assert "find box" not in text and "SHOP_HOSTS" in text


def test_what_is_not_found_among_the_drawings_is_kept_by_no_cache(as_stranger):
    assert "no-store" in as_stranger.get("/static/nothing.css")["Cache-Control"]


def test_what_the_server_refuses_itself_has_shut_doors_and_plain_words():
    """A request too large never reaches the program; the real server is asked."""
    import socket
    import threading

    import waitress
    from waitress.channel import HTTPChannel

    from shop.serving import MOST_BODY, ShutErrorTask

    server = waitress.create_server(lambda *_: [], host="127.0.0.1", port=0, ident=None, max_request_body_size=MOST_BODY)
    server.channel_class = type("Channel", (HTTPChannel,), {"error_task_class": ShutErrorTask})
    threading.Thread(target=server.run, daemon=True).start()
    try:
        with socket.create_connection(("127.0.0.1", server.effective_port), timeout=10) as line:
            line.sendall(b"POST / HTTP/1.1\r\nHost: x\r\nContent-Length: 2000000000\r\n\r\n")
            said = line.makefile("rb").read().decode()
    finally:
        server.close()
    assert said.startswith("HTTP/1.1 413") and "more than 48 MB" in said
    for head in ("Content-Security-Policy: default-src 'none'", "nosniff", "X-Frame-Options: DENY", "no-store"):
        assert head in said


def test_behind_tls_browsers_are_told_to_stay_there_for_a_year(settings, as_technician):
    settings.SECURE_HSTS_SECONDS = 31_536_000
    from django.middleware.security import SecurityMiddleware

    from shop.middleware import closed_doors

    answer = SecurityMiddleware(closed_doors(lambda request: as_technician.get("/health/")))(
        as_technician.get("/health/", secure=True).wsgi_request
    )
    assert "max-age=31536000" in answer["Strict-Transport-Security"]


@pytest.mark.django_db
@pytest.mark.parametrize("path", ["/sign-in/", "/nowhere/", "/health/"])
def test_a_head_request_is_answered_with_the_head_alone(path, rf):
    """The server passes on what the program gives; a body after a HEAD would be read as the answer to the next request on that line."""
    from shop.wsgi import application

    said = {}
    for method in ("GET", "HEAD"):
        environ = rf.generic(method, path).environ | {"SERVER_NAME": "localhost"}
        said[method] = b"".join(application(environ, lambda status, headers: None))
    assert said["GET"] and said["HEAD"] == b""


def model_forms() -> list:
    """Every form of ours that writes the fields of a model."""
    import importlib

    for path in sorted((HOUSE / "shop").glob("*/*form*.py")):
        importlib.import_module(".".join(path.relative_to(HOUSE).with_suffix("").parts))
    found, todo = [], [forms.ModelForm]
    while todo:
        for child in todo.pop().__subclasses__():
            todo.append(child)
            found += [child] if child.__module__.startswith("shop.") and getattr(child, "_meta", None) and child._meta.model else []
    return found


NEVER_TYPED = {
    "recorded_by", "recorded_at", "supersedes", "frozen", "released_by", "released_at", "is_superuser", "is_staff", "password", "search_text",
    "serial_key", "content_key", "waived_by", "approved_by", "is_confirmed", "stored_name", "sha256", "hourly_rate_cents",
}  # fmt: skip


@pytest.mark.parametrize("form", model_forms(), ids=lambda form: form.__name__)
def test_a_form_of_a_record_names_its_fields_and_none_that_nobody_types(form):
    assert form._meta.fields not in (None, forms.ALL_FIELDS), "fields are named one by one"
    assert not set(form.base_fields) & NEVER_TYPED


def as_sent(form) -> dict:
    """Return what a browser would send back of a form as it was shown."""
    sent = {}
    for name, field in form.fields.items():
        value = form.get_initial_for_field(field, name)
        decompressed = field.widget.decompress(value) if hasattr(field.widget, "decompress") else None
        if decompressed:
            sent |= {name: decompressed[0] or "", f"{name}_unit": decompressed[1] or ""}
        elif value is not None and value is not False:
            sent[name] = getattr(value, "pk", value)
    return sent


EDITED = {
    "customers": "customer",
    "machines": "machine",
    "drives": "unit",
    "fluids": "oil",
    "instruments": "charge_gauge",
    "drive-models": "drive_model",
}


@pytest.mark.parametrize("room", EDITED)
def test_fields_that_the_page_does_not_show_are_not_taken_from_what_is_sent(room, floor, as_manager):
    record = getattr(floor, EDITED[room])
    address = f"/{room}/{record.pk}/edit/"
    form = as_manager.get(address).context["form"]
    hidden = [f for f in record._meta.local_concrete_fields if f.name not in form.fields and not f.primary_key]
    forged = {f.name: "999" if not isinstance(f, (models.DateField, models.BooleanField)) else "1" for f in hidden} | {
        "id": "77",
        "pk": "77",
    }
    before = type(record).objects.filter(pk=record.pk).values().get()
    answer = as_manager.post(address, as_sent(form) | forged)
    after = type(record).objects.filter(pk=record.pk).values().get()
    assert answer.status_code in (302, 422)
    assert {name for name in after if after[name] != before[name]} <= {
        "version",
        *(f.attname for f in record._meta.local_concrete_fields if f.name in form.fields),
    }
    assert {f.attname for f in hidden if f.name != "version" and after[f.attname] != before[f.attname]} == set()


def a_bay(floor):
    return Bay.objects.create(name="Bay 1", door_height_m=4.2)


def a_gauge(floor):
    Instrument.objects.filter(pk=floor.charge_gauge.pk).update(maker="Fenoil", serial="77")
    return floor.charge_gauge


def a_port(floor):
    return Port.objects.create(drive_model=floor.drive_model, code="CH", name="Charge", quantity="charge_neutral")


TWICE = {  # page of a record: the record, one of its fields, what the first and what the second person writes
    "/customers/{}/edit/": (lambda floor: floor.customer, "name", "Nordlund", "Sørlund"),
    "/customers/site/{}/edit/": (lambda floor: Site.objects.first(), "gate_notes", "Ring first", "Dog in the yard"),
    "/customers/contact/{}/edit/": (lambda floor: Contact.objects.create(customer=floor.customer, name="Ilka"), "phone", "111", "222"),
    "/machines/{}/edit/": (lambda floor: floor.machine, "note", "one", "two"),
    "/drives/{}/edit/": (lambda floor: floor.unit, "note", "one", "two"),
    "/fluids/{}/edit/": (lambda floor: floor.oil, "source", "one", "two"),
    "/instruments/{}/edit/": (a_gauge, "location", "one", "two"),
    "/drive-models/port/{}/edit/": (a_port, "thread", "M14", "M18"),
    "/plan/hands/bays/{}/edit/": (a_bay, "door_height_m", "4.4", "4.6"),
}


@pytest.mark.parametrize("address", TWICE)
def test_the_second_of_two_writers_is_told_who_and_what_and_keeps_what_was_typed(address, floor, as_manager, manager):
    record_of, field, first, second = TWICE[address]
    record = record_of(floor)
    page = address.format(record.pk)
    sent = as_sent(as_manager.get(page).context["form"])
    mine, theirs = as_sent(as_manager.get(page).context["form"]) | {field: second}, sent | {field: first}
    assert as_manager.post(page, theirs).status_code == 302
    answer = as_manager.post(page, mine)
    assert answer.status_code == 409
    text = answer.content.decode()
    assert first in text and second in text and manager.get_full_name() in text.split("<main")[1]
    record.refresh_from_db()
    assert str(getattr(record, field)) == first
    again = as_sent(answer.context["form"]) | {field: second, "version": answer.context["form"].data["version"], "token": "new"}
    assert as_manager.post(page, again).status_code == 302, "told, the second one may write over it"


NAMES = (
    "a.jpg", "a.png", "a.webp", "a.pdf", "a.csv", "a.xlsx", "a.txt", "../../x.txt", "..\\..\\x.txt", "/etc/passwd.txt", "C:\\x.txt", "CON.txt", "nul.pdf",
    "a\u202etxt.pdf", "a.pdf.html", "a.html", "a.svg", "a.php.jpg", "a.jpg.php", ".htaccess", "a.xml", "a.js", f"{'n' * 300}.txt", "a.txt\n.html", "a;b.txt",
    "a%00.txt", "%2e%2e%2fx.txt", "a.PDF", "ａ.txt", "a.txt ", "-rf.txt",
)  # fmt: skip
BODIES = {
    "picture": picture(), "photo": picture("JPEG"), "pdf": b"%PDF-1.4\n%%EOF\n", "page": b"<html><script>zzx()</script>",
    "drawing": b"<svg xmlns='http://www.w3.org/2000/svg' onload='zzx()'/>", "picture and page": picture() + b"<script>zzx()</script>", "workbook": workbook(),
    "workbook with a way out": workbook(link=True), "nothing": b"", "program": b"MZ\x90\x00" + bytes(range(256)), "words": "übrig µ\n".encode(),
}  # fmt: skip


def test_thirty_names_times_ten_bodies_get_nowhere(floor, as_technician, as_stranger, settings, tmp_path):
    """What is kept lies under a random name on the shelf and nowhere else, comes back as a file or as a picture drawn anew, and to nobody who is not signed in."""
    settings.MEDIA_ROOT = tmp_path / "deep" / "shelf"
    address, wrong = f"/papers/machine/{floor.machine.pk}/new/", []
    for name, (kind, body) in product(NAMES, BODIES.items()):
        upload = SimpleUploadedFile("x.txt", body)
        upload._name = name
        status = as_technician.post(address, {"files": upload, "kind": "photo"}).status_code
        wrong += [] if status in (302, 422) else [f"{name!r} with {kind}: {status}"]
    assert wrong == [] and len(NAMES) >= 30 and len(BODIES) >= 10
    shelf = [path for path in tmp_path.rglob("*") if path.is_file()]
    assert {path.parent for path in shelf} == {settings.MEDIA_ROOT}
    assert sorted(path.name for path in shelf) == sorted(Paper.objects.values_list("stored_name", flat=True))
    for paper in Paper.objects.all():
        assert re.fullmatch(r"[0-9a-f]{32}\.(jpg|jpeg|png|webp|pdf|csv|xlsx|txt)", paper.stored_name)
        answer = as_technician.get(f"/papers/{paper.pk}/")
        is_picture = answer["Content-Type"].startswith("image/") and "svg" not in answer["Content-Type"]
        assert is_picture or (answer["Content-Type"], answer["Content-Disposition"][:10]) == ("application/octet-stream", "attachment")
        assert answer["X-Content-Type-Options"] == "nosniff" and (not is_picture or b"zzx" not in answer.content)
        assert as_stranger.get(f"/papers/{paper.pk}/").status_code == 302
    assert Paper.objects.count() > 15


def test_what_is_too_big_is_refused_before_it_is_read(as_technician, floor, settings):
    from shop.papers.checks import MOST_BYTES

    body = SimpleUploadedFile("a.txt", b"x" * (MOST_BYTES + 1))
    answer = as_technician.post(f"/papers/machine/{floor.machine.pk}/new/", {"files": body, "kind": "photo"})
    assert answer.status_code == 422 and "10 MB are kept" in answer.content.decode()
    many = as_technician.post("/account/", {f"f{k}": "x" for k in range(settings.DATA_UPLOAD_MAX_NUMBER_FIELDS + 1)})
    assert many.status_code == 400


def tracked() -> list[Path]:
    listed = subprocess.run(["git", "ls-files", "-z"], cwd=HOUSE, capture_output=True, text=True)
    if listed.returncode:
        return [path for path in HOUSE.rglob("*.py") if ".venv" not in path.parts]
    return [HOUSE / name for name in listed.stdout.split("\0") if name and (HOUSE / name).is_file()]


def test_no_key_lies_in_the_repository():
    words = re.compile(rb"(SECRET_KEY|PASSWORD|TOKEN)\s*=\s*[\"'][^\"']{12,}[\"']|BEGIN [A-Z ]*PRIVATE KEY")
    allowed = {
        "shop/demo/people.py",
        "tests/conftest.py",
        "tests/load/crowd.py",
        "tests/records/test_backup.py",
    }  # passwords of invented people
    found = {
        str(path.relative_to(HOUSE))
        for path in tracked()
        if path.suffix in {".py", ".md", ".toml", ".yaml", ".txt", ""} and words.search(path.read_bytes())
    }
    assert found <= allowed | {str(Path(__file__).relative_to(HOUSE))}


def test_what_is_installed_is_pinned():
    lines = [
        line.split("#")[0].strip()
        for name in ("requirements.txt", "tests/requirements.txt")
        for line in (HOUSE / name).read_text().splitlines()
    ]
    assert [line for line in lines if line and not line.startswith("-r") and "==" not in line] == []


GRAVE = "S102,S103,S108,S113,S301,S302,S307,S308,S313,S314,S317,S318,S319,S321,S323,S324,S5,S602,S604,S605,S608,S609,S610,S611,S612,S7"
LOOKED_AT = {  # statements put together from the models' own names, and drawings whose words are escaped
    *(
        (f"shop/{name}.py", "S608")
        for name in (
            "changes/triggers",
            "changes/against",
            "kept",
            "keeping/snapshot",
            "keeping/moving",
            "keeping/restoring",
            "keeping/tables",
            "due/since",
        )
    ),
    ("shop/templatetags/pictures.py", "S308"),
}


def test_a_linter_for_security_finds_only_what_was_looked_at():
    asked = [sys.executable, "-m", "ruff", "check", "--isolated", "--select", GRAVE, "--output-format", "concise", "shop", "fleet", "calcs"]
    said = subprocess.run(asked, cwd=HOUSE, capture_output=True, text=True).stdout
    found = {(line.split(":")[0], line.split()[1]) for line in said.splitlines() if re.match(r"\S+:\d+:\d+: S", line)}
    assert found - LOOKED_AT == set()
    assert ("shop/kept.py", "S608") in found, "the linter ran"


def test_what_a_drawing_says_is_escaped_although_the_drawing_is_trusted():
    from shop.templatetags import pictures

    drawn = Picture(100, 100, [Words((1, 1), "<zz-canary>"), Dot((1, 1), says="<zz-canary>")])
    said = str(pictures.picture(drawn, "<script>zzx()</script>", "\"><svg onload='zzx()'>"))
    assert dangers(Seen("", "", 0, {}, said.encode(), 0)) == [] and "zzx" in said


def test_moments_of_the_record_are_kept_in_utc(db):
    from fleet.models import Customer
    from shop.models import ChangeEntry

    Customer.objects.create(number="C-1", name="Nordlund")
    at = ChangeEntry.objects.latest("pk").at
    assert at.endswith("Z") and abs((datetime.fromisoformat(at) - datetime.now(UTC)).total_seconds()) < 120

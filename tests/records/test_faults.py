"""A failure at any step, a full disk, a damaged end of the log of the database: as before or as after, never in between."""

import errno
import os
import random
import shutil
import sqlite3
import subprocess
import sys
import threading
from pathlib import Path

import pytest
from django.db import OperationalError, connection

from fleet.models import Customer, Reading
from shop.models import Act, ChangeEntry, Counter, FormToken
from shop.workorders.release import release_order
from tests.conftest import signed_in
from tests.faults.jobs import breaks_of_chain
from tests.records.on_disk import HOUSE, place_of, run
from tests.shop.exchange.sheets_of_floor import as_csv, long_rows
from tests.shop.exchange.test_pages import brought
from tests.shop.papers.test_papers import picture, up
from tests.shop.visits.test_actions import BreaksAt
from tests.shop.workorders.conftest import bench, task  # noqa: F401  fixtures
from tests.shop.workorders.test_pages import CALL
from tests.shop.workorders.test_release import said


def fingerprint() -> tuple:
    """What the whole book comes to: the end of the change record, which sees every table, and what it leaves out."""
    last = ChangeEntry.objects.order_by("-pk").values_list("hash", flat=True).first()
    return (
        last,
        ChangeEntry.objects.count(),
        Act.objects.count(),
        FormToken.objects.count(),
        list(Counter.objects.order_by("pk").values_list("name", "last")),
    )


def test_a_release_that_fails_at_any_statement_leaves_the_book_as_it_was(bench, manager, floor):  # noqa: F811
    order = bench.ready()
    before, version, statement, done = fingerprint(), order.version, 0, False
    while not done:
        statement += 1
        try:
            with connection.execute_wrapper(BreaksAt(statement)):
                release_order(by=manager, order=bench.fresh(), version=version, said=said(test_waiver="x", baseline="repaired"), token="t")
            done = True
        except OperationalError:
            assert fingerprint() == before, f"statement {statement} left something behind"
    assert statement > 40
    assert bench.fresh().state == "released"


def test_a_database_that_fails_is_told_in_words_and_not_as_a_crash(as_technician, monkeypatch):
    def gone(*_args):
        raise OperationalError("database or disk is full")

    monkeypatch.setattr("shop.today.views.needs_of", gone)
    answer = as_technician.get("/")
    assert answer.status_code == 503 and answer["Retry-After"]
    assert "nothing was half-written" in answer.content.decode().lower()
    assert "object-src 'none'" in answer["Content-Security-Policy"]


class FullDisk:
    """A file that takes some bytes and then no more."""

    def __init__(self, file, room: int):
        self.file, self.room = file, room

    def __enter__(self):
        return self

    def __exit__(self, *_trouble):
        self.file.close()

    def __getattr__(self, name):
        return getattr(self.file, name)

    def write(self, content):
        if len(content) > self.room:
            self.file.write(content[: self.room])
            raise OSError(errno.ENOSPC, "No space left on device")
        return self.file.write(content)


def test_a_paper_for_which_there_is_no_room_is_refused_in_words_and_leaves_no_stump(as_technician, floor, settings, tmp_path, monkeypatch):
    settings.MEDIA_ROOT = tmp_path / "shelf"
    before, real = fingerprint(), os.fdopen
    monkeypatch.setattr("shop.papers.shelf.os.fdopen", lambda *a: FullDisk(real(*a), room=40))
    answer = as_technician.post(f"/papers/machine/{floor.machine.pk}/new/", {"files": up("a.png", picture()), "kind": "photo"})
    assert answer.status_code == 422
    assert "No space left" in answer.content.decode() and "was kept" in answer.content.decode()
    assert fingerprint() == before
    assert list((tmp_path / "shelf").iterdir()) == []


def test_a_paper_is_on_the_disk_for_good_before_its_row_is_written(manager, floor, settings, tmp_path, monkeypatch):
    from shop.papers import shelf
    from shop.papers.actions import keep_paper

    settings.MEDIA_ROOT = tmp_path
    steps, sync, replace = [], os.fsync, os.replace
    monkeypatch.setattr(shelf.os, "fsync", lambda handle: (steps.append("flushed"), sync(handle))[1])
    monkeypatch.setattr(shelf.os, "replace", lambda *names: (steps.append("named"), replace(*names))[1])

    def watch(execute, sql, params, many, context):
        if sql.startswith('INSERT INTO "shop_paper"'):
            steps.append("row")
        return execute(sql, params, many, context)

    with connection.execute_wrapper(watch):
        keep_paper(by=manager, upload=up("a.png", picture()), machine=floor.machine)
    assert steps == ["flushed", "named", "flushed", "row"]


def test_a_full_disk_stops_a_backup_and_leaves_nothing(empty_shop):
    """The copy itself runs out of room, as the system would say it: no file may grow beyond some blocks."""
    words = f"ulimit -f 300; trap '' XFSZ; exec {sys.executable} manage.py backup --into {empty_shop / 'backups'}"
    done = subprocess.run(
        ["bash", "-c", words], env=os.environ | place_of(empty_shop), cwd=HOUSE, capture_output=True, text=True, timeout=120
    )
    assert done.returncode != 0 and "No backup was made" in done.stderr, done.stderr
    assert not list((empty_shop / "backups").iterdir())


WRITING = """
import os, signal
from django.db import connection
from fleet.models import Customer
from shop.acts import act
connection.cursor().execute("PRAGMA wal_autocheckpoint=0")
for k in range(30):
    with act("add", by=None):
        Customer.objects.bulk_create(Customer(number=f"C-{k}-{n}", name="Many") for n in range(2))
os.kill(os.getpid(), signal.SIGKILL)
"""


@pytest.mark.skipif("connection.vendor != 'sqlite'", reason="this is about SQLite's own log")
def test_a_log_cut_or_garbled_at_two_hundred_places_gives_back_a_clean_beginning(empty_shop):
    run(empty_shop, "shell", "--no-imports", "-c", WRITING)
    base, log = empty_shop / "shop.sqlite3", (empty_shop / "shop.sqlite3-wal").read_bytes()
    chance, kept, trial = random.Random(4), set(), empty_shop / "trial.sqlite3"
    for turn in range(200):
        shutil.copyfile(base, trial)
        place = chance.randrange(32, len(log))
        tail = b"" if turn % 2 else chance.randbytes(min(4096, len(log) - place)) + log[place + 4096 :]
        Path(f"{trial}-wal").write_bytes(log[:place] + tail)
        Path(f"{trial}-shm").unlink(missing_ok=True)
        opened = sqlite3.connect(trial)
        assert opened.execute("PRAGMA integrity_check").fetchone() == ("ok",)
        assert opened.execute("PRAGMA foreign_key_check").fetchall() == []
        customers = opened.execute("SELECT count(*) FROM fleet_customer").fetchone()[0]
        assert customers % 2 == 0, "half of an act"
        assert customers == opened.execute("SELECT count(*) FROM shop_changeentry WHERE \"table\" = 'fleet_customer'").fetchone()[0]
        assert customers == 2 * opened.execute("SELECT count(*) FROM shop_act").fetchone()[0]
        assert not breaks_of_chain(opened) if turn % 20 == 0 else True
        kept.add(customers)
        opened.close()
    assert len(kept) > 15, "the damage fell on many different places"


def at_once(count: int, act) -> list:
    """Begin `act(k)` in so many threads at the same moment; return what each gave."""
    gate, found = threading.Barrier(count, timeout=30), [None] * count

    def run_one(k):
        try:
            gate.wait()
            found[k] = act(k)
        finally:
            connection.close()

    threads = [threading.Thread(target=run_one, args=(k,)) for k in range(count)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(timeout=60)
    return found


@pytest.mark.django_db(transaction=True)
def test_two_who_send_the_same_page_at_the_same_moment_one_is_kept_and_one_is_told(manager, office):
    made = Customer.objects.create(number="C-1", name="Nordlund")
    clients = [signed_in(manager), signed_in(office)]
    address, form = f"/customers/{made.pk}/edit/", {"number": "C-1", "preferred_channel": "phone"}
    for turn in range(15):
        version = Customer.objects.get().version
        answers = at_once(
            2, lambda k, turn=turn, version=version: clients[k].post(address, form | {"name": f"{turn} by {k}", "version": version})
        )
        kept = [k for k, answer in enumerate(answers) if answer.status_code == 302]
        told = [k for k, answer in enumerate(answers) if answer.status_code == 409]
        assert (len(kept), len(told)) == (1, 1), [answer.status_code for answer in answers]
        page = answers[told[0]].content.decode()
        assert f"{turn} by {kept[0]}" in page and f"{turn} by {told[0]}" in page, "both are shown, nothing typed is lost"
        made.refresh_from_db()
        assert (made.name, made.version) == (f"{turn} by {kept[0]}", version + 1)


@pytest.mark.django_db(transaction=True)
def test_of_two_who_write_the_same_sheet_at_the_same_moment_one_writes_and_one_is_shown_it_is_there(
    manager, technician, settings, tmp_path
):
    from tests.floor import lay_floor

    settings.MEDIA_ROOT = tmp_path
    lay_floor(technician)
    clients = [signed_in(manager), signed_in(technician)]
    files = [brought(client, as_csv(long_rows())) for client in clients]
    at_once(2, lambda k: clients[k].post(f"/imports/{files[k].pk}/write/", {"digest": files[k].found["digest"]}))
    for file in files:
        file.refresh_from_db()
    assert sorted(file.stage for file in files) == ["done", "looked"]
    told = max(files, key=lambda file: file.stage)
    assert (told.found["known"], told.found["fresh"], told.written_at) == (10, 0, None) and "changed since" in told.words
    assert Reading.objects.count() == 10
    assert Act.objects.filter(name="Readings imported").count() == 1


@pytest.mark.django_db(transaction=True)
def test_twenty_times_the_same_form_at_once_is_one_act(technician):
    from tests.floor import lay_floor

    floor = lay_floor(technician)
    sent = CALL | {"token": "pressed twenty times"}
    clients = [signed_in(technician) for _ in range(20)]
    answers = at_once(20, lambda k: clients[k].post(f"/orders/new/{floor.machine.pk}/", sent))
    assert {answer.status_code for answer in answers} == {302}, [a.context["form"].errors for a in answers if a.status_code != 302][:1]
    assert len({answer["Location"] for answer in answers}) == 1
    assert floor.machine.orders.count() == 1

"""The settings in force, not only in the file; doors shut that should be."""

import os
import subprocess
import sys
import threading
import time
from pathlib import Path

import pytest
from django.db import connection, transaction

HOUSE = Path(__file__).resolve().parents[2]
on_sqlite = pytest.mark.skipif("connection.vendor != 'sqlite'", reason="these are SQLite's own settings")


def plain_surroundings() -> dict[str, str]:
    """Return this machine's surroundings without what the browser tests set for themselves alone."""
    return {name: value for name, value in os.environ.items() if name != "DJANGO_ALLOW_ASYNC_UNSAFE"}


def ask(*words: str, **more) -> subprocess.CompletedProcess:
    return subprocess.run(
        [sys.executable, "manage.py", *words], cwd=HOUSE, env=plain_surroundings() | more, capture_output=True, text=True, timeout=120
    )


@on_sqlite
def test_sqlite_writes_ahead_flushes_fully_waits_and_keeps_keys(tmp_path):
    script = (
        "from django.db import connection as c; k = c.cursor();"
        "print(*[k.execute('PRAGMA ' + p).fetchone()[0] for p in ('journal_mode', 'synchronous', 'foreign_keys', 'busy_timeout')])"
    )
    said = ask("shell", "--no-imports", "-c", script, DATABASE_URL=f"sqlite:///{tmp_path / 'x.sqlite3'}", SHOP_VAR=str(tmp_path))
    assert said.stdout.split() == ["wal", "2", "1", "20000"], said.stderr


@on_sqlite
def test_a_second_writer_waits_for_the_first(tmp_path, transactional_db):
    order = []

    def write(name, pause):
        with transaction.atomic():
            connection.cursor().execute("SELECT 1")
            order.append(f"{name} in")
            time.sleep(pause)
            order.append(f"{name} out")
        connection.close()

    first = threading.Thread(target=write, args=("first", 0.4))
    second = threading.Thread(target=write, args=("second", 0))
    first.start()
    time.sleep(0.15)
    second.start()
    first.join()
    second.join()
    assert order == ["first in", "first out", "second in", "second out"]


def test_the_deployment_check_is_clean_for_a_shop_on_a_network(tmp_path):
    said = ask("check", "--deploy", "--fail-level", "WARNING", SHOP_HOSTS="book.shop.example", SHOP_VAR=str(tmp_path))
    assert said.returncode == 0, said.stderr


@pytest.mark.parametrize(
    ("wrong", "words"),
    [
        ({"SHOP_DEBUG": "1", "SHOP_HOSTS": "book.shop.example"}, "SHOP_DEBUG=1 is for this machine alone"),
        ({"SHOP_HOSTS": "*"}, "would let in all"),
        ({"SHOP_HOSTS": "*.lan"}, "would let in all"),
        ({"SHOP_SECRET_KEY": "short"}, "50 characters"),
        ({"SHOP_SECRET_KEY": "changeme" * 8}, "drawn by lot"),
        ({"SHOP_TLS": "yes", "SHOP_HOSTS": "book.shop.example"}, "SHOP_TLS is 0 or 1"),
    ],
)
def test_settings_that_open_a_door_are_refused(tmp_path, wrong, words):
    said = ask("check", **wrong, SHOP_VAR=str(tmp_path))
    assert said.returncode != 0
    assert words in said.stderr


def test_the_key_is_made_once_and_for_its_owner_alone(tmp_path):
    ask("check", SHOP_VAR=str(tmp_path))
    key = tmp_path / "secret_key"
    first = key.read_text()
    ask("check", SHOP_VAR=str(tmp_path))
    assert key.read_text() == first
    assert len(first) > 50
    assert key.stat().st_mode & 0o077 == 0


def test_the_folder_of_the_shop_is_made_for_its_owner_alone(tmp_path):
    ask("check", SHOP_VAR=str(tmp_path / "new"))
    assert (tmp_path / "new").stat().st_mode & 0o077 == 0


def test_there_is_no_account_until_somebody_makes_one(db):
    from django.contrib.auth import get_user_model

    assert not get_user_model().objects.exists()


def test_the_first_account_needs_a_password_worth_the_name(db, monkeypatch):
    from django.core.management import CommandError, call_command

    monkeypatch.setenv("SHOP_MANAGER_PASSWORD", "short")
    with pytest.raises(CommandError, match="at least 10"):
        call_command("first_account", name="chief")

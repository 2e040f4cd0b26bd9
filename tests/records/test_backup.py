"""A backup is a whole moment, shows any flipped bit, and comes back with one command."""

import json
import random
import shutil
import sqlite3
from pathlib import Path

import pytest
from django.conf import settings
from django.core.management import call_command

from fleet.models import Customer
from shop.keeping.manifest import BrokenCopy, read_manifest, write_manifest
from tests.records.on_disk import run


@pytest.fixture(scope="module")
def backed_up(migrated, tmp_path_factory):
    """A small shop on disk, and a backup of it."""
    var = tmp_path_factory.mktemp("shop")
    shutil.copyfile(migrated, var / "shop.sqlite3")
    assert run(var, "first_account", "--name", "chief", SHOP_MANAGER_PASSWORD="a long shop password").returncode == 0
    (var / "papers").mkdir()
    (var / "papers" / "photo.jpg").write_bytes(b"not really a photo" * 50)
    made = run(var, "backup", "--into", str(var / "backups"))
    assert made.returncode == 0, made.stderr
    return var, Path(made.stdout.strip())


def test_what_was_backed_up_comes_back_in_an_empty_place(backed_up, tmp_path):
    _, folder = backed_up
    restored = run(tmp_path, "restore", str(folder))
    assert restored.returncode == 0, restored.stderr
    assert (tmp_path / "papers" / "photo.jpg").read_bytes() == b"not really a photo" * 50
    assert run(tmp_path, "verify_record", "--against", str(folder)).returncode == 0
    again = run(tmp_path, "first_account", "--name", "other", SHOP_MANAGER_PASSWORD="a long shop password")
    assert "The shop has a manager" in again.stderr


def test_a_backup_is_for_its_owner_alone(backed_up):
    _, folder = backed_up
    assert folder.stat().st_mode & 0o077 == 0


def test_a_place_that_holds_a_shop_is_left_alone(backed_up):
    var, folder = backed_up
    before = (var / "shop.sqlite3").read_bytes()
    refused = run(var, "restore", str(folder))
    assert refused.returncode != 0
    assert "already" in refused.stderr
    assert (var / "shop.sqlite3").read_bytes() == before


def test_two_hundred_flipped_bytes_are_all_found(backed_up, tmp_path):
    _, folder = backed_up
    copy = tmp_path / "copy"
    shutil.copytree(folder, copy)
    files = [path for path in copy.rglob("*") if path.is_file()]
    chance, found = random.Random(7), 0
    for _ in range(200):
        path = chance.choice(files)
        content = bytearray(path.read_bytes())
        place = chance.randrange(len(content))
        content[place] ^= 1 << chance.randrange(8)
        whole = path.read_bytes()
        path.write_bytes(content)
        try:
            said = read_manifest(copy)
            found += path.name == "manifest.json" and said == read_manifest(folder)  # white space of the manifest itself carries nothing
        except BrokenCopy:
            found += 1
        path.write_bytes(whole)
    assert found == 200


@pytest.mark.django_db(transaction=True)
def test_a_full_disk_leaves_no_half_backup(tmp_path, monkeypatch):
    from django.core.management import CommandError

    from shop.keeping import snapshot

    def full(*_args, **_more):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(snapshot, "write_manifest", full)
    with pytest.raises(CommandError, match="No space left"):
        call_command("backup", into=tmp_path)
    assert list(tmp_path.iterdir()) == []


@pytest.mark.django_db(transaction=True)
def test_the_backup_of_whichever_database_the_tests_run_on_agrees_with_itself(tmp_path, capsys):
    Customer.objects.create(number="C-1", name='Żaneta, "quoted"\nwith a line break')
    call_command("backup", into=tmp_path)
    folder = Path(capsys.readouterr().out.strip())
    said = read_manifest(folder)
    assert said["counts"]["fleet_customer"] == 1
    assert said["vendor"] == ("postgresql" if "postgresql" in settings.DATABASES["default"]["ENGINE"] else "sqlite")
    assert json.loads((folder / "manifest.json").read_text())["said"]["head"] is not None


def test_a_backup_of_a_later_edition_is_refused_before_anything_is_written(backed_up, tmp_path):
    _, folder = backed_up
    later = shutil.copytree(folder, tmp_path / "later")
    said = read_manifest(folder)
    write_manifest(later, **(said | {"editions": said["editions"] | {"fleet": "0999_of_tomorrow"}}))
    refused = run(tmp_path / "new", "restore", str(later))
    assert refused.returncode != 0 and "fleet 0999_of_tomorrow" in refused.stderr and "Traceback" not in refused.stderr
    assert not (tmp_path / "new" / "shop.sqlite3").exists() and not (tmp_path / "new" / "papers").exists()


def test_a_shop_is_carried_into_an_empty_place_alone_and_refusals_are_in_words(backed_up, tmp_path):
    var, _ = backed_up
    carried = f"sqlite:///{tmp_path / 'carried.sqlite3'}"
    assert "counts and sums agree" in run(var, "move_shop", carried).stdout
    for address, words in (
        (carried, "holds a shop already"),
        ("postgres://shop@127.0.0.1:1/none", "did not take the shop"),
        ("ftp://shop/none", "no address of a database"),
    ):
        refused = run(var, "move_shop", address)
        assert refused.returncode != 0 and words in refused.stderr and "Traceback" not in refused.stderr, refused.stderr
    shutil.copyfile(var / "shop.sqlite3", tmp_path / "shop.sqlite3")
    with sqlite3.connect(tmp_path / "shop.sqlite3") as base:
        base.execute(
            "DELETE FROM django_migrations WHERE app = 'axes' AND name = (SELECT max(name) FROM django_migrations WHERE app = 'axes')"
        )
    assert "stands at an earlier edition" in run(tmp_path, "move_shop", f"sqlite:///{tmp_path / 'other.sqlite3'}").stderr

"""What several tests of the records stand on: an empty shop on the disk, made once."""

import shutil
from pathlib import Path

import pytest

from tests.records.on_disk import run


@pytest.fixture(scope="session")
def migrated(tmp_path_factory) -> Path:
    """A database of an empty shop, as a file of its own."""
    var = tmp_path_factory.mktemp("migrated")
    made = run(var, "migrate", "-v0")
    assert made.returncode == 0, made.stderr
    return var / "shop.sqlite3"


@pytest.fixture
def empty_shop(migrated, tmp_path) -> Path:
    """A folder with an empty shop in it."""
    shutil.copyfile(migrated, tmp_path / "shop.sqlite3")
    return tmp_path

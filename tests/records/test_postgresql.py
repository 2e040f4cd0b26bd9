"""A SQLite shop is carried to PostgreSQL and back into an empty one by backup; runs where PostgreSQL is the database of the tests."""

import shutil

import pytest
from django.db import connection

from tests.records.on_disk import run

pytestmark = pytest.mark.skipif("connection.vendor != 'postgresql'", reason="runs where PostgreSQL is the database of the tests")
SMALL_SHOP = """
from shop.people.actions import add_person
from tests.floor import lay_floor
from fleet.models import Customer
lay_floor(add_person(by=None, username="tilde", password="a long shop password", roles=["technician"]))
Customer.objects.bulk_create(Customer(number=f"C-{k}", name='Żaneta "Ø"\\n油', note="a;b,c\\t'") for k in range(1500))
"""


@pytest.fixture
def empty_databases(django_db_blocker):
    """Two empty databases beside the one of the tests; return their addresses."""
    said, names = connection.settings_dict, ("carried_shop", "restored_shop")
    door = f"{said['USER']}:{said['PASSWORD']}@{said['HOST']}:{said['PORT'] or 5432}".replace(":@", "@")
    with django_db_blocker.unblock(), connection._nodb_cursor() as cursor:
        for name in names:
            cursor.execute(f"DROP DATABASE IF EXISTS {name} WITH (FORCE)")
            cursor.execute(f"CREATE DATABASE {name}")
    yield [f"postgres://{door}/{name}" for name in names]
    with django_db_blocker.unblock(), connection._nodb_cursor() as cursor:
        for name in names:
            cursor.execute(f"DROP DATABASE IF EXISTS {name} WITH (FORCE)")


def test_a_shop_is_carried_over_backed_up_and_restored_with_every_row(empty_databases, migrated, tmp_path):
    shutil.copyfile(migrated, tmp_path / "shop.sqlite3")
    laid = run(tmp_path, "shell", "--no-imports", "-c", SMALL_SHOP)
    assert laid.returncode == 0, laid.stderr
    carried, restored = empty_databases
    moved = run(tmp_path, "move_shop", carried)
    assert moved.returncode == 0 and "counts and sums agree" in moved.stdout, moved.stderr
    assert "fleet_customer: 1501 rows" in moved.stdout
    again = run(tmp_path, "move_shop", carried)
    assert "holds a shop already" in again.stderr
    assert run(tmp_path, "verify_record", DATABASE_URL=carried).returncode == 0
    made = run(tmp_path, "backup", "--into", str(tmp_path / "backups"), DATABASE_URL=carried)
    assert made.returncode == 0, made.stderr
    place = {"DATABASE_URL": restored, "SHOP_VAR": str(tmp_path / "new")}
    back = run(tmp_path, "restore", made.stdout.strip(), **place)
    assert back.returncode == 0, back.stderr
    assert run(tmp_path, "verify_record", "--against", made.stdout.strip(), **place).returncode == 0
    on_top = run(tmp_path, "restore", made.stdout.strip(), **place)
    assert "holds a shop already" in on_top.stderr
    said = run(
        tmp_path,
        "shell",
        "--no-imports",
        "-c",
        "from fleet.models import Customer as C; c = C.objects.create(number='N', name='New'); print(c.pk)",
        **place,
    )
    assert int(said.stdout) > 1500, "numbers go on above those that were carried"
    wrong_kind = run(tmp_path / "elsewhere", "restore", made.stdout.strip())
    assert "made on postgresql" in wrong_kind.stderr

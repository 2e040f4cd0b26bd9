"""The change record sees every way of writing, refuses to be edited, and shows any tampering."""

import json
import random

import pytest
from django.apps import apps
from django.core.management import CommandError, call_command
from django.db import DatabaseError, connection, models, transaction

from fleet.models import Customer, Machine, Reading
from shop.acts import act
from shop.changes import triggers
from shop.changes.against import first_strange_row
from shop.changes.chain import first_break
from shop.models import ChangeEntry, Technician


def kinds_of(record):
    return [entry.kind for entry in ChangeEntry.objects.of(record).order_by("pk")]


def test_every_way_of_writing_leaves_an_entry(db):
    one = Customer.objects.create(number="C-1", name="Nordlund")
    Customer.objects.bulk_create([Customer(number=f"C-{k}", name="Many") for k in range(2, 5)])
    Customer.objects.filter(number="C-2").update(name="Sørlund")
    two = Customer.objects.get(number="C-2")
    two.note = "bulk"
    Customer.objects.bulk_update([two], ["note"])
    with connection.cursor() as cursor:
        cursor.execute("UPDATE fleet_customer SET phone = '1' WHERE number = 'C-3'")
    Customer.objects.get(number="C-4").delete()
    assert kinds_of(one) == ["insert"]
    assert kinds_of(two) == ["insert", "update", "update"]
    assert kinds_of(Customer.objects.get(number="C-3")) == ["insert", "update"]
    assert ChangeEntry.objects.filter(kind="delete", table="fleet_customer").count() == 1


def test_a_tie_between_two_tables_is_recorded_too(db):
    from shop.models import Skill

    hand, skill = Technician.objects.create(name="Tilde"), Skill.objects.create(code="hyd", name="Hydraulics")
    hand.skills.add(skill)
    hand.skills.remove(skill)
    assert list(ChangeEntry.objects.filter(table="shop_technician_skills").values_list("kind", flat=True)) == ["insert", "delete"]


def test_a_write_that_changes_nothing_leaves_none(db):
    one = Customer.objects.create(number="C-1", name="Nordlund")
    one.save()
    assert kinds_of(one) == ["insert"]


def test_replaying_the_entries_gives_the_tables_as_they_are(floor):
    Machine.objects.filter(pk=floor.machine.pk).update(note="changed", year=2022)
    replayed = {}
    for entry in ChangeEntry.objects.order_by("pk"):
        if entry.kind == "delete":
            replayed.pop((entry.table, entry.row))
        else:
            replayed[entry.table, entry.row] = json.loads(entry.new)
    for model in (Machine, Customer):
        rows = {(model._meta.db_table, str(row["id"])): row for row in model.objects.values()}
        assert set(rows) == {key for key in replayed if key[0] == model._meta.db_table}
        for key, row in rows.items():
            assert {name: alike(value) for name, value in replayed[key].items()} == {name: alike(value) for name, value in row.items()}


def alike(value) -> str:
    """Return a value as text that does not depend on which database told it."""
    if isinstance(value, (list, dict)):
        return json.dumps(value)
    return str(float(value)) if isinstance(value, (bool, int, float)) else str(value)


def test_passwords_never_enter_the_record(technician):
    technician.set_password("another long password")
    technician.save()
    assert not ChangeEntry.objects.filter(new__contains="pbkdf2").exists()
    assert not ChangeEntry.objects.filter(new__contains="password").exists()


@pytest.mark.parametrize("sql", ["UPDATE shop_changeentry SET kind = 'insert'", "DELETE FROM shop_changeentry"])
def test_the_record_refuses_to_be_edited(db, sql):
    Customer.objects.create(number="C-1", name="Nordlund")
    with pytest.raises(DatabaseError, match="append-only"), transaction.atomic(), connection.cursor() as cursor:
        cursor.execute(sql)


def test_every_table_of_ours_is_recorded_or_named_as_not(db):
    ours = {m._meta.label for m in apps.get_models(include_auto_created=True) if m._meta.app_label in {"fleet", "shop"}}
    recorded = {m._meta.label for m in triggers.recorded_models()}
    worked_out = {m._meta.label for m in apps.get_models() if getattr(m, "worked_out_again", False)}
    assert ours - recorded == triggers.UNRECORDED | worked_out


def test_nothing_that_history_leans_on_can_be_swept_away(db):
    """No foreign key of ours cascades, but from what can be worked out again at any time and for the rows that tie two tables together."""
    wrong = [
        f"{model._meta.label}.{field.name}"
        for model in apps.get_models()
        if model._meta.app_label in {"fleet", "shop"} and not getattr(model, "worked_out_again", False)
        for field in model._meta.local_fields
        if isinstance(field, models.ForeignKey) and field.remote_field.on_delete is not models.PROTECT
    ]
    assert wrong == []


def test_an_upgrade_takes_the_guards_away_while_tables_change_and_puts_them_back(db):
    assert triggers.unwatched() == []
    triggers.make_way(plan=[])
    assert triggers.unwatched() == [], "nothing to change, nothing taken away"
    triggers.make_way(plan=["a step"])
    assert len(triggers.unwatched()) == len(triggers.recorded_models()) + 1
    with pytest.raises(CommandError, match="fleet_customer.* are not recorded"):
        call_command("verify_record")
    triggers.install()
    assert triggers.unwatched() == []
    call_command("verify_record")


def test_a_machine_with_history_cannot_be_removed(floor):
    with pytest.raises(models.ProtectedError) as refusal:
        floor.machine.delete()
    assert floor.installation in refusal.value.protected_objects


def tamper(chance: random.Random, numbers: list[int]) -> None:
    """Change, remove or move one entry, as somebody with a database shell and bad intent could after dropping the guards."""
    number = chance.choice(numbers)
    deed = chance.choice(["new", "at", "row", "hash", "delete", "swap", "act"])
    with connection.cursor() as cursor:
        if deed == "delete":
            cursor.execute("DELETE FROM shop_changeentry WHERE id = %s", [number])
        elif deed == "swap":
            other = chance.choice([n for n in numbers if n != number])
            cursor.execute("UPDATE shop_changeentry SET id = %s WHERE id = %s", [-1, number])
            cursor.execute("UPDATE shop_changeentry SET id = %s WHERE id = %s", [number, other])
            cursor.execute("UPDATE shop_changeentry SET id = %s WHERE id = %s", [other, -1])
        elif deed == "act":
            cursor.execute("UPDATE shop_changeentry SET act_id = 987654 WHERE id = %s", [number])
        else:
            column = {"new": '"new"', "at": "at", "row": '"row"', "hash": "hash"}[deed]
            cursor.execute(f"UPDATE shop_changeentry SET {column} = 'x' WHERE id = %s", [number])


def test_two_hundred_of_two_hundred_ways_of_tampering_are_found(db):
    Customer.objects.bulk_create([Customer(number=f"C-{k}", name="Many") for k in range(30)])
    head = ChangeEntry.objects.order_by("-pk").values_list("pk", "hash").first()
    numbers = list(ChangeEntry.objects.values_list("pk", flat=True))
    assert first_break(head) is None
    triggers.uninstall()
    found = 0
    for seed in range(200):
        with transaction.atomic():
            tamper(random.Random(seed), numbers)
            found += first_break(head) is not None
            transaction.set_rollback(True)
    triggers.install()
    assert found == 200


def test_the_command_names_the_first_break(db):
    Customer.objects.bulk_create([Customer(number=f"C-{k}", name="Many") for k in range(3)])
    third = ChangeEntry.objects.order_by("pk")[2].pk
    triggers.uninstall()
    ChangeEntry.objects.filter(pk=third).update(new="{}")
    with pytest.raises(CommandError, match=f"entry {third}: it was changed"):
        call_command("verify_record")


FORGED = {
    "who did it": "UPDATE shop_act SET by_id = NULL",
    "why it was done": "UPDATE shop_act SET reason = 'forged'",
    "when it was done": "UPDATE shop_act SET at = '2020-01-01 00:00:00+00:00'",
    "that it was done": "DELETE FROM shop_act",
    "a name": "UPDATE fleet_customer SET name = 'forged'",
    "a row put in": "INSERT INTO fleet_customer SELECT * FROM forged",
    "a row taken away": "DELETE FROM fleet_customer",
}


@pytest.mark.parametrize("sql", [sql for sql in FORGED.values() if "shop_act" in sql])
def test_who_did_what_when_and_why_stands_for_good(technician, sql):
    with act("add a customer", by=technician, reason="asked for"):
        Customer.objects.create(number="C-1", name="Nordlund")
    with pytest.raises(DatabaseError, match="append-only"), transaction.atomic(), connection.cursor() as cursor:
        cursor.execute(sql)


@pytest.mark.parametrize("what", FORGED)
def test_what_is_written_while_the_guards_are_away_is_found_when_they_stand_again(technician, what):
    with act("add a customer", by=technician, reason="asked for"):
        Customer.objects.create(number="C-1", name="Nordlund")
    call_command("verify_record")
    triggers.uninstall()
    with connection.cursor() as cursor:
        if what == "a row put in":
            cursor.execute("CREATE TEMPORARY TABLE forged AS SELECT * FROM fleet_customer")
            cursor.execute("UPDATE forged SET id = 77, number = 'C-77'")
        cursor.execute(FORGED[what])
    triggers.install()
    table = "shop_act" if "shop_act" in FORGED[what] else "fleet_customer"
    with pytest.raises(CommandError, match=f"row .* of {table} .* past it"):
        call_command("verify_record")


def test_a_guard_that_does_nothing_any_more_is_found(db):
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            cursor.execute("ALTER TABLE fleet_customer DISABLE TRIGGER keep_insert_fleet_customer")
        else:
            cursor.execute('DROP TRIGGER "keep_insert_fleet_customer"')
            cursor.execute('CREATE TRIGGER "keep_insert_fleet_customer" AFTER INSERT ON fleet_customer BEGIN SELECT 1; END')
    assert triggers.unwatched() == ["fleet_customer"]
    triggers.install()
    assert triggers.unwatched() == []


def test_the_record_of_a_shop_floor_agrees_with_its_tables(floor):
    assert first_strange_row() is None


def test_the_pages_of_changes_say_who_and_what(floor, as_manager, as_technician, as_stranger):
    Customer.objects.filter(pk=floor.customer.pk).update(name="Brinkholm <b>Estate</b>")
    page = as_technician.get(f"/changes/fleet.customer/{floor.customer.pk}/").content.decode()
    assert "Brinkholm Estate → Brinkholm &lt;b&gt;Estate&lt;/b&gt;" in page
    assert "written outside the pages" in page
    assert as_manager.get("/changes/?page=zzz").status_code == 200
    assert as_manager.get("/changes/auth.user/1/").status_code == 404
    assert as_stranger.get("/changes/").status_code == 302


def test_a_reading_may_be_put_right_only_with_a_reason(floor, technician):
    from datetime import UTC, datetime
    from decimal import Decimal

    from django.db import IntegrityError

    from fleet.models import DriveTest

    test = DriveTest.objects.create(
        number="T-1", unit=floor.unit, machine=floor.machine, tested_at=datetime(2026, 3, 2, tzinfo=UTC), tested_by=technician,
        life_h=Decimal("1210.0"), component_h=Decimal("1210.0"),
    )  # fmt: skip
    first = Reading.objects.create(drive_test=test, quantity="charge_neutral", typed="24", typed_unit="bar", value=24, unit="bar")
    with pytest.raises(IntegrityError), transaction.atomic():
        Reading.objects.create(
            drive_test=test, quantity="charge_neutral", typed="22", typed_unit="bar", value=22, unit="bar", supersedes=first
        )
    second = Reading.objects.create(
        drive_test=test,
        quantity="charge_neutral",
        typed="22",
        typed_unit="bar",
        value=22,
        unit="bar",
        supersedes=first,
        correction_reason="misread",
    )
    assert list(Reading.objects.standing()) == [second]
    assert list(second.earlier()) == [first]

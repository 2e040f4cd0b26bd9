"""An act is all or nothing, names its person, and counts once."""

import threading

import pytest
from django.db import IntegrityError, connection, transaction

from fleet.models import Customer
from fleet.models.base import ChangedMeanwhile
from shop.acts import AlreadyDone, act
from shop.models import Act, ChangeEntry, FormToken


def add_customer(by, number, token=""):
    with act("add a customer", by=by, token=token, reason="asked for") as frame:
        frame.made = Customer.objects.create(number=number, name="Nordlund")
    return frame.made


def test_an_act_that_fails_leaves_nothing(technician):
    before = ChangeEntry.objects.count(), Act.objects.count(), FormToken.objects.count()
    with pytest.raises(RuntimeError), act("add a customer", by=technician, token="once"):
        Customer.objects.create(number="C-1", name="Nordlund")
        raise RuntimeError
    assert not Customer.objects.exists()
    assert (ChangeEntry.objects.count(), Act.objects.count(), FormToken.objects.count()) == before


def test_the_same_token_acts_once_and_gives_back_what_was_made(technician):
    made = add_customer(technician, "C-1", token="once")
    with pytest.raises(AlreadyDone) as again:
        add_customer(technician, "C-2", token="once")
    assert again.value.record == made
    assert Customer.objects.count() == 1


def test_another_constraint_that_is_broken_is_not_taken_for_a_repeat(technician):
    add_customer(technician, "C-1", token="first")
    with pytest.raises(IntegrityError):
        add_customer(technician, "C-1", token="second")


def test_an_act_inside_an_act_joins_it(technician):
    with act("outer", by=technician), act("inner", by=technician):
        Customer.objects.create(number="C-1", name="Nordlund")
    assert [a.name for a in Act.objects.all()] == ["outer"]


def test_what_an_act_writes_names_its_person_and_reason(technician):
    made = add_customer(technician, "C-1")
    entry = ChangeEntry.objects.of(made).get()
    assert Act.objects.get(pk=entry.act_id).by == technician
    assert Act.objects.get(pk=entry.act_id).reason == "asked for"


def test_what_is_written_after_an_act_is_not_laid_at_its_door(technician):
    made = add_customer(technician, "C-1")
    Customer.objects.filter(pk=made.pk).update(name="Sørlund")
    assert ChangeEntry.objects.of(made).first().act_id is None


def test_the_second_of_two_who_edit_is_told(technician):
    made = add_customer(technician, "C-1")
    one, two = Customer.objects.get(pk=made.pk), Customer.objects.get(pk=made.pk)
    one.name = "Västlund"
    one.save_over(1)
    two.name = "Østlund"
    with pytest.raises(ChangedMeanwhile):
        two.save_over(1)
    made.refresh_from_db()
    assert (made.name, made.version) == ("Västlund", 2)


@pytest.mark.django_db(transaction=True)
def test_twenty_at_once_with_one_token_make_one(technician):
    made, repeats = [], []

    def press():
        try:
            made.append(add_customer(technician, f"C-{threading.get_ident()}", token="double click"))
        except AlreadyDone as again:
            repeats.append(again.record)
        finally:
            connection.close()

    threads = [threading.Thread(target=press) for _ in range(20)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(timeout=60)
    assert (len(made), len(repeats), Customer.objects.count()) == (1, 19, 1)


@pytest.mark.django_db(transaction=True)
def test_of_many_who_save_over_the_same_version_one_wins(technician):
    made = add_customer(technician, "C-1")
    outcomes, gate = [], threading.Barrier(8, timeout=20)

    def save(name):
        mine = Customer.objects.get(pk=made.pk)
        mine.name = name
        gate.wait()
        try:
            with transaction.atomic():
                mine.save_over(1)
            outcomes.append("kept")
        except ChangedMeanwhile:
            outcomes.append("told")
        finally:
            connection.close()

    threads = [threading.Thread(target=save, args=(f"name {k}",)) for k in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(timeout=60)
    assert sorted(outcomes) == ["kept"] + ["told"] * 7

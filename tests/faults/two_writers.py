"""Two people send the same page at the same moment, one person sends the same page twenty times, two people bring the same sheet at the same moment:
nobody is overwritten in silence, nothing is doubled.

Run: python tests/faults/two_writers.py [--races 500] [--presses 50] [--sheets 100]
On PostgreSQL: FAULTS_DATABASE_URL=postgres://... with an empty database of its own.
"""

import argparse
import sys
import threading
from collections import Counter
from datetime import datetime, timedelta
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))
from tests.faults import throwaway  # noqa: E402  isort: skip  # first of all: it says where the shop lies

from django.core.files.uploadedfile import SimpleUploadedFile  # noqa: E402
from django.db import connection  # noqa: E402
from django.test import Client  # noqa: E402

from fleet.models import Customer, Reading  # noqa: E402
from shop.changes.chain import first_break  # noqa: E402
from shop.models import ImportFile  # noqa: E402
from tests.shop.exchange.sheets_of_floor import as_csv, long_rows  # noqa: E402

CALL = {"caller": "Åse Brinkholm", "hurt": "no", "safe": "yes", "moves": "barely", "complaint": "Slow when hot", "symptom": "slow_hot"}


def at_once(count: int, act) -> list:
    gate, found = threading.Barrier(count, timeout=60), [None] * count

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
        thread.join()
    return found


def clients(chief, count: int) -> list[Client]:
    made = [Client(headers={"host": "127.0.0.1"}) for _ in range(count)]
    for client in made:
        client.force_login(chief)
    return made


def race(chief, races: int) -> Counter:
    pair, customer, seen = clients(chief, 2), Customer.objects.create(number="C-1", name="Nordlund"), Counter()
    address = f"/customers/{customer.pk}/edit/"
    for turn in range(races):
        version = Customer.objects.get(pk=customer.pk).version
        form = {"number": "C-1", "preferred_channel": "phone", "version": version}
        answers = at_once(2, lambda k, form=form, turn=turn: pair[k].post(address, form | {"name": f"{turn} by {k}"}))
        customer.refresh_from_db()
        kept = [k for k, answer in enumerate(answers) if answer.status_code == 302]
        told = [k for k, answer in enumerate(answers) if answer.status_code == 409]
        seen["one kept, one told"] += (len(kept), len(told)) == (1, 1)
        seen["overwritten in silence"] += len(kept) == 2
        seen["other"] += (len(kept), len(told)) not in ((1, 1), (2, 0))
        seen["kept is not what stands"] += bool(kept) and customer.name != f"{turn} by {kept[0]}"
        if told and kept:
            page = answers[told[0]].content.decode()
            seen["told without both texts"] += not (f"{turn} by {kept[0]}" in page and f"{turn} by {told[0]}" in page)
    return seen


def press(chief, floor, presses: int) -> Counter:
    crowd, seen = clients(chief, 20), Counter()
    address = f"/orders/new/{floor.machine.pk}/"
    for turn in range(presses):
        answers = at_once(20, lambda k, turn=turn: crowd[k].post(address, CALL | {"token": f"press-{turn}"}))
        seen["same page for all"] += len({answer.get("Location") for answer in answers}) == 1 and answers[0].status_code == 302
        seen["made"] = floor.machine.orders.count()
    return seen


def bring(chief, sheets: int) -> Counter:
    """Let two people bring the same sheet and write it at the same moment."""
    pair, seen = clients(chief, 2), Counter()
    for turn in range(sheets):
        before, rows = Reading.objects.count(), long_rows(1)
        for row in rows[1:]:
            row[2] = f"{datetime(2026, 3, 10, 9) + timedelta(hours=turn):%Y-%m-%dT%H:%M}"
        files = [brought(client, as_csv(rows)) for client in pair]
        at_once(2, lambda k, files=files: pair[k].post(f"/imports/{files[k].pk}/write/", {"digest": files[k].found["digest"]}))
        for file in files:
            file.refresh_from_db()
        ends = sorted(file.stage for file in files)
        seen["one wrote, one is shown that all is known"] += (
            ends == ["done", "looked"] and {"known": 5, "fresh": 0}.items() <= max(files, key=lambda file: file.stage).found.items()
        )
        seen["written more than once or in part"] += Reading.objects.count() != before + 5
        seen[f"ended {' and '.join(ends)}"] += 1
    return seen


def brought(client, body: bytes) -> ImportFile:
    answer = client.post("/imports/", {"kind": "readings", "file": SimpleUploadedFile("sheet.csv", body)})
    return ImportFile.objects.get(pk=answer["Location"].strip("/").rpartition("/")[2])


def main() -> int:
    words = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    words.add_argument("--races", type=int, default=500)
    words.add_argument("--presses", type=int, default=50)
    words.add_argument("--sheets", type=int, default=100)
    asked = words.parse_args()
    floor, chief = throwaway.lay_shop()
    raced = race(chief, asked.races)
    print(f"{connection.vendor}: {asked.races} races: {dict(raced)}")
    pressed = press(chief, floor, asked.presses)
    print(f"{connection.vendor}: {asked.presses} pages sent 20 times at once: {dict(pressed)}; chain broken: {first_break() is not None}")
    sheets = bring(chief, asked.sheets)
    print(
        f"{connection.vendor}: {asked.sheets} sheets brought by two and written at once: {dict(sheets)}; chain broken: {first_break() is not None}"
    )
    well = raced["one kept, one told"] == asked.races and not raced["told without both texts"] and not raced["kept is not what stands"]
    well = well and sheets["one wrote, one is shown that all is known"] == asked.sheets and not sheets["written more than once or in part"]
    return 0 if well and pressed["made"] == pressed["same page for all"] == asked.presses and first_break() is None else 1


if __name__ == "__main__":
    sys.exit(main())

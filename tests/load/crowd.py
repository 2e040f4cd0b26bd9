"""Fifty people at once on the real server over loopback, reading and writing: nothing refused, nothing lost, nobody waits long.

Run: python tests/load/crowd.py [--people 50] [--seconds 60] [--database postgres://...] [--with-backups 30] [--fast-as-it-goes]

Four answers in five are pages, one is a form sent (hours read, a remark on an order's story, a customer changed, a customer added); a person thinks for one
to three seconds between. Each form that the server took is noted and looked for afterwards. With --with-backups so many backups are made meanwhile, each is
restored into an empty place, and what was taken before the backup began must be in it. With --fast-as-it-goes bare writes are timed instead, without http.
"""

import argparse
import http.client
import logging
import os
import random
import re
import shutil
import signal
import socket
import subprocess
import sys
import tempfile
import threading
import time
from contextlib import suppress
from dataclasses import dataclass, field
from http.cookies import SimpleCookie
from pathlib import Path
from urllib.parse import urlencode

HOUSE = Path(__file__).parents[2]
sys.path.insert(0, str(HOUSE))
PLACE = Path(tempfile.mkdtemp(prefix="crowd-"))
os.environ |= {
    "SHOP_VAR": str(PLACE / "var"),
    "SHOP_SECRET_KEY": "for this run alone, thrown away with its folder " * 2,
    "SHOP_HOSTS": "127.0.0.1",
}
os.environ["DJANGO_SETTINGS_MODULE"] = "shop.settings"
PASSWORD = "a long shop password"
MACHINES = 30


@dataclass
class Noted:
    """What everybody saw, in one place."""

    reads: list[float] = field(default_factory=list)
    writes: list[float] = field(default_factory=list)
    taken: list[tuple[float, str]] = field(default_factory=list)  # when, and the mark that must be found again
    told: int = 0  # 409: somebody else was first
    refused: list[str] = field(default_factory=list)


class PersonAtABrowser:
    """One signed-in person with a session of their own."""

    def __init__(self, port: int, session: str, number: int, noted: Noted):
        self.port, self.number, self.noted = port, number, noted
        self.cookies, self.chance = {"sessionid": session}, random.Random(number)
        self.line = http.client.HTTPConnection("127.0.0.1", port, timeout=60)

    def ask(self, method: str, address: str, fields: dict | None = None) -> tuple[int, str]:
        headers = {"Cookie": "; ".join(f"{name}={value}" for name, value in self.cookies.items())}
        body = urlencode(fields) if fields is not None else None
        if body is not None:
            headers |= {"Content-Type": "application/x-www-form-urlencoded"}
        self.line.request(method, address, body, headers)
        answer = self.line.getresponse()
        for given in answer.headers.get_all("Set-Cookie") or ():
            self.cookies |= {name: cookie.value for name, cookie in SimpleCookie(given).items()}
        return answer.status, answer.read().decode(errors="replace")

    def read(self, address: str) -> str:
        begun = time.perf_counter()
        status, page = self.ask("GET", address)
        self.noted.reads.append(time.perf_counter() - begun)
        if status >= 400:
            self.noted.refused.append(f"GET {address}: {status}")
        return page

    def send(self, address: str, fields: dict, page: str, mark: str) -> None:
        hidden = {name: value for name, value in re.findall(r'name="(token|version|csrfmiddlewaretoken)"[^>]*?value="([^"]*)"', page)}
        begun = time.perf_counter()
        status, text = self.ask("POST", address, hidden | fields)
        self.noted.writes.append(time.perf_counter() - begun)
        if status == 302:
            self.noted.taken.append((time.time(), mark))
        elif status == 409:
            self.noted.told += 1
        else:
            words = re.sub(r"<[^>]+>|\s+", " ", text[text.find("refused") :])[:200]
            self.noted.refused.append(f"POST {address}: {status} {words}")

    def live(self, until: float) -> None:
        turn = 0
        time.sleep(self.chance.uniform(0, 2))
        while time.time() < until:
            turn += 1
            if self.chance.random() < 0.2:
                self.write(f"mark-{self.number}-{turn}-")
            else:
                self.read(self.chance.choice(PAGES).format(machine=1 + self.chance.randrange(MACHINES)))
            time.sleep(self.chance.uniform(1, 3))

    def write(self, mark: str) -> None:
        machine = 1 + self.chance.randrange(MACHINES)
        kind = self.chance.randrange(3)
        if kind == 0:
            fields = {"name": f"{mark} & Daughters", "preferred_channel": "phone", "note": mark}
            self.send("/customers/add/", fields, self.read("/customers/add/"), mark)
        elif kind == 1:
            address = f"/orders/{machine}/story/"
            self.send(address, {"complaint": f"slow {mark}", "symptom": "slow_hot"}, self.read(address), mark)
        else:
            address = f"/machines/{machine}/edit/"
            page = self.read(address)
            self.send(address, chosen(page) | {"note": mark}, page, mark)


PAGES = (
    "/",
    "/machines/",
    "/machines/{machine}/",
    "/drives/",
    "/orders/",
    "/orders/{machine}/",
    "/due/",
    "/customers/",
    "/find/?q=HW180",
    "/instruments/",
    "/parts/",
)


def chosen(page: str) -> dict[str, str]:
    """Return what stands in the fields of a page's main form, as a browser would send it back."""
    form = max(re.findall(r"<form.*?</form>", page, re.S), key=len)
    fields = {m[1]: m[2] for m in re.finditer(r'<input[^>]*?name="([^"]+)"[^>]*?value="([^"]*)"', form) if 'type="checkbox"' not in m[0]}
    fields |= {m[1]: m[2] for m in re.finditer(r'<textarea[^>]*?name="([^"]+)"[^>]*>\s*([^<]*)</textarea>', form)}
    for name, options in re.findall(r'<select[^>]*?name="([^"]+)".*?>(.*?)</select>', form, re.S):
        picked = re.search(r'value="([^"]*)" selected', options)
        fields[name] = picked[1] if picked else ""
    return {name: value.replace("&quot;", '"').replace("&amp;", "&") for name, value in fields.items()}


def lay_shop(people: int) -> list[str]:
    """Fill the throw-away database; return a session for each person."""
    import django

    django.setup()
    logging.getLogger("shop").setLevel(logging.WARNING)
    from django.core.management import call_command

    call_command("migrate", verbosity=0)
    from django.test import Client

    from shop.people.actions import add_person
    from shop.workorders.actions import open_order
    from tests.floor import lay_floor
    from tests.shop.asking import another_machine

    chief = add_person(by=None, username="chief", password=PASSWORD, roles=["manager"])
    floor = lay_floor(chief)
    machines = [floor.machine, *(another_machine(floor, k) for k in range(2, MACHINES + 1))]
    for machine in machines:
        open_order(by=chief, machine=machine, complaint="slow when hot", symptom="slow_hot")
    sessions = []
    for _ in range(people):
        client = Client()
        client.force_login(chief)
        sessions.append(client.cookies["sessionid"].value)
    return sessions


def free_port() -> int:
    with socket.socket() as door:
        door.bind(("127.0.0.1", 0))
        return door.getsockname()[1]


def serve(port: int) -> subprocess.Popen:
    log = (PLACE / "server.log").open("w")
    server = subprocess.Popen([sys.executable, "manage.py", "serve", "--port", str(port)], cwd=HOUSE, stdout=log, stderr=log)
    for _ in range(200):
        try:
            socket.create_connection(("127.0.0.1", port), timeout=1).close()
            return server
        except OSError:
            time.sleep(0.2)
    raise SystemExit((PLACE / "server.log").read_text())


def processor_s(pid: int) -> float:
    """Return the processor time of a server and its processes so far, which says what its work costs however busy the machine is."""
    spent = 0
    for place in Path("/proc").glob("[0-9]*/stat"):
        with suppress(OSError):
            figures = place.read_text().rpartition(")")[2].split()
            if pid in (int(place.parent.name), int(figures[1])):
                spent += int(figures[11]) + int(figures[12])
    return spent / os.sysconf("SC_CLK_TCK")


def share(figures: list[float], part: float) -> float:
    return sorted(figures)[min(int(len(figures) * part), len(figures) - 1)] if figures else float("nan")


def count_marks(marks: list[str]) -> tuple[int, int]:
    """Return how many marks are in the change record, and how many of its entries break its chain."""
    from shop.changes.chain import first_break
    from shop.models import ChangeEntry

    written = "\n".join(ChangeEntry.objects.filter(new__contains="mark-").values_list("new", flat=True))
    return sum(mark in written for mark in marks), int(first_break() is not None)


def crowd(sessions: list[str], port: int, seconds: float, backups: int) -> tuple[Noted, list]:
    noted, until = Noted(), time.time() + seconds
    threads = [threading.Thread(target=PersonAtABrowser(port, key, k, noted).live, args=(until,)) for k, key in enumerate(sessions)]
    for thread in threads:
        thread.start()
    made = []
    for _ in range(backups):
        begun = time.time()
        done = subprocess.run(
            [sys.executable, "manage.py", "backup", "--into", str(PLACE / "backups")], cwd=HOUSE, capture_output=True, text=True
        )
        made.append((begun, done.stdout.strip() if done.returncode == 0 else "", done.stderr))
    for thread in threads:
        thread.join()
    return noted, made


def restored(made: list, taken: list[tuple[float, str]]) -> tuple[int, int]:
    """Restore each backup into an empty place; return how many came back whole, and how many marks taken before its beginning are missing."""
    whole = missing = 0
    for number, (begun, folder, _) in enumerate(made):
        var = PLACE / f"restored-{number}"
        place = os.environ | {"SHOP_VAR": str(var), "DATABASE_URL": f"sqlite:///{var / 'shop.sqlite3'}"}
        done = folder and subprocess.run(
            [sys.executable, "manage.py", "restore", folder], cwd=HOUSE, env=place, capture_output=True, text=True
        )
        whole += bool(done) and done.returncode == 0
        if done and done.returncode == 0:
            import sqlite3

            base = sqlite3.connect(var / "shop.sqlite3")
            written = "\n".join(new for (new,) in base.execute("SELECT new FROM shop_changeentry WHERE new LIKE '%mark-%'"))
            missing += sum(mark not in written for when, mark in taken if when < begun)
            base.close()
        shutil.rmtree(var, ignore_errors=True)
    return whole, missing


BARE = """
import sys, time, django
django.setup()
from fleet.models import Customer
from shop.acts import act
until, made = time.time() + float(sys.argv[2]), 0
while time.time() < until:
    with act("add", by=None):
        Customer.objects.create(number=f"B-{sys.argv[1]}-{made}", name="Bare")
    made += 1
print(made)
"""


def bare_writes(writers: int, seconds: float) -> None:
    """Time acts of one row each, from several processes at once, without http."""
    from fleet.models import Customer

    started = [
        subprocess.Popen(
            [sys.executable, "-c", BARE, str(k), str(seconds)], cwd=HOUSE, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
        )
        for k in range(writers)
    ]
    said = [one.communicate() for one in started]
    made = [int(out or 0) for out, _ in said]
    locked = sum("locked" in trouble for _, trouble in said)
    print(f"bare acts: {writers} processes, {seconds:g} s: {sum(made)} acts, {sum(made) / seconds:.0f}/s, {locked} processes told 'locked', "
          f"{Customer.objects.filter(name='Bare').count()} rows stored")  # fmt: skip


def main() -> int:
    words = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    words.add_argument("--people", type=int, default=50)
    words.add_argument("--seconds", type=float, default=60)
    words.add_argument("--database", help="an empty database of its own; it is filled and left so")
    words.add_argument("--with-backups", type=int, default=0)
    words.add_argument("--fast-as-it-goes", action="store_true")
    asked = words.parse_args()
    os.environ["DATABASE_URL"] = asked.database or f"sqlite:///{PLACE / 'var' / 'shop.sqlite3'}"
    try:
        sessions = lay_shop(asked.people)
        if asked.fast_as_it_goes:
            bare_writes(4, min(asked.seconds, 10))
            return 0
        return report(asked, sessions)
    finally:
        shutil.rmtree(PLACE, ignore_errors=True)


def report(asked, sessions) -> int:
    port = free_port()
    server = serve(port)
    before_s = processor_s(server.pid)
    try:
        noted, made = crowd(sessions, port, asked.seconds, asked.with_backups)
        worked_s, load = processor_s(server.pid) - before_s, os.getloadavg()[0]
    finally:
        server.send_signal(signal.SIGTERM)
        server.wait(20)
    stored, broken = count_marks([mark for _, mark in noted.taken])
    locked = (PLACE / "server.log").read_text().count("locked")
    print(f"{asked.people} people, {asked.seconds:g} s: {len(noted.reads)} pages, {len(noted.writes)} forms sent, {len(noted.taken)} taken, {noted.told} told that "
          f"somebody else was first, {len(noted.refused)} refused otherwise")  # fmt: skip
    print(f"taken {len(noted.taken)}, stored {stored}, chain broken {broken}, 'locked' in the server's log {locked}")
    for name, figures in (("pages", noted.reads), ("forms", noted.writes)):
        print(
            f"{name}: p50 {share(figures, 0.5) * 1000:.0f} ms, p95 {share(figures, 0.95) * 1000:.0f} ms, worst {share(figures, 1) * 1000:.0f} ms"
        )
    asked_for = len(noted.reads) + len(noted.writes)
    print(
        f"the server worked {worked_s:.1f} s of processor time, {1000 * worked_s / asked_for:.0f} ms for a page or a form; load of the machine {load:.1f}"
    )
    for line in sorted(set(noted.refused))[:10]:
        print("refused:", line)
    well = not noted.refused and stored == len(noted.taken) and not broken and not locked
    if asked.with_backups:
        whole, missing = restored(made, noted.taken)
        print(f"backups: {len(made)} made, {whole} restored whole, {missing} acts taken before a backup began are missing in it")
        well = well and whole == len(made) and not missing
    return 0 if well else 1


if __name__ == "__main__":
    sys.exit(main())

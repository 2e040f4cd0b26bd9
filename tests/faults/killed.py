"""Kill -9 at random moments in the middle of each kind of work, then look: everything or nothing, and what was said to be kept is kept.

Run: python tests/faults/killed.py [visit release attachment backup migrate import ...] [--times 200] [--seed 1]

For each kind of work one line: times tried, killed before the work was kept, kept, and what must be 0: half-written, said to be kept but lost, broken
files. A probe in which one of the two outcomes came up fewer than twenty times says so and counts for nothing. Runs on SQLite, in a throw-away folder.
"""

import argparse
import logging
import os
import random
import select
import shutil
import signal
import sqlite3
import sys
import tempfile
import time
import traceback
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))
PLACE = Path(tempfile.mkdtemp(prefix="killed-"))
os.environ |= {
    "SHOP_VAR": str(PLACE / "var"),
    "DATABASE_URL": f"sqlite:///{PLACE / 'var' / 'shop.sqlite3'}",
    "SHOP_SECRET_KEY": "for this run alone, thrown away with its folder " * 2,
    "DJANGO_SETTINGS_MODULE": "shop.settings",
}

import django  # noqa: E402

django.setup()
logging.disable(logging.NOTSET if os.environ.get("LOUD") else logging.CRITICAL)

from tests.faults import jobs  # noqa: E402

VAR = PLACE / "var"
DATABASE = VAR / "shop.sqlite3"
ENOUGH = 20
SPREAD = 1.5  # kills are spread evenly over so many times the usual length of the work


def in_a_child(work, *, kill_after: float | None = None) -> tuple[bool, float]:
    """Do `work` in a process of its own; return whether it said that it was done, and how long it took."""
    hears, says = os.pipe()
    begun = time.perf_counter()
    child = os.fork()
    if child == 0:
        _be_the_child(work, hears, says)
    os.close(says)
    if kill_after is not None:
        select.select([hears], [], [], kill_after)
        os.kill(child, signal.SIGKILL)
    said = os.read(hears, 4)
    os.close(hears)
    os.waitpid(child, 0)
    return said == b"kept", time.perf_counter() - begun


def _be_the_child(work, hears: int, says: int) -> None:
    os.close(hears)
    if not os.environ.get("LOUD"):
        os.dup2(os.open(os.devnull, os.O_WRONLY), 2)
    try:
        work()
        os.write(says, b"kept")
        time.sleep(0.02)
    except BaseException:
        traceback.print_exc()
    finally:
        os._exit(0)


def lay_out(template: Path) -> None:
    """Put the prepared shop in place anew."""
    shutil.rmtree(VAR, ignore_errors=True)
    shutil.copytree(template, VAR)


def looked_at() -> tuple[list[str], dict[str, int]]:
    """Open the database as the next start would; return what is broken in it, and the count of every table."""
    base = sqlite3.connect(DATABASE)
    broken = [] if base.execute("PRAGMA integrity_check").fetchone() == ("ok",) else ["integrity"]
    broken += ["foreign keys"] if base.execute("PRAGMA foreign_key_check").fetchall() else []
    broken += ["chain of the change record"] if jobs.breaks_of_chain(base) else []
    tables = [name for (name,) in base.execute("SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'sqlite_%'")]
    counts = {name: base.execute(f'SELECT count(*) FROM "{name}"').fetchone()[0] for name in tables}
    base.close()
    return broken, counts


def prepare(job) -> Path:
    shutil.rmtree(VAR, ignore_errors=True)
    VAR.mkdir(parents=True)
    done, _ = in_a_child(job.prepare)
    if not done:
        raise SystemExit(f"{job.name}: the shop could not be prepared; run again with LOUD=1 to see why")
    base = sqlite3.connect(DATABASE)
    base.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    base.close()
    template = PLACE / f"template-{job.name}"
    shutil.copytree(VAR, template)
    return template


def try_job(job, times: int, chance: random.Random) -> bool:
    template = prepare(job)
    before = looked_at()[1]
    spans = []
    for _ in range(5):
        lay_out(template)
        done, seconds = in_a_child(job.work)
        if not done:
            raise SystemExit(f"{job.name}: the work does not get done; run again with LOUD=1 to see why")
        spans.append(seconds)
    after = looked_at()[1]
    span, found = min(spans), {"not kept": 0, "kept": 0, "half": 0, "lost": 0, "broken": 0}
    for _ in range(times):
        lay_out(template)
        said, _ = in_a_child(job.work, kill_after=chance.uniform(0, SPREAD * span))
        broken, counts = looked_at()
        state = job.state(counts, before, after)
        found["kept" if state == "after" else "not kept"] += 1
        found["half"] += state == "half"
        found["lost"] += said and state != "after"
        found["broken"] += bool(broken) or not job.goes_on(in_a_child)
    well = not (found["half"] or found["lost"] or found["broken"])
    void = min(found["kept"], found["not kept"]) < min(ENOUGH, times // 10)
    figures = ", ".join(f"{words} {count}" for words, count in found.items())
    print(f"{job.name}: {times} kills over {SPREAD * span:.2f} s: {figures}{' (VOID: one outcome too seldom)' if void else ''}", flush=True)
    shutil.rmtree(template)
    return well and not void


def main() -> int:
    words = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    words.add_argument("jobs", nargs="*", default=list(jobs.JOBS))
    words.add_argument("--times", type=int, default=200)
    words.add_argument("--seed", type=int, default=1)
    asked = words.parse_args()
    chance = random.Random(asked.seed)
    try:
        return 0 if all([try_job(jobs.JOBS[name], asked.times, chance) for name in asked.jobs]) else 1
    finally:
        shutil.rmtree(PLACE, ignore_errors=True)


if __name__ == "__main__":
    sys.exit(main())

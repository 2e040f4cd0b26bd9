"""Kill -9 at random moments in the middle of each kind of work, then look: everything or nothing, and what was said to be kept is kept.

Run: python tests/faults/killed.py [visit release attachment backup migrate import ...] [--times 200] [--seed 1]
On PostgreSQL: FAULTS_DATABASE_URL=postgres://... of a server on which databases may be made beside the one named.

For each kind of work one line: times tried, killed before the work was kept, kept, and what must be 0: half-written, said to be kept but lost, broken
files. A probe in which one of the two outcomes came up fewer than twenty times says so and counts for nothing. On SQLite in a throw-away folder; on
PostgreSQL in databases of its own, for the kinds of work that write rows: there the client is killed, and one figure more says how often it had written
inside a transaction that the server then undid.
"""

import argparse
import logging
import os
import random
import select
import shutil
import signal
import sys
import time
import traceback
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))
from tests.faults.kept_in import PLACE, Book, book_asked_for  # noqa: E402  isort: skip  # first of all: it says where the shop lies

import django  # noqa: E402

django.setup()
logging.disable(logging.NOTSET if os.environ.get("LOUD") else logging.CRITICAL)

from tests.faults import jobs  # noqa: E402

ENOUGH = 20
AFRESH = 15  # after so many kills the usual length is measured again: a machine is not always as fast
SPREAD = 1.5  # kills are spread evenly over so many times the usual length of the work


def in_a_child(work, *, kill_after: float | None = None, just_before=lambda: None) -> tuple[bool, float]:
    """Do `work` in a process of its own; return whether it said that it was done, and how long it took."""
    hears, says = os.pipe()
    begun = time.perf_counter()
    child = os.fork()
    if child == 0:
        _be_the_child(work, hears, says)
    os.close(says)
    if kill_after is not None:
        select.select([hears], [], [], kill_after)
        just_before()
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


def prepare(job, book: Book) -> None:
    book.make_empty()
    done, _ = in_a_child(job.prepare)
    if not done:
        raise SystemExit(f"{job.name}: the shop could not be prepared; run again with LOUD=1 to see why")
    book.keep_as_template()


def usual_span(job, book: Book, times: int) -> float:
    """Do the work a few times undisturbed; return the least seconds it took."""
    spans = []
    for _ in range(times):
        book.lay_out()
        done, seconds = in_a_child(job.work)
        if not done:
            raise SystemExit(f"{job.name}: the work does not get done; run again with LOUD=1 to see why")
        spans.append(seconds)
    return min(spans)


def try_job(job, book: Book, times: int, chance: random.Random) -> bool:
    prepare(job, book)
    before = book.looked_at().counts
    spans = [usual_span(job, book, 3)]
    after = book.looked_at().counts
    tally = {"not kept": 0, "kept": 0, "half": 0, "lost": 0, "broken": 0} | ({"undone by the server": 0} if book.on_a_server else {})
    for turn in range(1, times + 1):
        if turn % AFRESH == 0:
            spans.append(usual_span(job, book, 1))
        book.lay_out()
        said, _ = in_a_child(job.work, kill_after=chance.uniform(0, SPREAD * spans[-1]), just_before=book.watch)
        found = book.looked_at()
        state = job.state(found, before, after)
        tally["kept" if state == "after" else "not kept"] += 1
        tally["half"] += state == "half"
        if book.was_writing:
            tally["undone by the server"] += state == "before"
        tally["lost"] += said and state != "after"
        tally["broken"] += bool(found.broken) or not job.goes_on(in_a_child)
    well = not (tally["half"] or tally["lost"] or tally["broken"])
    void = min(tally["kept"], tally["not kept"]) < min(ENOUGH, times // 10)
    figures = ", ".join(f"{words} {count}" for words, count in tally.items())
    void_words = " (VOID: one outcome too seldom)" if void else ""
    over = f"{SPREAD * min(spans):.2f} to {SPREAD * max(spans):.2f} s"
    print(f"{book.name}, {job.name}: {times} kills over {over}: {figures}{void_words}", flush=True)
    return well and not void


def main() -> int:
    words = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    words.add_argument("jobs", nargs="*", default=[])
    words.add_argument("--times", type=int, default=200)
    words.add_argument("--seed", type=int, default=1)
    asked = words.parse_args()
    chance, book = random.Random(asked.seed), book_asked_for()
    names = asked.jobs or [name for name, job in jobs.JOBS.items() if job.on_a_server or not book.on_a_server]
    try:
        return 0 if all([try_job(jobs.JOBS[name], book, asked.times, chance) for name in names]) else 1
    finally:
        book.clear_away()
        shutil.rmtree(PLACE, ignore_errors=True)


if __name__ == "__main__":
    sys.exit(main())

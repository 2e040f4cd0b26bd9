"""Thousands of damaged files through every import: none may raise, none may write in part.

    python tests/faults/fuzz_imports.py --csv 10000 --xlsx 2000 --xml 2000 --json 2000 --seed 1

Each file is a valid one of its form (sheets as text, workbooks, fleet snapshots as XML or JSON) with one to four injuries. It is looked at and, where it can be, its good rows are written; then the rows of the book are
counted against what was promised, and everything is taken back. Counts, the slowest file and the most memory are printed.
"""

import argparse
import io
import os
import random
import resource
import sys
import tempfile
import time
import zipfile
import zlib
from collections import Counter
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))
FIXTURES = Path(__file__).resolve().parents[2] / "fixtures" / "import"
SLOWEST_S = 2.0
MOST_MB = 200
FILES = {"csv": 10_000, "xlsx": 2_000, "xml": 2_000, "json": 2_000}


def flip_bits(body: bytes, dice: random.Random) -> bytes:
    told = bytearray(body)
    for _ in range(dice.choice([1, 3, 30])):
        if told:
            told[dice.randrange(len(told))] ^= 1 << dice.randrange(8)
    return bytes(told)


def cut(body: bytes, dice: random.Random) -> bytes:
    return body[: dice.randrange(len(body) + 1)]


def cut_out(body: bytes, dice: random.Random) -> bytes:
    start = dice.randrange(len(body) + 1)
    return body[:start] + body[start + dice.randrange(200) :]


def double_block(body: bytes, dice: random.Random) -> bytes:
    start = dice.randrange(len(body) + 1)
    return body[:start] + body[start : start + dice.randrange(1, 400)] * dice.choice([2, 3, 50]) + body[start:]


def insert(*parts: bytes):
    def injure(body: bytes, dice: random.Random) -> bytes:
        at = dice.randrange(len(body) + 1)
        return body[:at] + dice.choice(parts) + body[at:]

    return injure


def swap_figure(body: bytes, dice: random.Random) -> bytes:
    """Put something that is no figure where one stood."""
    spots = [at for at, byte in enumerate(body) if 48 <= byte < 58]
    odd = [b"NaN", b"1e999", b"-1", b"Infinity", b"1,234", b"9" * 45, b"0x10", b"1_0", b"", b"\xc2\xb2", b"=1+1", "٣".encode(), b"1e-400"]
    at = dice.choice(spots) if spots else 0
    return body[:at] + dice.choice(odd) + body[at + 1 :]


def other_encoding(body: bytes, dice: random.Random) -> bytes:
    text = body.decode("utf-8", "replace")
    return text.encode(dice.choice(["utf-16", "utf-16-le", "cp1252", "utf-8-sig", "utf-7", "utf-32"]), "replace")


def other_line_ends(body: bytes, dice: random.Random) -> bytes:
    return body.replace(b"\n", dice.choice([b"\r", b"\r\n", b"\n\r", b"\n\n", b"\x0b", b"\xe2\x80\xa8"]))


def huge_field(body: bytes, dice: random.Random) -> bytes:
    return insert(b"x" * dice.choice([2_500, 140_000, 1_000_000]))(body, dice)


def many_columns(body: bytes, dice: random.Random) -> bytes:
    lines = body.split(b"\n")
    at = dice.randrange(len(lines))
    lines[at] += dice.choice([b",", b";", b",x"]) * 5_000
    return b"\n".join(lines)


def shuffle_lines(body: bytes, dice: random.Random) -> bytes:
    lines = body.split(b"\n")
    dice.shuffle(lines)
    return b"\n".join(lines)


def rename_heading(body: bytes, dice: random.Random) -> bytes:
    words = [b"serial", b"value", b"Hours", b"Date", b"SerialNumber", b"Hour", b"Sampled", b"unit", b"tested_at", b"Fe"]
    return body.replace(dice.choice(words), dice.choice([*words, b"", b"=x"]), dice.choice([1, 99]))


def inside_zip(body: bytes, dice: random.Random) -> bytes:
    """Injure one part of a workbook and pack it again."""
    if not body.startswith(b"PK\x03\x04"):
        return flip_bits(body, dice)
    out = io.BytesIO()
    try:
        with zipfile.ZipFile(io.BytesIO(body)) as packed:
            parts = {name: packed.read(name) for name in packed.namelist()}
    except (zipfile.BadZipFile, zlib.error, OSError, NotImplementedError, EOFError, RuntimeError, ValueError):
        return body  # an earlier injury went deeper already
    hurt = dice.choice(sorted(parts))
    parts[hurt] = dice.choice(PLAIN)(parts[hurt], dice)
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as anew:
        for name, part in parts.items():
            anew.writestr(name, part)
    return out.getvalue()


QUOTES = insert(b'"', b"'", b'""', b'";"', b"\\", b",", b";", b"\t", b"\n", b"<", b"&", b"]]>", b"{", b"[")
ODD_SIGNS = insert(
    b"\x00", b"\x01", b"\x1a", b"\xff", b"\xc3", b"\xed\xa0\x80", b"\xf0\x9f\x9a\x9c", b"\xe2\x80\xae", b"\xef\xbf\xbf", b"\\ud800"
)
ENTITIES = insert(b'<!DOCTYPE a [<!ENTITY b "c">]>', b"&b;", b"<a>" * 3_000, b"[" * 3_000, b'{"a":' * 3_000, b"1" * 6_000)
PLAIN = [flip_bits, cut, cut_out, double_block, QUOTES, ODD_SIGNS, swap_figure, rename_heading]
INJURIES = [*PLAIN, other_encoding, other_line_ends, huge_field, many_columns, shuffle_lines, ENTITIES, inside_zip, inside_zip]


def injured(body: bytes, dice: random.Random) -> bytes:
    for _ in range(dice.choice([1, 1, 1, 2, 4])):
        body = dice.choice(INJURIES)(body, dice)[:3_000_000]
    return body


def seeds(form: str = "") -> list[tuple[str, bytes]]:
    """Valid files of each kind, of the floor and of the demo shop; of one form alone if that is asked."""
    return [(kind, body) for kind, body in _all_seeds() if form in ("", form_of(body))]


def form_of(body: bytes) -> str:
    """Return csv, xlsx, xml or json."""
    starts = {b"PK": "xlsx", b"<": "xml", b"{": "json", b"[": "json"}
    return next((form for start, form in starts.items() if body.removeprefix(b"\xef\xbb\xbf").startswith(start)), "csv")


def _all_seeds() -> list[tuple[str, bytes]]:
    from tests.shop.exchange.sheets_of_floor import LAB, SNAPSHOT, SNAPSHOT_AS_JSON, WIDE, as_csv, as_workbook, long_rows

    own = [
        ("readings", as_csv(long_rows())),
        ("readings", WIDE.encode()),
        ("readings", as_workbook(long_rows())),
        ("hours", SNAPSHOT.encode()),
        ("hours", SNAPSHOT_AS_JSON.encode()),
    ]
    own += [("samples", LAB.encode()), ("samples", as_workbook([line.split(",") for line in LAB.splitlines()]))]
    kinds = {"readings": "readings", "hours": "hours", "lab": "samples"}
    return own * 2 + [(kinds[path.name.split("_")[0]], path.read_bytes()) for path in sorted(FIXTURES.iterdir())]


def counted() -> dict[str, int]:
    from fleet.models import DriveTest, HourReading, LabValue, OilSample, Reading

    return {model.__name__: model.objects.count() for model in (DriveTest, HourReading, LabValue, OilSample, Reading)}


def run(files: int, seed: int, by, form: str = "", say=lambda done, tally: None) -> tuple[Counter, float]:
    """Injure and import; return the tally and the seconds of work that the slowest file took."""
    dice, tally, slowest, whole = random.Random(seed), Counter(), 0.0, seeds(form)
    before = counted()
    for done in range(1, files + 1):
        kind, body = dice.choice(whole)
        name, seconds = bring(kind, injured(body, dice), by, before)
        tally[name] += 1
        slowest = max(slowest, seconds)
        tally["slower than 2 s"] += seconds > SLOWEST_S
        if done % 500 == 0:
            say(done, tally)
    return tally, slowest


def bring(kind: str, body: bytes, by, before: dict[str, int]) -> tuple[str, float]:
    """Bring one file as the page does and take it back; return in words what happened, and the seconds of work."""
    from django.db import transaction

    from shop.exchange.kinds import KINDS
    from shop.exchange.plans import Choices
    from shop.refusals import Refused

    start, choices = time.process_time(), Choices(good_rows_only=True)
    with transaction.atomic():
        try:
            plan = KINDS[kind].plan(body, by, choices)
            made = KINDS[kind].record(by=by, plan=plan, reason="injured", choices=choices, token="") if plan.fresh else []
            name = verdict(kind, plan, made, before, counted())
        except Refused:
            name = "refused as a whole" if counted() == before else "PARTIAL WRITE"
        except Exception as trouble:  # what this script looks for
            name = f"UNCAUGHT {kind} {type(trouble).__name__}: {str(trouble)[:80]}"
            keep_culprit(body)
        transaction.set_rollback(True)
    spent = time.process_time() - start
    if spent > SLOWEST_S:
        keep_culprit(body)
    return name, spent


def verdict(kind: str, plan, made, before, after) -> str:
    """Say whether what was promised was written, and nothing else."""
    gained = {name: after[name] - before[name] for name in after}
    main = {"readings": "Reading", "hours": "HourReading", "samples": "OilSample"}[kind]
    new_samples = sum(row.sample is None for row in plan.fresh) if kind == "samples" else 0
    if gained[main] != (new_samples if kind == "samples" else len(plan.fresh)) or (not plan.fresh and any(gained.values())):
        return "PARTIAL WRITE"
    return f"{'some' if plan.refused else 'all'} rows taken" if plan.fresh else "every row refused or known"


def keep_culprit(body: bytes) -> None:
    folder = Path(tempfile.gettempdir()) / "injured"
    folder.mkdir(exist_ok=True)
    (folder / f"{abs(hash(body))}.bin").write_bytes(body)


def main() -> int:
    asked = argparse.ArgumentParser(description=__doc__)
    for form, usual in FILES.items():
        asked.add_argument(f"--{form}", type=int, default=usual, help=f"how many files of this form (usually {usual})")
    asked.add_argument("--seed", type=int, default=1)
    given = asked.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        os.environ |= {"SHOP_VAR": folder, "DJANGO_SETTINGS_MODULE": "shop.settings"}
        os.environ.pop("DATABASE_URL", None)
        by = laid_floor()
        well = [one_form(form, getattr(given, form), given.seed, by) for form in FILES]
    return 0 if all(well) else 1


def one_form(form: str, files: int, seed: int, by) -> bool:
    """Try so many files of one form and print what became of them; say whether all went well."""
    start, before_mb = time.time(), most_mb()
    tally, slowest = run(files, seed, by, form)
    gained_mb = most_mb() - before_mb
    print(f"{form}: {files} files, slowest {slowest:.2f} s, {gained_mb} MB more than before, {time.time() - start:.0f} s in all")
    for name, count in tally.most_common():
        print(f"{count:>7} {name}", flush=True)
    return not tally["slower than 2 s"] and gained_mb <= MOST_MB and not any(name.startswith(("UNCAUGHT", "PARTIAL")) for name in tally)


def most_mb() -> int:
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024


def laid_floor():
    """An empty book with the small floor and one sample that waits."""
    import django

    django.setup()
    import logging

    logging.disable(logging.CRITICAL)
    from django.contrib.auth import get_user_model
    from django.core.management import call_command

    from tests.floor import lay_floor

    call_command("migrate", verbosity=0)
    by = get_user_model().objects.create_user("tilde", first_name="Tilde", last_name="Invented")
    waiting_sample(lay_floor(by))
    return by


def waiting_sample(floor):
    from datetime import UTC, datetime

    from fleet.models import OilSample

    return OilSample.objects.create(label="LK-00001", machine=floor.machine, drawn_at=datetime(2026, 3, 12, 9, tzinfo=UTC))


if __name__ == "__main__":
    sys.exit(main())

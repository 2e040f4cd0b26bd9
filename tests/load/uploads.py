"""A hundred files sent at the same moment to the real server: large photos, sheets and papers. The server stays up, answers everybody, and keeps what it says.

Run: python tests/load/uploads.py [--files 100]

Every third is a photo of twenty million points, every third a sheet of readings, every third a paper of 9 MB. Meanwhile somebody asks for a page twice a second.
What was said to be kept must be on the shelf and in the book; the most memory that the server took is printed.
"""

import argparse
import http.client
import io
import random
import shutil
import signal
import sys
import threading
import time
from collections import Counter
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))
from tests.load import crowd  # noqa: E402  isort: skip  # first of all: it says where the shop lies

SIDE = (5_472, 3_648)
MB = 1024 * 1024
LONGEST_S = 600
Answer = tuple[str, int, float]


def photo() -> bytes:
    from PIL import Image

    out = io.BytesIO()
    Image.effect_noise((SIDE[0] // 8, SIDE[1] // 8), 60).resize(SIDE).convert("RGB").save(out, "JPEG", quality=88)
    return out.getvalue()


def sheet() -> bytes:
    from tests.shop.exchange.sheets_of_floor import as_csv, long_rows

    return as_csv(long_rows(100))


def multipart(fields: dict[str, str], name: str, field: str, body: bytes) -> tuple[bytes, str]:
    edge = "edge-of-a-part-7f3a"
    parts = [f'--{edge}\r\nContent-Disposition: form-data; name="{key}"\r\n\r\n{value}\r\n'.encode() for key, value in fields.items()]
    head = (
        f'--{edge}\r\nContent-Disposition: form-data; name="{field}"; filename="{name}"\r\nContent-Type: application/octet-stream\r\n\r\n'
    )
    return b"".join([*parts, head.encode(), body, f"\r\n--{edge}--\r\n".encode()]), f"multipart/form-data; boundary={edge}"


def kinds() -> list[tuple]:
    """What is sent: words, address, fields, name, field, body."""
    paper = b"%PDF-1.4\n" + random.Random(1).randbytes(9 * MB)
    return [
        ("photo", "/papers/machine/1/new/", {"kind": "photo"}, "a.jpg", "files", photo()),
        ("sheet", "/imports/", {"kind": "readings"}, "a.csv", "file", sheet()),
        ("paper", "/papers/machine/2/new/", {"kind": "other"}, "a.pdf", "files", paper),
    ]


def send(port: int, session: str, kind: tuple, gate: threading.Barrier, said: list[Answer]) -> None:
    words, address, fields, name, field, body = kind
    person = crowd.PersonAtABrowser(port, session, 0, crowd.Noted())
    person.line.timeout = LONGEST_S
    page = person.read(address)
    hidden = dict(crowd.re.findall(r'name="(token|csrfmiddlewaretoken)"[^>]*?value="([^"]*)"', page))
    sent, form = multipart(hidden | fields, name, field, body)
    headers = {"Cookie": "; ".join(f"{key}={value}" for key, value in person.cookies.items()), "Content-Type": form}
    gate.wait()
    begun = time.perf_counter()
    try:
        person.line.request("POST", address, sent, headers)
        status = person.line.getresponse().status
    except (OSError, http.client.HTTPException) as trouble:
        status = type(trouble).__name__
    said.append((words, status, time.perf_counter() - begun))


def look_meanwhile(port: int, session: str, ended: threading.Event, seen: list[tuple[int, float]]) -> None:
    person = crowd.PersonAtABrowser(port, session, 0, crowd.Noted())
    person.line.timeout = LONGEST_S
    while not ended.wait(0.5):
        begun = time.perf_counter()
        status, _ = person.ask("GET", "/machines/")
        seen.append((status, time.perf_counter() - begun))


def most_mb(pid: int) -> int:
    return int(next(line.split()[1] for line in Path(f"/proc/{pid}/status").read_text().splitlines() if line.startswith("VmHWM"))) // 1024


def report(files: int, sessions: list[str]) -> int:
    port, whole = crowd.free_port(), kinds()
    server = crowd.serve(port)
    said, seen, ended, gate = [], [], threading.Event(), threading.Barrier(files, timeout=LONGEST_S)
    senders = [threading.Thread(target=send, args=(port, sessions[k % len(sessions)], whole[k % 3], gate, said)) for k in range(files)]
    looker = threading.Thread(target=look_meanwhile, args=(port, sessions[0], ended, seen))
    before_mb = most_mb(server.pid)
    for thread in (*senders, looker):
        thread.start()
    for thread in senders:
        thread.join()
    ended.set()
    looker.join()
    is_up, peak_mb = server.poll() is None, most_mb(server.pid)
    server.send_signal(signal.SIGTERM)
    server.wait(60)
    return tell(files, said, seen, is_up, peak_mb, before_mb)


def tell(files: int, said: list[Answer], seen: list, is_up: bool, peak_mb: int, before_mb: int) -> int:
    from django.conf import settings

    from shop.models import ImportFile, Paper

    told, spent = Counter((words, status) for words, status, _ in said), [seconds for _, _, seconds in said]
    kept = Counter(words for words, status, _ in said if status == 302)
    named = set(Paper.objects.values_list("stored_name", flat=True)) | set(ImportFile.objects.values_list("stored_name", flat=True))
    on_shelf = {path.name for path in Path(settings.MEDIA_ROOT).iterdir()}
    print(
        f"{files} files at once: {dict(told)}; the slowest took {max(spent):.1f} s; server up {is_up}, most memory {peak_mb} MB, before {before_mb} MB"
    )
    print(
        f"rows: {Paper.objects.count()} papers, {ImportFile.objects.count()} sheets; files without a row {len(on_shelf - named)}, rows without a file {len(named - on_shelf)}"
    )
    print(
        f"pages meanwhile: {len(seen)}, answers {dict(Counter(status for status, _ in seen))}, p95 {crowd.share([t for _, t in seen], 0.95):.2f} s"
    )
    well = is_up and on_shelf == named and len(said) == files and all(status in (302, 422) for _, status, _ in said)
    well = well and Paper.objects.count() == kept["photo"] + kept["paper"] and ImportFile.objects.count() == kept["sheet"]
    return 0 if well and all(status == 200 for status, _ in seen) else 1


def main() -> int:
    words = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    words.add_argument("--files", type=int, default=100)
    asked = words.parse_args()
    crowd.os.environ["DATABASE_URL"] = f"sqlite:///{crowd.PLACE / 'var' / 'shop.sqlite3'}"
    try:
        return report(asked.files, crowd.lay_shop(8))
    finally:
        shutil.rmtree(crowd.PLACE, ignore_errors=True)


if __name__ == "__main__":
    sys.exit(main())

"""The server of several processes: all answer at one door, one that dies is replaced, and none outlives the first."""

import os
import signal
import socket
import subprocess
import sys
import time
from http.client import HTTPConnection
from pathlib import Path

import pytest

HOUSE = Path(__file__).parents[2]
SERVE = (
    "import django; django.setup(); from shop.serving import serve_site; serve_site(host='127.0.0.1', port={port}, threads=2, processes=2)"
)
pytestmark = pytest.mark.skipif(not hasattr(os, "fork"), reason="without fork there is one process")


@pytest.fixture
def server(tmp_path):
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    env = os.environ | {"SHOP_VAR": str(tmp_path), "DJANGO_SETTINGS_MODULE": "shop.settings", "SHOP_SECRET_KEY": "for this test alone " * 4}
    env.pop("DATABASE_URL", None)
    process = subprocess.Popen([sys.executable, "-c", SERVE.format(port=port)], cwd=HOUSE, env=env, stderr=subprocess.PIPE)
    process.port = port
    soon(lambda: answers(port))
    yield process
    process.kill()
    process.wait()
    process.stderr.close()


def answers(port: int) -> bool:
    try:
        asked = HTTPConnection("127.0.0.1", port, timeout=5)
        asked.request("GET", "/health/")
        return asked.getresponse().status > 0
    except OSError:
        return False


def children(pid: int) -> set[int]:
    return {int(path.parent.name) for path in Path("/proc").glob("[0-9]*/stat") if parent_of(path) == pid}


def parent_of(path: Path) -> int:
    try:
        state, parent = path.read_text().rsplit(")", 1)[1].split()[:2]
    except OSError:
        return 0
    return 0 if state == "Z" else int(parent)


def soon(holds, seconds: float = 20.0):
    ends = time.monotonic() + seconds
    while not holds():
        assert time.monotonic() < ends, "it did not come about in time"
        time.sleep(0.05)


@pytest.mark.skipif(not Path("/proc").exists(), reason="processes are looked up in /proc")
def test_a_process_that_dies_is_replaced_and_none_outlives_the_first(server):
    soon(lambda: len(children(server.pid)) == 2)
    before = children(server.pid)
    os.kill(min(before), signal.SIGKILL)
    soon(lambda: len(children(server.pid)) == 2 and children(server.pid) != before)
    assert answers(server.port)
    workers = children(server.pid)
    server.kill()
    soon(lambda: not any(Path(f"/proc/{pid}").exists() for pid in workers))
    assert not answers(server.port)
    assert b"started anew" in server.stderr.read()


def test_asked_to_stop_all_stop_at_once(server):
    server.send_signal(signal.SIGTERM)
    assert server.wait(timeout=20) == 0
    soon(lambda: not answers(server.port))

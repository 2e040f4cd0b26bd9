"""The server: how much it takes in at once, and how it refuses what never reaches the program."""

import logging
import os
import signal
import socket
from contextlib import suppress
from threading import Thread
from time import sleep

import waitress
from django.db import connections
from waitress.channel import HTTPChannel
from waitress.task import ErrorTask

from shop.middleware import POLICY

MOST_BODY = 48_000_000  # some photos of 10 MB at once
MOST_CONNECTIONS = 1_000  # a browser holds up to six open: some dozens of people must not shut each other out
log = logging.getLogger("shop.server")
SHUT = (
    ("Content-Security-Policy", POLICY),
    ("X-Content-Type-Options", "nosniff"),
    ("X-Frame-Options", "DENY"),
    ("Referrer-Policy", "same-origin"),
    ("Cache-Control", "private, no-store"),
)


class ShutErrorTask(ErrorTask):
    """A refusal of the server itself, with the same shut doors as every answer of the program."""

    def execute(self):
        self.response_headers.extend(SHUT)
        if self.request.error.code == 413:
            self.request.error.body = f"This is more than {MOST_BODY // 1_000_000} MB: nothing was kept. Send fewer files at once."
        super().execute()


def serve_site(*, host: str, port: int, threads: int = 8, processes: int = 1) -> None:
    """Answer requests until somebody stops it, by so many processes that share one door where the system can fork."""
    door = _door(host, port)
    if processes < 2 or not hasattr(os, "fork"):
        _answer(door, threads)
        return
    connections.close_all()
    alive, kept_open = os.pipe()
    workers = {_worker(door, threads, alive, kept_open) for _ in range(processes)}
    for number in (signal.SIGTERM, signal.SIGINT):
        signal.signal(number, _leave)
    try:
        while True:
            gone, _ = os.wait()
            log.error("a server process ended by itself and is started anew")
            sleep(1)  # one that cannot start at all must not keep the machine busy
            workers = workers - {gone} | {_worker(door, threads, alive, kept_open)}
    finally:
        for pid in workers:
            with suppress(ProcessLookupError):
                os.kill(pid, signal.SIGTERM)


def _door(host: str, port: int) -> socket.socket:
    """Return a socket bound to the address, which every process listens at."""
    family, kind, protocol, _, address = socket.getaddrinfo(host, port, type=socket.SOCK_STREAM, flags=socket.AI_PASSIVE)[0]
    door = socket.socket(family, kind, protocol)
    if os.name == "posix":
        door.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    door.bind(address)
    door.set_inheritable(True)
    return door


def _worker(door: socket.socket, threads: int, alive: int, kept_open: int) -> int:
    """Start a process that answers until it is told to stop or the first process is no more; return its number."""
    pid = os.fork()
    if pid:
        return pid
    os.close(kept_open)
    for number in (signal.SIGTERM, signal.SIGINT):
        signal.signal(number, signal.SIG_DFL)
    Thread(target=_end_with_the_first, args=(alive,), daemon=True).start()
    try:
        _answer(door, threads)
    finally:
        os._exit(1)


def _end_with_the_first(alive: int) -> None:
    os.read(alive, 1)  # returns when nobody holds the other end any more
    os._exit(0)


def _leave(number, frame) -> None:
    raise SystemExit(0)


def _answer(door: socket.socket, threads: int) -> None:
    from shop.wsgi import application

    HTTPChannel.error_task_class = ShutErrorTask
    waitress.serve(
        application,
        sockets=[door],
        threads=threads,
        ident=None,
        max_request_body_size=MOST_BODY,
        connection_limit=MOST_CONNECTIONS,
        asyncore_use_poll=True,
        clear_untrusted_proxy_headers=False,
    )

"""The server: how much it takes in at once, and how it refuses what never reaches the program."""

import waitress
from waitress.channel import HTTPChannel
from waitress.task import ErrorTask

from shop.middleware import POLICY

MOST_BODY = 48_000_000  # some photos of 10 MB at once
MOST_CONNECTIONS = 1_000  # a browser holds up to six open: some dozens of people must not shut each other out
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


def serve_site(*, host: str, port: int, threads: int = 8) -> None:
    """Answer requests until somebody stops it."""
    from shop.wsgi import application

    HTTPChannel.error_task_class = ShutErrorTask
    waitress.serve(
        application,
        host=host,
        port=port,
        threads=threads,
        ident=None,
        max_request_body_size=MOST_BODY,
        connection_limit=MOST_CONNECTIONS,
        asyncore_use_poll=True,
        clear_untrusted_proxy_headers=False,
    )

"""A real browser on a real server. Whatever the page asks of another host, or says on its console, is kept and must stay empty."""

import os
import shutil
import sqlite3
from contextlib import closing
from datetime import date
from pathlib import Path

import pytest
from django.core.management import call_command
from django.db import connection

from fleet.assess import assess_all
from fleet.models import Reading
from shop.advice.review import review_shop
from shop.demo.fill import fill

CHROMIUM = os.environ.get("CHROMIUM") or shutil.which("chromium-headless-shell") or shutil.which("chromium")
QUIET = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]
SCREENS = Path(__file__).resolve().parents[2] / "screens"
SIZES = {"desk": {"width": 1280, "height": 900}, "phone": {"width": 390, "height": 844}}


def pytest_collection_modifyitems(items):
    """Without a browser these tests are skipped and say so; where CI is set they must run."""
    if CHROMIUM or os.environ.get("CI"):
        return
    for item in items:
        if Path(__file__).parent in Path(item.fspath).parents:
            item.add_marker(pytest.mark.skip(reason="no Chromium on this machine: install chromium-headless-shell or set CHROMIUM"))


@pytest.fixture(scope="session")
def browser_type_launch_args():
    return {"executable_path": CHROMIUM, "args": QUIET}


@pytest.fixture(scope="session", autouse=True)
def queries_beside_the_browser_loop():
    """Playwright's plain calls run an event loop of their own; the tests' own queries beside it are meant."""
    os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "true"


@pytest.fixture
def complaints(page, live_server):
    """What the browser complained of, and every request to another host."""
    found = []
    page.on("console", lambda message: found.append(message.text) if message.type in ("error", "warning") else None)
    page.on("pageerror", lambda error: found.append(str(error)))
    page.on(
        "request", lambda request: found.append(request.url) if not request.url.startswith((live_server.url, "data:", "blob:")) else None
    )
    return found


@pytest.fixture
def sign_in(page, live_server, client):
    """Sign somebody in by cookie; give back a function that opens an address."""

    def signed(user):
        client.force_login(user)
        page.context.add_cookies([{"name": "sessionid", "value": client.cookies["sessionid"].value, "url": live_server.url}])
        return lambda path: page.goto(f"{live_server.url}{path}")

    return signed


@pytest.fixture
def snap(page):
    """Keep a picture of the page at desk and phone size, and say whether anything runs out of the side."""

    def take(name: str) -> None:
        SCREENS.mkdir(exist_ok=True)
        for size, viewport in SIZES.items():
            page.set_viewport_size(viewport)
            wide = page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")
            page.screenshot(path=SCREENS / f"{name}-{size}.png", full_page=True)
            assert wide <= 0, f"{name} runs {wide} px out of the side at {size} size"
        page.set_viewport_size(SIZES["desk"])

    return take


@pytest.fixture(scope="session")
def kept_demo(tmp_path_factory) -> Path:
    """Where the filled shop is kept as a database of its own, once there is one."""
    return tmp_path_factory.mktemp("demo") / "shop.sqlite3"


@pytest.fixture
def demo_shop(transactional_db, kept_demo):
    """The invented shop, filled as the demo fills it; on SQLite once, and copied for every further test."""
    if kept_demo.exists():
        connection.ensure_connection()
        with closing(sqlite3.connect(kept_demo)) as kept:
            kept.backup(connection.connection)
        return
    call_command("flush", interactive=False, verbosity=0)  # numbers begin at one, whichever tests came before
    fill(date.today())
    assess_all(Reading.objects.all())
    review_shop()
    if connection.vendor == "sqlite":
        with closing(sqlite3.connect(kept_demo)) as kept:
            connection.connection.backup(kept)

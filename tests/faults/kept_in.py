"""Where the shop lies whose work is cut short: a file, or a database of a server. Import this before anything of the program."""

import os
import shutil
import sqlite3
import tempfile
import time
from pathlib import Path

PLACE = Path(tempfile.mkdtemp(prefix="killed-"))
VAR, TEMPLATE = PLACE / "var", PLACE / "template"
SERVER = os.environ.get("FAULTS_DATABASE_URL", "")
OWN, OWN_TEMPLATE = f"killed_{os.getpid()}", f"killed_{os.getpid()}_template"


def address(name: str) -> str:
    return f"{SERVER.rpartition('/')[0]}/{name}"


os.environ |= {
    "SHOP_VAR": str(VAR),
    "DATABASE_URL": address(OWN) if SERVER else f"sqlite:///{VAR / 'shop.sqlite3'}",
    "SHOP_SECRET_KEY": "for this run alone, thrown away with its folder " * 2,
    "DJANGO_SETTINGS_MODULE": "shop.settings",
}


class Book:
    """A shop in a file: laid out anew from its template before each try."""

    name, on_a_server = "sqlite", False
    was_writing = False

    def make_empty(self) -> None:
        for folder in (VAR, TEMPLATE):
            shutil.rmtree(folder, ignore_errors=True)
        VAR.mkdir(parents=True)

    def keep_as_template(self) -> None:
        base = sqlite3.connect(VAR / "shop.sqlite3")
        base.execute("PRAGMA wal_checkpoint(TRUNCATE)")
        base.close()
        shutil.copytree(VAR, TEMPLATE)

    def lay_out(self) -> None:
        shutil.rmtree(VAR, ignore_errors=True)
        shutil.copytree(TEMPLATE, VAR)

    def watch(self) -> None:
        """See, right before the work is killed, whether a transaction has written already; a file does not tell."""

    def looked_at(self):
        """Open the database as the next start would; return what is in it."""
        base = sqlite3.connect(VAR / "shop.sqlite3")
        broken = [] if base.execute("PRAGMA integrity_check").fetchone() == ("ok",) else ["integrity"]
        broken += ["foreign keys"] if base.execute("PRAGMA foreign_key_check").fetchall() else []
        tables = base.execute("SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'sqlite_%'").fetchall()
        found = _found(base, broken, tables)
        base.close()
        return found

    def clear_away(self) -> None:
        """Nothing lies outside the folder."""


class BookOnAServer(Book):
    """A shop in a database of PostgreSQL, copied from its template before each try; the folder holds papers alone."""

    name, on_a_server = "postgresql", True

    def make_empty(self) -> None:
        super().make_empty()
        self._anew(OWN)

    def keep_as_template(self) -> None:
        self._alone(OWN)
        self._anew(OWN_TEMPLATE, OWN)
        shutil.copytree(VAR, TEMPLATE)

    def lay_out(self) -> None:
        super().lay_out()
        self._anew(OWN, OWN_TEMPLATE)

    def watch(self) -> None:
        """A transaction has a number of its own from its first row written on."""
        writing = "SELECT count(*) FROM pg_stat_activity WHERE datname = %s AND backend_xid IS NOT NULL"
        with self._beside() as base:
            self.was_writing = base.execute(writing, [OWN]).fetchone()[0] > 0

    def looked_at(self):
        import psycopg

        self._alone(OWN)
        with psycopg.connect(address(OWN)) as base:
            tables = base.execute("SELECT tablename FROM pg_tables WHERE schemaname = 'public'").fetchall()
            return _found(base, [], tables)

    def clear_away(self) -> None:
        with self._beside() as base:
            for name in (OWN, OWN_TEMPLATE):
                base.execute(f"DROP DATABASE IF EXISTS {name} WITH (FORCE)")

    def _beside(self):
        import psycopg

        return psycopg.connect(SERVER, autocommit=True)

    def _anew(self, name: str, template: str = "template0") -> None:
        with self._beside() as base:
            base.execute(f"DROP DATABASE IF EXISTS {name} WITH (FORCE)")
            base.execute(f"CREATE DATABASE {name} TEMPLATE {template}")

    def _alone(self, name: str) -> None:
        """Wait until the server has noticed that the client is gone and has ended its work for it."""
        with self._beside() as base:
            for _ in range(2000):
                if not base.execute("SELECT count(*) FROM pg_stat_activity WHERE datname = %s", [name]).fetchone()[0]:
                    return
                time.sleep(0.005)
        raise SystemExit("the server still works for a client that was killed ten seconds ago")


def _found(base, broken: list[str], tables: list[tuple]):
    from tests.faults import jobs

    counts = {name: base.execute(f'SELECT count(*) FROM "{name}"').fetchone()[0] for (name,) in tables}
    if jobs.breaks_of_chain(base):
        broken.append("chain of the change record")
    papers = [name for (name,) in base.execute("SELECT stored_name FROM shop_paper").fetchall()] if "shop_paper" in counts else []
    return jobs.Found(broken, counts, papers)


def book_asked_for() -> Book:
    return BookOnAServer() if SERVER else Book()

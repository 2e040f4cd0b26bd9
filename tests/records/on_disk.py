"""Commands run as a person would, on a shop in a folder of its own, whatever database the tests themselves use."""

import os
import subprocess
import sys
from pathlib import Path

HOUSE = Path(__file__).resolve().parents[2]


def place_of(var: Path) -> dict[str, str]:
    return {"DATABASE_URL": f"sqlite:///{var / 'shop.sqlite3'}", "SHOP_VAR": str(var)}


def run(var: Path, *words: str, **more) -> subprocess.CompletedProcess:
    command = [sys.executable, "manage.py", *words]
    return subprocess.run(command, cwd=HOUSE, env=os.environ | place_of(var) | more, capture_output=True, text=True, timeout=300)

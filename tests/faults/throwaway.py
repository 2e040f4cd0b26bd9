"""A shop in a folder of its own, thrown away afterwards; import this before anything of the program."""

import atexit
import logging
import os
import shutil
import sys
import tempfile
from pathlib import Path

HOUSE = Path(__file__).parents[2]
sys.path.insert(0, str(HOUSE))
PLACE = Path(tempfile.mkdtemp(prefix="throwaway-"))
atexit.register(shutil.rmtree, PLACE, ignore_errors=True)
os.environ |= {
    "SHOP_VAR": str(PLACE),
    "SHOP_SECRET_KEY": "for this run alone, thrown away with its folder " * 2,
    "DJANGO_SETTINGS_MODULE": "shop.settings",
    "DATABASE_URL": os.environ.get("FAULTS_DATABASE_URL", f"sqlite:///{PLACE / 'shop.sqlite3'}"),
}

import django  # noqa: E402

django.setup()
logging.disable(logging.WARNING)


def lay_shop():
    """Migrate the empty database and lay a small shop in it; return the shop and its manager."""
    from django.core.management import call_command

    from shop.people.actions import add_person
    from tests.floor import lay_floor

    call_command("migrate", verbosity=0)
    chief = add_person(by=None, username="chief", password="a long shop password", roles=["manager"])
    return lay_floor(chief), chief

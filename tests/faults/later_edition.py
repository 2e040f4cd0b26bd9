"""A made-up later edition, so that an upgrade can be tried while the program has one edition only: a column, an index and a limit on readings, then rows moved.

The migrations of the program are copied into a folder beside two that follow them; only whoever is inside `later_edition` sees those.
"""

import shutil
import sys
from contextlib import contextmanager
from pathlib import Path

from django.test import override_settings

import fleet.migrations

NAME = "later_fleet_migrations"
HEAD = "from django.db import migrations, models\n\n\n"
COLUMNS = f"""{HEAD}class Migration(migrations.Migration):
    dependencies = [("fleet", "{{last}}")]
    operations = [
        migrations.AddField("reading", "made_up", models.CharField(max_length=40, default="", db_default="")),
        migrations.AddIndex("reading", models.Index(fields=["made_up"], name="made_up_index")),
        migrations.AddConstraint("reading", models.CheckConstraint(condition=~models.Q(made_up="never"), name="made_up_limit")),
    ]
"""
ROWS = f"""{HEAD}def move(apps, schema_editor):
    reading, customer, paper = (
        apps.get_model("fleet", name).objects.using(schema_editor.connection.alias) for name in ("Reading", "Customer", "Document")
    )
    reading.update(made_up=models.F("quantity"))
    numbers = customer.values_list("number", flat=True)
    paper.bulk_create(paper.model(title=f"Paper of {{number}}", number=number, revision="made up") for number in numbers)


class Migration(migrations.Migration):
    dependencies = [("fleet", "9001_columns")]
    operations = [migrations.RunPython(move)]
"""


@contextmanager
def later_edition(folder: Path):
    """Let the program find the two further migrations."""
    own, place = Path(fleet.migrations.__file__).parent, folder / NAME
    if not place.exists():
        place.mkdir(parents=True)
        for path in own.glob("*.py"):
            shutil.copy(path, place)
        last = max(path.stem for path in own.glob("[0-9]*.py"))
        (place / "9001_columns.py").write_text(COLUMNS.replace("{last}", last))
        (place / "9002_rows.py").write_text(ROWS)
    sys.path.insert(0, str(folder))
    try:
        with override_settings(MIGRATION_MODULES={"fleet": NAME}):
            yield
    finally:
        sys.path.remove(str(folder))

"""Fluids, tasks, skills and severity factors, read from `fixtures/reference.json`."""

import json
from functools import cache

from django.conf import settings

from fleet.models import FluidProduct
from shop.demo.book import Book
from shop.models import ServiceTask, SeverityFactor, Skill

NO_SOURCE = "common practice, no source; a shop figure"


@cache
def reference() -> dict:
    return json.loads((settings.BASE_DIR / "fixtures" / "reference.json").read_text(encoding="utf-8"))


def load_reference(book: Book) -> None:
    """Make the rows that any shop begins with."""
    for row in reference()["fluids"]:
        figures = {name: value for name, value in row.items() if name != "additives_ppm"}
        book.fluids[row["name"]] = FluidProduct.objects.create(**figures)
        book.additives[row["name"]] = row["additives_ppm"]
    book.skills = {row["code"]: Skill.objects.create(**row) for row in reference()["skills"]}
    SeverityFactor.objects.bulk_create(SeverityFactor(**row, source=NO_SOURCE) for row in reference()["severity_factors"])
    for row in reference()["tasks"]:
        book.tasks[row["code"]] = ServiceTask.objects.create(**{**row, "skill": book.skills.get(row["skill"])})

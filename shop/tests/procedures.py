"""Test procedures: put on record from the fixture, the version in force of each, and which of them apply to a drive."""

from __future__ import annotations

import json
from datetime import datetime
from functools import cache

from django.conf import settings
from django.db.models import F, Window
from django.db.models.functions import RowNumber
from django.utils import timezone

from fleet.models import DriveModel
from shop.models import Procedure

NEEDS = {  # what applies_if may ask of a drive model, and how it is said where the model has not got it
    "charge": (lambda model: bool(model.charge_displacement_cc or model.charge_relief_bar), "no charge figure is on record"),
    "relief": (lambda model: bool(model.relief_forward_bar or model.relief_reverse_bar), "no relief setting is on record"),
    "flushing": (lambda model: bool(model.flushing_flow_lpm), "the model has no loop flushing"),
    "variable_motor": (lambda model: model.motor_displacement_min_cc < model.motor_displacement_max_cc, "the motor is fixed"),
    "dual": (lambda model: model.is_dual, "there is one loop only"),
    "brake_release": (lambda model: model.has_brake_release, "no brake is released by charge oil"),
    "separate_drains": (lambda model: model.drains == DriveModel.Drains.SEPARATE, "the drains run in series"),
}
WORDS = {
    "charge": "charge figures",
    "relief": "relief settings",
    "flushing": "loop flushing",
    "variable_motor": "a variable motor",
    "dual": "two loops",
    "brake_release": "a brake released by charge oil",
    "separate_drains": "drains plumbed apart",
}


@cache
def written_procedures() -> list[dict]:
    return json.loads((settings.BASE_DIR / "fixtures" / "procedures.json").read_text(encoding="utf-8"))


def load_procedures(made_at: datetime | None = None) -> int:
    """Put the procedures of the fixture on record; those that are there already, in any version, are left as they are."""
    there = set(Procedure.objects.values_list("code", flat=True))
    fresh = [Procedure(**row, made_at=made_at or timezone.now()) for row in written_procedures() if row["code"] not in there]
    for procedure in fresh:
        procedure.save()
    return len(fresh)


def in_force():
    """Return the latest version of each procedure, in the order of walking."""
    newest = Window(RowNumber(), partition_by=[F("code")], order_by=F("version").desc())
    latest = Procedure.objects.annotate(place=newest).filter(place=1)
    return Procedure.objects.filter(pk__in=latest.values("pk")).order_by("walk_order", "code")


def why_not(asked: dict, model: DriveModel) -> str:
    """Return why something does not apply to a drive model; empty where it does."""
    missing = [NEEDS[name][1] for name, wanted in asked.items() if wanted and name in NEEDS and not NEEDS[name][0](model)]
    return "; ".join(missing)


def needs_words(asked: dict) -> str:
    """Return what a procedure asks of a drive model, in words."""
    return ", ".join(WORDS[name] for name, wanted in asked.items() if wanted and name in WORDS)

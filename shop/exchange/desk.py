"""The desk where files wait: kept with their hash, looked at, shown, then written or thrown away. Large ones are worked on beside the page."""

from __future__ import annotations

import hashlib
import json
import logging
import threading
from collections.abc import Callable
from datetime import timedelta

from django.db import connection
from django.utils import timezone

from fleet.models import DriveTest, Reading
from shop.exchange.actions import judge_imported
from shop.exchange.kinds import KINDS
from shop.exchange.limits import MOST_BYTES
from shop.exchange.plans import Choices, Overtaken, Plan
from shop.models import ImportFile
from shop.papers.checks import shown_name
from shop.papers.quota import refuse_over_quota
from shop.papers.shelf import put_away, take_out, throw_away
from shop.refusals import Refused

log = logging.getLogger("shop.exchange")
SMALL_BYTES = 60_000  # up to here a file is looked at while the person waits
WAITS_DAYS = 2
STILL_SECONDS = 120
SHOWN_ROWS = 12
SHOWN_DRIVES = 60
MOST_WAITING = 20
BROKEN = (
    "The work on this file stopped before its end, nothing of it was written. Look at it once more; if it stops again, tell the manager."
)
CHANGED = "The book has changed since this file was looked at: look at what is said now, then write it."


def take_in(*, by, upload, kind: str, choices: Choices) -> ImportFile:
    """Keep an uploaded file on the shelf and look at it; nothing is written to the book."""
    if upload.size > MOST_BYTES:
        raise Refused(
            f"“{shown_name(upload.name)}” has {upload.size / 1048576:.1f} MB; up to {MOST_BYTES // 1048576} MB are read. Split it."
        )
    clear_old()
    if ImportFile.objects.filter(brought_by=by, written_at=None).count() >= MOST_WAITING:
        raise Refused(f"{MOST_WAITING} files of yours wait already: write them or throw them away first.")
    refuse_over_quota(by, upload.size)
    stored_name, sha256 = put_away(upload.read(MOST_BYTES + 1), ".sheet")
    file = ImportFile.objects.create(
        kind=kind,
        name=shown_name(upload.name) or "file",
        stored_name=stored_name,
        sha256=sha256,
        size_bytes=upload.size,
        choices=vars(choices),
        brought_by=by,
    )
    work_on(file, look)
    return file


def clear_old() -> None:
    """Throw away files that nobody wrote for two days."""
    for file in ImportFile.objects.filter(written_at=None, moved_at__lt=timezone.now() - timedelta(days=WAITS_DAYS)):
        throw_file_away(file)


def throw_file_away(file: ImportFile) -> None:
    """Throw a file away of which nothing was written."""
    if file.written_at is None and file.stage not in (ImportFile.Stage.WRITING, ImportFile.Stage.JUDGING):
        throw_away(file.stored_name)
        file.delete()


def work_on(file: ImportFile, work: Callable[[ImportFile], None]) -> None:
    """Do the work at once on a small file, beside the page on a large one."""
    if file.size_bytes <= SMALL_BYTES:
        carefully(file, work)
        return
    threading.Thread(target=_beside, args=(file, work), daemon=True, name=f"import-{file.pk}").start()


def _beside(file: ImportFile, work) -> None:
    try:
        carefully(file, work)
    finally:
        connection.close()


def carefully(file: ImportFile, work) -> None:
    """Do the work; what is refused is said, what goes wrong is logged and never half kept."""
    try:
        work(file)
    except Refused as refusal:
        move(file, ImportFile.Stage.REFUSED, words=" ".join(refusal.sentences))
    except Exception:
        log.exception("import %s stopped", file.pk)
        is_written = file.stage == ImportFile.Stage.JUDGING
        move(file, ImportFile.Stage.DONE if is_written else ImportFile.Stage.STOPPED, words="" if is_written else BROKEN)


def move(file: ImportFile, stage: str, **fields) -> None:
    """Move a file on to its next stage."""
    for name, value in {"stage": stage, **fields}.items():
        setattr(file, name, value)
    file.save()


def progress(file: ImportFile) -> Callable[[int, int], None]:
    """Return a way to say how far the work is."""

    def say(done: int, of: int) -> None:
        ImportFile.objects.filter(pk=file.pk).update(rows_done=done, rows_total=of, moved_at=timezone.now())

    return say


def look(file: ImportFile) -> None:
    """Look at a file and keep what was found."""
    move(file, ImportFile.Stage.LOOKING, words="", rows_done=0)
    plan = plan_of(file)
    move(file, ImportFile.Stage.LOOKED, found=found_in(plan, file), rows_done=plan.rows, rows_total=plan.rows)


def plan_of(file: ImportFile) -> Plan:
    """Return what the kept file would do, now."""
    return KINDS[file.kind].plan(body_of(file), file.brought_by, Choices(**file.choices), progress(file))


def body_of(file: ImportFile) -> bytes:
    file.recorded_at = file.brought_at  # what the shelf says of a damaged file
    return take_out(file)


def found_in(plan: Plan, file: ImportFile) -> dict:
    """Return what a plan says, as it is kept and shown."""
    kind = KINDS[file.kind]
    lines = {str(line): cells for line, cells in plan.cells.items()}
    found = {
        "fresh": len(plan.fresh),
        "amended": len(plan.amended),
        "known": plan.known,
        "doubles": plan.doubles,
        "rows": plan.rows,
        "refused": [refusal.row() for refusal in plan.refused],
        "refused_rows": len(plan.refused_lines),
        "notes": plan.notes,
        "columns": plan.columns,
        "unknown": plan.unknown,
        "heading": plan.heading,
        "cells": lines,
        "shown": [kind.shown(row) for row in plan.fresh[:SHOWN_ROWS]],
        "drives": sorted({(row.unit.pk, row.unit.tag) for row in plan.fresh if hasattr(row, "unit")}, key=lambda pair: pair[1])[
            :SHOWN_DRIVES
        ],
        "put_right": [kind.shown(row) for _, row in plan.amended[:SHOWN_ROWS]],
    }
    told = [found[name] for name in ("amended", "known", "refused")] + [row.key for row in plan.fresh]
    return found | {"digest": hashlib.sha256(json.dumps(told, default=str).encode()).hexdigest()}


def write(file: ImportFile, by) -> None:
    """Write what a file holds to the book; if the book has changed so that it now means something else, show it anew instead."""
    plan, kind = plan_of(file), KINDS[file.kind]
    found = found_in(plan, file)
    if found["digest"] != file.found.get("digest"):
        move(file, ImportFile.Stage.LOOKED, found=found, words=CHANGED)
        return
    if plan.refused and not file.choices.get("good_rows_only"):
        raise Refused("Rows are refused, so nothing was written: put them right, or say that the good rows alone are to be written.")
    reason = f"{file.name[:150]}, SHA-256 {file.sha256}"
    token = f"import-{file.pk}-{found['digest'][:16]}"
    try:
        made = kind.record(by=by, plan=plan, reason=reason, choices=Choices(**file.choices), token=token)
    except Overtaken:
        move(file, ImportFile.Stage.LOOKED, found=found_in(plan_of(file), file), words=CHANGED)
        return
    move(file, ImportFile.Stage.JUDGING, written_at=timezone.now(), rows_done=0, rows_total=len(made), words="")
    kind.judge(made, progress(file))
    move(file, ImportFile.Stage.DONE)


def judge_rest(file: ImportFile) -> None:
    """Judge what was written and not judged, where the work on a file stopped in between."""
    left = Reading.objects.standing().filter(assessments=None).values("drive_test")
    judge_imported(list(DriveTest.objects.filter(pk__in=left).select_related("unit")), progress(file))
    move(file, ImportFile.Stage.DONE)


def has_stopped(file: ImportFile) -> bool:
    """Say whether work on a file has stood still for so long that nobody is at it any more."""
    return file.is_moving and timezone.now() - file.moved_at > timedelta(seconds=STILL_SECONDS)

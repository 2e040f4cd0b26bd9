"""What the page of an open test sends, read: marks as a list, or the whole page; and what it is answered."""

from __future__ import annotations

import json
import secrets
from datetime import datetime, timedelta

from django.template.loader import render_to_string
from django.utils import timezone
from django.utils.dateparse import parse_datetime

from shop.refusals import Refused
from shop.tests.lines import StepReading
from shop.tests.live import live_of
from shop.tests.marks import MOST_AT_ONCE, MOST_SIGNS, Mark, split_name, standing
from shop.tests.sheet import OpenSheet

NOT_READ = "What was sent could not be read; nothing was written."


def marks_sent(body: bytes) -> list[Mark]:
    """Return the marks of a request. The tablet's clock may be off: it says what it shows now, and times are set right by that."""
    try:
        sent = json.loads(body)
        rows, off = sent["marks"], clock_error(sent.get("now"))
        if len(rows) > MOST_AT_ONCE:
            raise Refused(f"{len(rows)} entries came at once; at most {MOST_AT_ONCE} are taken.")
        return [mark_of(row, off) for row in rows]
    except (ValueError, KeyError, TypeError, AttributeError, RecursionError) as refusal:
        raise Refused(NOT_READ) from refusal


def clock_error(now: str | None) -> timedelta:
    shown = moment(now)
    return timezone.now() - shown if shown else timedelta(0)


def moment(text) -> datetime | None:
    found = parse_datetime(text) if isinstance(text, str) else None
    return found if found is None or timezone.is_aware(found) else timezone.make_aware(found)


def mark_of(row: dict, off: timedelta) -> Mark:
    key, name, value = row["key"], row["name"], row["value"]
    if not all(isinstance(part, str) for part in (key, name, value)) or not 8 <= len(key) <= 64:
        raise ValueError("key, name and value must be words")
    if len(value) > MOST_SIGNS:
        raise Refused(f"{len(value)} signs stand in one field; {MOST_SIGNS} can be kept.")
    made_at = moment(row.get("made_at"))
    return Mark(key, *split_name(name), value.replace("\x00", ""), made_at + off if made_at else None)


def marks_of_page(sheet: OpenSheet, sent) -> list[Mark]:
    """Return a mark for every field that somebody changed on this page: not as it was when the page was made, nor as it stands now."""
    found, seen = [], standing(sheet.test, _whole(sent.get("seen")))
    for name in sorted(sheet.known):
        before, now = sheet.values.get(name, ""), sent.get(name)
        if now is None and not name.endswith("-as_read"):
            continue
        now = (now or "")[:MOST_SIGNS].replace("\x00", "")
        if now not in (before, seen.get(name, "")) and not is_untouched_unit(sheet, name, sent):
            found.append(Mark(secrets.token_urlsafe(24), *split_name(name), now))
    return found


def _whole(text) -> int | None:
    return int(text) if isinstance(text, str) and text.isdecimal() and len(text) < 18 else None


def is_untouched_unit(sheet: OpenSheet, name: str, sent) -> bool:
    """Say whether this is the unit of a figure that nobody wrote: a picker always says something."""
    if name.endswith("_unit"):
        figure = name.removesuffix("_unit")
        return not sent.get(figure) and not sheet.values.get(figure)
    if name.endswith(("-port", "-stability")):
        figure = f"{name.rsplit('-', 1)[0]}-value"
        return not sent.get(figure) and not sheet.values.get(figure)
    return False


def live_answer(sheet: OpenSheet) -> dict:
    """Return what stands beside every blank now, ready for the page."""
    lines = {key: line for key, line in sheet.lines.items() if isinstance(line.form, StepReading)}
    lives = {key: live_of(sheet, line) for key, line in lines.items()}
    return {
        "beside": {key: render_to_string("shop/tests/_live.html", {"live": live}).strip() for key, live in lives.items()},
        "asks": [key for key, live in lives.items() if live.asks],
    }

"""Change entries as people read them: who, when, what was there before and after, and why."""

import json
from dataclasses import dataclass
from datetime import datetime

from django.apps import apps
from django.utils import timezone

from shop.models import Act, ChangeEntry

UNTOLD = {"version", "search_text", "serial_key", "recorded_at"}


@dataclass(frozen=True)
class FieldChange:
    name: str
    old: str
    new: str


@dataclass(frozen=True)
class ChangeRow:
    number: int
    at: str
    who: str
    act: str
    reason: str
    kind: str
    what: str
    fields: tuple[FieldChange, ...]


def change_rows(entries) -> list[ChangeRow]:
    """Return entries as rows; two queries, however many entries."""
    entries = list(entries)
    acts = Act.objects.select_related("by").in_bulk({entry.act_id for entry in entries if entry.act_id})
    models = {model._meta.db_table: model for model in apps.get_models(include_auto_created=True)}
    return [_row(entry, acts.get(entry.act_id), models.get(entry.table)) for entry in entries]


def last_change(record) -> ChangeRow | None:
    """Return who wrote a record last, and when."""
    return next(iter(change_rows(ChangeEntry.objects.of(record)[:1])), None)


def meanwhile_words(record) -> str:
    """Return the one sentence for who comes second: who changed the record, when, and that nothing was written."""
    last = last_change(record) if record is not None and record.pk else None
    who = f"{last.who} changed “{record}” on {last.at}" if last else f"Somebody else changed “{record}”"
    return f"{who}, after you opened it, so nothing was written. Look at it as it stands now, and do it again if it still holds."


def _row(entry: ChangeEntry, act, model) -> ChangeRow:
    who = (act.by.get_full_name() or act.by.get_username()) if act and act.by else "the system"
    noun = str(model._meta.verbose_name) if model else entry.table
    return ChangeRow(
        number=entry.pk,
        at=f"{timezone.localtime(datetime.fromisoformat(entry.at)):%-d %b %Y, %H:%M:%S}",
        who=who,
        act=act.name if act else "written outside the pages",
        reason=act.reason if act else "",
        kind=entry.get_kind_display(),
        what=f"{noun} {entry.row}",
        fields=_fields(entry, model),
    )


def _fields(entry: ChangeEntry, model) -> tuple[FieldChange, ...]:
    old, new = json.loads(entry.old or "{}"), json.loads(entry.new or "{}")
    words = {f.column: str(f.verbose_name) for f in model._meta.local_concrete_fields} if model else {}
    names = [name for name in (new or old) if name not in UNTOLD and old.get(name) != new.get(name)]
    return tuple(FieldChange(words.get(name, name), _told(old.get(name)), _told(new.get(name))) for name in names)


def _told(value) -> str:
    if value in (None, "", [], {}):
        return "–"
    text = value if isinstance(value, str) else json.dumps(value, ensure_ascii=False)
    return text if len(text) <= 200 else f"{text[:200]}…"

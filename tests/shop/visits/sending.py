"""What a browser would send for a visit: the lines of the page as it is shown, with some of them filled in."""

from shop.visits.forms import VisitSheet


def sent_for(machine, by, readings=(), fills=(), tasks=(), findings=(), **once):
    """Return the fields of the whole page. A reading is a dict with its own line's fields; it goes to the line of that quantity."""
    sheet = VisitSheet(machine, by)
    sent = {"visited_at": "2026-03-09T10:00", "visited_by": by.pk, "meter_h": "1215.5", "token": "page-1", "test_moment": "alone"}
    for lines in sheet.lines.values():
        sent |= {f"{lines.prefix}-TOTAL_FORMS": len(lines.forms), f"{lines.prefix}-INITIAL_FORMS": len(lines.forms)}
        for line in lines.forms:
            sent |= {line.add_prefix(name): value for name, value in line.initial.items() if value}
    sent |= counted_lines(sent, "fill", fills) | counted_lines(sent, "finding", findings)
    for fields in readings:
        sent |= on_line("reading", place_of(sheet, fields), fields)
    for fields in tasks:
        keys = [line.initial["key"].split("-")[0] for line in sheet.tasks.forms]
        given = {name: value for name, value in fields.items() if name != "task"}
        sent |= on_line("task", keys.index(str(fields["task"].pk)), given)
    return sent | once


def on_line(prefix: str, place: int, fields: dict) -> dict:
    return {f"{prefix}-{place}-{name}": value for name, value in fields.items()}


def counted_lines(sent: dict, prefix: str, wanted) -> dict:
    count = f"{prefix}-TOTAL_FORMS"
    lines = {count: max(sent[count], len(wanted))}
    for place, fields in enumerate(wanted):
        lines |= on_line(prefix, place, fields)
    return lines


def place_of(sheet, fields) -> int:
    wanted = {name: fields[name] for name in ("quantity", "direction", "unit") if name in fields}
    for place, line in enumerate(sheet.readings.forms):
        if line.initial and all(line.initial.get(name) == value for name, value in wanted.items()):
            return place
    return len(sheet.readings.forms) - 1

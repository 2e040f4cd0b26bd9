"""One drive on paper: who it is, where it was, what it read, how it runs, what is open, and how each figure was reached."""

from shop.printing.letters import PLAIN
from shop.printing.paper import Head, text
from shop.printing.picture import drawing
from shop.printing.ruled import Column, Look, Ruled
from shop.printing.test_sheet import working_pieces

CHART_WIDTH = 430.0


def chart_pieces(title: str, picture, rows=(), heads=(), remark: str = "") -> list:
    """The drawing of the screen, on paper, with its table under it."""
    pieces = [text(title, size=10.5, bold=True, space=2, keeps_next=True)]
    if picture is not None:
        pieces.append(drawing(picture, CHART_WIDTH, PLAIN))
    if remark:
        pieces.append(text(remark, size=8))
    if rows:
        pieces.append(Ruled([Column(1, head) for head in heads], list(rows), look=Look(size=7)))
    return pieces


def drive_chart_paper(title: str, number: str, picture, rows, heads, remark: str = "") -> tuple[Head, list]:
    """One page with one chart and its readings."""
    return Head("Drive chart", number, "", title, number), chart_pieces(title, picture, rows, heads, remark)


def health_report_paper(report: dict) -> tuple[Head, list]:
    """Head and pieces of a report. Keys: tag, state, on, identity (label, words), stays, fluid, verdict (sentences), charts (title, picture, rows,
    heads, remark), readings (heads, rows), samples (heads, rows), events, open_items, what_would_change (sentences), working (title, steps)."""
    pieces = [Ruled([Column(1.4, bold=True), Column(6)], report["identity"], look=Look(size=8.5, rules="under"))]
    pieces += [text(sentence, size=9.5, bold=place == 0) for place, sentence in enumerate(report.get("verdict", ()))]
    for chart in report.get("charts", ()):
        pieces += chart_pieces(*chart)
    for title, heads, rows in tables_of(report):
        if rows:
            pieces.append(Ruled([Column(share, head) for head, share in heads], rows, title=title, look=Look(size=7.5)))
    changes = report.get("what_would_change", ())
    if changes:
        pieces.append(
            Ruled([Column()], [[sentence] for sentence in changes], title="What would change this report", look=Look(rules="under"))
        )
    return Head("Drive report", report["tag"], report.get("state", ""), report.get("on", ""), report["tag"]), pieces + working_pieces(
        report.get("working", ())
    )


def tables_of(report: dict):
    stays = (("Where", 3), ("From", 1.2), ("To", 1.2), ("Own hours from", 1.2), ("To", 1.2), ("Gained", 1))
    yield "Where it was", stays, report.get("stays", ())
    events = (("Day", 1), ("What", 1.4), ("Own hours", 1), ("Remark", 4))
    yield "What befell it", events, report.get("events", ())
    fluid = (("Day", 1), ("Kind", 1), ("Product", 3), ("Litres in", 1), ("Litres out", 1))
    yield "Oil of the machine", fluid, report.get("fluid", ())
    for name, title in (("readings", "Readings"), ("samples", "Oil reports")):
        if name in report:
            heads, rows = report[name]
            yield title, heads, rows
    yield "Still open", (("What", 3), ("Why", 4)), report.get("open_items", ())

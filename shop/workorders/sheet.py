"""The printed work order: two sides for the board and the test sheet behind, from the kept words of the order alone."""

from shop.cautions import DEFERS
from shop.printing.paper import Head, text
from shop.printing.ruled import Column, Look, Ruled, Strong
from shop.printing.test_sheet import test_sheet_pieces

LABEL, WIDE = Column(1.5, bold=True), Column(6)
SHORT, HALF = Column(1, bold=True), Column(2.7)
WRITE = 15.0  # height of a row that is filled in by hand


def order_paper(kept: dict, with_working: bool = False) -> tuple[Head, list]:
    """Return the head and the pieces of one work order, with the working of its expected figures if wanted."""
    head = Head("Work order", kept["number"], kept["state"], note_of(kept), kept["number"])
    return head, [piece for block in BLOCKS for piece in block(kept)] + test_sheet_pieces(kept["tests"], with_working)


def note_of(kept: dict) -> str:
    return f"Takes the place of {kept['supersedes']}" if kept["supersedes"] else ""


def facts(title: str, rows) -> list:
    return [Ruled([LABEL, WIDE], rows, title=title, look=Look(rules="under"))] if rows else []


def beside(left, right) -> list:
    """Two lists of facts side by side."""
    most = max(len(left), len(right))
    padded = [rows + [["", ""]] * (most - len(rows)) for rows in (left, right)]
    return [[*a, *b] for a, b in zip(*padded, strict=True)]


def story_block(title: str, words: str, blanks: int) -> Ruled:
    rows = [[words]] if words else [[""]] * blanks
    return Ruled([Column()], rows, title=title, look=Look(size=9, rules="under", row_height=0 if words else WRITE + 3))


def who_and_what(kept):
    yield Ruled([SHORT, HALF, SHORT, HALF], beside(kept["customer"], kept["machine"]), look=Look(size=8, rules="under"))
    heads = ("Place", "Tag", "Serial", "Model", "Birth", "Hours since birth", "Warranty to")
    shares = (1, 1, 1.6, 1, 0.9, 1.4, 1.8)
    yield Ruled(
        [Column(s, h) for s, h in zip(shares, heads, strict=True)],
        kept["units"] or [["", "no unit on record", "", "", "", "", ""]],
        title="Drives fitted",
    )


def the_story(kept):
    yield story_block("Complaint, in the caller's words", kept["complaint"], 2)
    if kept["intake"]:
        yield Ruled([Column(3, bold=True), Column(4)], kept["intake"], title="Asked at intake", look=Look(size=8, rules="under"))
    yield story_block("Cause", kept["cause"], 3)
    yield story_block("Correction: done, parts, settings before and after", kept["correction"], 4)
    yield from facts("Failure", kept["failure"])


def cautions(kept):
    rows = [[Strong(word.upper()), f"{code} {title}", words] for word, code, title, words, _ in kept["cautions"]]
    if rows:
        columns = [Column(1, "Word"), Column(2.1, "What", bold=True), Column(7.5, "Before the step")]
        yield Ruled(columns, rows, title="Cautions for the steps on this order", look=Look(size=7))
        yield text(DEFERS, size=7)


def the_work(kept):
    tasks = kept["tasks"] + [["☐", "", "", "", ""]] * 3
    yield Ruled(
        [Column(0.4, "✓"), Column(0.5, "No.", "right"), Column(6, "Task, or why not done"), Column(1.3, "When"), Column(1.4, "Price", "right")],
        tasks, title="Tasks", look=Look(row_height=WRITE),
    )  # fmt: skip
    parts = kept["parts"] + [["☐", "", "", "", "", "", ""]] * 3
    heads = (
        ("✓", 0.4, "left"),
        ("Part", 4.5, "left"),
        ("Wanted", 0.9, "right"),
        ("Issued", 0.9, "right"),
        ("Back", 0.8, "right"),
        ("Core", 1.1, "right"),
        ("Price", 1.4, "right"),
    )
    yield Ruled([Column(share, head, align) for head, share, align in heads], parts, title="Parts", look=Look(row_height=WRITE))
    if kept["others"]:
        yield Ruled(
            [Column(0.4, "✓"), Column(1.4, "Kind"), Column(5, "What"), Column(0.9, "Count", "right"), Column(1.4, "Price", "right")],
            kept["others"],
            title="Other lines",
        )


def hours_of_work(kept):
    rows = kept["labour"]["rows"] + [[""] * 6] * 3
    heads = (("From", 1.5), ("To", 1.5), ("Who", 1.6), ("Kind", 1.5), ("Hours", 0.9), ("Remark", 2.2))
    yield Ruled([Column(share, head) for head, share in heads], rows, title="Hours of work", look=Look(row_height=WRITE))
    yield from facts("", kept["labour"]["sums"])


def fluid(kept):
    rows = kept["fluid"] + [[""] * 6]
    heads = (("Day", 1.1), ("Kind", 1), ("Product and grade", 3), ("Litres in", 1), ("Litres out", 1), ("Batch", 1.2))
    yield Ruled([Column(share, head) for head, share in heads], rows, title="Fluid", look=Look(row_height=WRITE))


def what_was_found(kept):
    if kept["findings"]:
        yield Ruled([Column(3, "Finding or paper"), Column(4, "Evidence")], kept["findings"], title="Findings, photos and papers")
    yield Ruled([Column()], [[""], [""]], title="Looks odd", look=Look(rules="under", row_height=WRITE))
    if kept["deferred"]:
        yield Ruled(
            [Column(2, "Put off"), Column(2, "Until"), Column(1.3, "Reason"), Column(4, "Risk told")],
            kept["deferred"],
            title="Put off, and what that may mean",
        )


def signatures(kept):
    rows = kept["approvals"] or [[""] * 5]
    yield Ruled(
        [Column(1.5, "When"), Column(1.5, "Who"), Column(1.2, "How"), Column(1.3, "Up to", "right"), Column(4, "Exact words")],
        rows,
        title="Customer's approval",
        look=Look(row_height=WRITE),
    )
    release = kept["release"] or [
        ["Safe to work", "☐ yes   ☐ restricted   ☐ not to be used"],
        ["Technician, time", ""],
        ["Manager, time", ""],
    ]
    yield Ruled(
        [Column(2, bold=True), WIDE], release, title="Release", look=Look(rules="under", row_height=0 if kept["release"] else WRITE + 4)
    )
    yield from facts("Warranty", kept["warranty"])
    if kept["next_due"]:
        yield Ruled(
            [Column(3, "Task"), Column(2, "Due at hours", "right"), Column(2, "Due on"), Column(3, "State")],
            kept["next_due"],
            title="Next due, soonest first",
        )
    yield text(f"Sum of the lines that count: {kept['total']}", bold=True)


BLOCKS = (who_and_what, the_story, cautions, the_work, hours_of_work, fluid, what_was_found, signatures)

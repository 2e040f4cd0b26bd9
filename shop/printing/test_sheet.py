"""The test sheet: every reading with its port, gauge, what this drive should show at four oil temperatures, and blanks to write in."""

from shop.printing.paper import NewPage, text
from shop.printing.ruled import Column, Look, Ruled, Strong

COLUMNS = (
    ("Reading and cautions", 4.8), ("Port", 1.0), ("Gauge", 1.2), ("rpm", 0.75), ("50 °C", 0.8), ("60 °C", 0.8), ("70 °C", 0.8), ("80 °C", 0.8),
    ("Accepted", 3.2), ("Last", 1.7), ("Before: °C / value", 1.9), ("After: °C / value", 1.9), ("Gauge no.", 0.95), ("State", 1.0),
)  # fmt: skip
BLANK = "____ / _______"
NOTES = [
    ["Oil temperature read at", "", "Engine speed by", ""],
    ["Attachments on, air temperature", "", "Tested by, day", ""],
    ["Could not, because", "", "Looks odd", ""],
]


def test_sheet_pieces(tests: dict, with_working: bool = False) -> list:
    """Pieces of the test sheet from kept rows, on pages that lie; nothing where no test is called for."""
    if not tests or not tests.get("rows"):
        return []
    pieces = [NewPage(is_lying=True), *(text(remark, size=8, space=1) for remark in tests["remarks"][:1])]
    pieces.append(
        Ruled([Column(2, bold=True), Column(4), Column(2, bold=True), Column(4)], NOTES, look=Look(size=8, rules="under", row_height=17))
    )
    rows = [[*row, BLANK, BLANK, "", ""] for row in tests["rows"]]
    pieces.append(Ruled([Column(share, head) for head, share in COLUMNS], rows, title=tests["title"], look=Look(size=7, row_height=25)))
    pieces += [text(remark, size=8, space=1) for remark in tests["remarks"][1:]]
    pieces += map_pieces(tests)
    return pieces + ([NewPage(), *working_pieces(tests["working"])] if with_working and tests["working"] else [])


def map_pieces(tests: dict) -> list:
    """What a sheet that stands alone carries beside its rows: things to tick, ports in the order of walking round, cautions in words."""
    pieces = []
    if tests.get("checks"):
        columns = [Column(9, "Look, try, tick"), Column(1, "As it should"), Column(1, "Not so"), Column(4, "Remark, or could not, because")]
        pieces.append(Ruled(columns, tests["checks"], title="Checks", look=Look(size=7.5, row_height=14)))
    if tests.get("ports"):
        heads, rows = tests["ports"]
        columns = [Column(share, head) for head, share in heads]
        pieces.append(Ruled(columns, rows, title="Ports, in the order of walking round", look=Look(size=7.5)))
    if tests.get("caution_words"):
        rows = [[Strong(word), title, words] for word, title, words in tests["caution_words"]]
        columns = [Column(1, "Word"), Column(2.1, "What", bold=True), Column(9.5, "Before the step")]
        pieces += [Ruled(columns, rows, title="Cautions of these steps", look=Look(size=7)), text(tests["defers"], size=7)]
    return pieces


def working_pieces(working) -> list:
    """How the expected figures were reached: the same rows that the screen shows."""
    pieces = []
    for title, steps in working:
        rows = [
            [step["name"], step["law"], given_words(step["given"]), f"{result_words(step['result'])} {step['unit']}", step["source"]]
            for step in steps
        ]
        heads = (("Step", 2), ("Law", 2.4), ("Put in", 2.8), ("Result", 1.3), ("Source", 2.4))
        pieces.append(Ruled([Column(share, head) for head, share in heads], rows, title=title, look=Look(size=6.5)))
    return pieces


def given_words(given) -> str:
    return ", ".join(f"{entry['name']} = {result_words(entry['value'])} {entry['unit']}".strip() for entry in given)


def result_words(value) -> str:
    if isinstance(value, float):
        return f"{value:.5g}"
    if isinstance(value, (list, tuple)):
        return ", ".join(result_words(part) for part in value)
    return "–" if value is None else str(value)

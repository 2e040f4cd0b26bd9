"""The test sheet: every reading with its port, gauge, what this drive should show at four oil temperatures, and blanks to write in."""

from shop.printing.paper import text
from shop.printing.ruled import Column, Look, Ruled

COLUMNS = (
    ("Reading", 2.6), ("Port", 0.8), ("Gauge", 1.3), ("At rpm", 0.8), ("50 °C", 0.75), ("60 °C", 0.75), ("70 °C", 0.75), ("80 °C", 0.75),
    ("Accepted", 2.1), ("Last", 1.4), ("Before: °C / value", 1.7), ("After: °C / value", 1.7), ("Gauge no.", 1.0),
)  # fmt: skip
BLANK = "____ / ______"


def test_sheet_pieces(tests: dict) -> list:
    """Pieces of the test sheet from kept rows: title, remarks, rows; nothing where no test is called for."""
    if not tests or not tests.get("rows"):
        return []
    pieces = [text(remark, size=8) for remark in tests.get("remarks", ())]
    rows = [[*row, BLANK, BLANK, ""] for row in tests["rows"]]
    pieces.append(Ruled([Column(share, head) for head, share in COLUMNS], rows, title=tests.get("title", "Test sheet"), look=Look(size=7, row_height=26)))
    return [*pieces, *working_pieces(tests.get("working", ()))]


def working_pieces(working) -> list:
    """How the expected figures were reached: the same rows that the screen shows."""
    pieces = []
    for title, steps in working:
        rows = [[step["name"], step["law"], given_words(step["given"]), f"{result_words(step['result'])} {step['unit']}", step["source"]] for step in steps]
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

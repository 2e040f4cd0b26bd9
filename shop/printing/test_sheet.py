"""The test sheet: every reading with its port, gauge, what this drive should show at four oil temperatures, and blanks to write in."""

from shop.printing.paper import NewPage, text
from shop.printing.ruled import Column, Look, Ruled, Strong

COLUMNS = (
    ("Reading and cautions", 4.9), ("Port", 1.2), ("Gauge", 1.5), ("rpm", 0.78), ("50 °C", 0.83), ("60 °C", 0.83), ("70 °C", 0.83), ("80 °C", 0.83),
    ("Accepted", 4.8), ("Last", 2.4), ("Before: °C / value", 1.75), ("After: °C / value", 1.75), ("Gauge no.", 1.0), ("State", 0.85),
)  # fmt: skip
BLANK = "____ / _______"
NOTES = [
    ["Oil temperature read at", "", "Engine speed by", ""],
    ["Attachments, air", "", "Tested by, day", ""],
    ["Could not, because", "", "Looks odd", ""],
]


def test_sheet_pieces(tests: dict, with_working: bool = False) -> list:
    """Pieces of the test sheet from kept rows, on pages that lie; nothing where no test is called for."""
    if not tests or not tests.get("rows"):
        return []
    pieces = [NewPage(is_lying=True), *(text(remark, size=8, space=1) for remark in tests["remarks"][:1])]
    pieces.append(
        Ruled([Column(2, bold=True), Column(4), Column(2, bold=True), Column(4)], NOTES, look=Look(size=7.5, rules="under", row_height=15))
    )
    rows = [[*row, BLANK, BLANK, "", ""] for row in tests["rows"]]
    pieces.append(Ruled([Column(share, head) for head, share in COLUMNS], rows, title=tests["title"], look=Look(size=6.6, row_height=23)))
    pieces += [text(remark, size=8, space=1) for remark in tests["remarks"][1:]]
    pieces += map_pieces(tests)
    return pieces + ([NewPage(), *working_pieces(tests["working"])] if with_working and tests["working"] else [])


def map_pieces(tests: dict) -> list:
    """What a sheet that stands alone carries beside its rows: things to tick, ports in the order of walking round, cautions in words."""
    pieces = []
    if tests.get("ports"):
        heads, rows = tests["ports"]
        columns = [Column(share, head) for head, share in heads]
        pieces.append(Ruled(columns, rows, title="Ports, in the order of walking round", look=Look(size=7)))
    if tests.get("checks"):
        columns = [Column(6, "Look, try, tick"), Column(0.8, "Right"), Column(0.8, "Not so")] * 3
        pieces.append(Ruled(columns, beside_each_other(tests["checks"], 3), title="Checks", look=Look(size=6.3)))
    if tests.get("caution_words"):
        rows = beside_each_other([[Strong(word), words] for word, words in tests["caution_words"]])
        columns = [Column(1.3), Column(7)] * 2
        pieces += [Ruled(columns, rows, title="Cautions of these steps", look=Look(size=6.3)), text(tests["defers"], size=6.3)]
    return pieces


def beside_each_other(rows: list, across: int = 2) -> list:
    """Rows in parts beside each other, to be read down the left part first."""
    deep = -(-len(rows) // across)
    whole = [*rows, *([[""] * len(rows[0])] * (deep * across - len(rows)))]
    return [[cell for part in range(across) for cell in whole[row + part * deep]] for row in range(deep)]


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

"""The customer's quote: three groups, each line with why and how much, and a place to approve."""

from shop.printing.paper import Head, text
from shop.printing.ruled import Column, Look, Ruled, Strong

EXPLAINED = {
    "Now": "Work that should not wait: the machine is not fit for work, or harm grows, until it is done.",
    "Before season": "Work that can be planned, and should be done before the machine is needed.",
    "Can wait": "Work that was seen and may wait; it is looked at again at the next service.",
}


def quote_paper(kept: dict) -> tuple[Head, list]:
    """Return head and pieces of the quote of an order from its kept words."""
    return Head("Quote", kept["number"], kept["state"], "", kept["number"]), [
        piece for block in (top, groups, foot) for piece in block(kept)
    ]


def top(kept):
    rows = [row for row in kept["customer"] if row[0] in ("Customer", "Reach")] + kept["machine"][:2]
    yield Ruled([Column(1, bold=True), Column(6)], rows, look=Look(size=9, rules="under"))
    if kept["complaint"]:
        yield text(f"You told us: {kept['complaint']}", space=8)


def groups(kept):
    for group in kept["quote"]:
        if not group["rows"]:
            continue
        rows = [*group["rows"], [Strong(f"{group['label']}, together"), "", "", Strong(group["sum"])]]
        columns = [Column(4, "What"), Column(4.4, "Why"), Column(1, "Count", "right"), Column(1.6, "Price", "right")]
        yield Ruled(columns, rows, title=group["label"], look=Look(size=8.5), space=2)
        yield text(EXPLAINED.get(group["label"], ""), size=7.5, space=9)


def foot(kept):
    yield text(
        f"All three groups together: {kept['quote_sum']}. Taxes as the law of the place says. Prices hold for thirty days.", bold=True
    )
    rows = [["I approve", "☐ now   ☐ before season   ☐ can wait   ☐ single lines as ticked"], ["Up to", ""], ["Name, day, signature", ""]]
    yield Ruled([Column(2, bold=True), Column(6)], rows, title="Approval", look=Look(rules="under", row_height=24))

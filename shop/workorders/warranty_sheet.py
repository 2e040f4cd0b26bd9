"""The warranty pack on paper."""

import io

from PIL import Image
from reportlab.platypus import Image as Picture

from shop.papers.shelf import Damaged, take_out
from shop.printing.paper import Head, text
from shop.printing.ruled import Column, Look, Ruled

PHOTO_WIDTH, PHOTO_POINTS = 230.0, 900


def pack_paper(pack: dict, photos=(), broken: str | None = None) -> tuple[Head, list]:
    """Head and pieces of a pack, its photos and what the chain says."""
    pieces = [Ruled([Column(1, bold=True), Column(6)], pack["rule"] + pack["story"], title="The claim", look=Look(rules="under"))]
    for title, key, heads in TABLES:
        rows = pack[key] or [["none on record", *[""] * (len(heads) - 1)]]
        pieces.append(Ruled([Column(share, head) for head, share in heads], rows, title=title, look=Look(size=7.5)))
    for paper in photos:
        pieces += photo_pieces(paper)
    return Head("Warranty pack", pack["number"], "", "", pack["number"]), pieces + chain_pieces(pack["chain"], broken)


TABLES = (
    ("Services the rule asks for", "upkeep", (("Task", 2), ("From", 2.2), ("To", 2.2), ("Ran", 1), ("Allowed", 2.4), ("Kept", 0.9))),
    ("Fluid", "fluid", (("When", 1.5), ("Kind", 1), ("Product", 2.5), ("In", 1), ("Out", 1), ("Batch", 1))),
    (
        "Readings as they were",
        "readings",
        (
            ("Test", 1.1),
            ("When", 1.5),
            ("Own hours", 1.2),
            ("Reading", 3),
            ("As typed", 1.2),
            ("Oil", 0.8),
            ("Gauge", 0.8),
            ("Judged", 1.4),
        ),
    ),
    ("Photos and papers", "papers", (("Name", 2), ("Kind", 1), ("Shows", 2), ("Kept", 1.5), ("SHA-256", 4))),
    ("Parts under tag", "tags", (("Tag", 1), ("Kept as", 2), ("What", 3), ("Where", 1.5), ("Settled", 2))),
)


def photo_pieces(paper) -> list:
    """A photo, made small for print, with its words; a damaged one is said to be damaged."""
    try:
        with Image.open(io.BytesIO(take_out(paper))) as picture:
            picture.thumbnail((PHOTO_POINTS, PHOTO_POINTS))
            small = picture.convert("L")
    except (Damaged, OSError) as trouble:
        return [text(f"{paper.name}: {trouble}")]
    out = io.BytesIO()
    small.save(out, "PNG")
    out.seek(0)
    shown = Picture(out, PHOTO_WIDTH, PHOTO_WIDTH * small.height / small.width, hAlign="LEFT")
    return [shown, text(f"{paper.name}. {paper.caption}", size=8, space=8)]


def chain_pieces(chain, broken: str | None) -> list:
    said = {None: "The evidence was not kept as a paper yet.", "": "The evidence agrees with the one kept on the order."}.get(
        broken, f"THE CHAIN IS BROKEN. {broken}"
    )
    last = f"Rows: {len(chain)}. Last hash: {chain[-1][0] if chain else '–'}."
    words = f"Each row above carries a hash over itself and the row before (SHA-256). {last} {said}"
    rows = [[str(place), row[0][:16], " · ".join(row[1:])] for place, row in enumerate(chain, start=1)]
    columns = [Column(0.5, "Row", "right"), Column(1.7, "Hash, first 16"), Column(8, "What it holds")]
    return [text(words, size=8.5, bold=True), Ruled(columns, rows, title="Chain over the evidence", look=Look(size=6.5))]

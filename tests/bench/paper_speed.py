"""How long 100 work orders in one PDF take, beside bare reportlab drawing the very same marks. Run: python tests/bench/paper_speed.py"""

# ruff: noqa: E402, E501
import argparse
import io
import os
import sys
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "shop.settings")

import django

django.setup()

from reportlab.pdfgen.canvas import Canvas

from shop.cautions import CAUTIONS
from shop.printing import paper
from shop.printing.letters import fonts
from shop.workorders.sheet import order_paper

ORDERS, ROUNDS = 100, 5
NOTED = ("setFont", "drawString", "line", "rect", "circle", "drawPath", "setLineWidth", "setFillGray", "setPageSize", "showPage")
WORDS = [
    "charge",
    "pressure",
    "sags",
    "when",
    "the",
    "oil",
    "is",
    "hot",
    "and",
    "pump",
    "stroked",
    "against",
    "brake",
    "on",
    "slope",
    "behind",
    "yard",
]


def sentence(seed: int, length: int) -> str:
    return " ".join(WORDS[(seed * 7 + k * 3) % len(WORDS)] for k in range(length)).capitalize() + "."


def kept(number: int) -> dict:
    """One invented order as it is kept, no two alike."""
    figures = [f"{18 + (number + k) % 9}.{(number * k) % 10}" for k in range(4)]
    tests = [
        [
            f"T{3 + k % 9:02d} {sentence(number + k, 6)} [bar]",
            "CH 9/16-18",
            f"G-{k:02d}, 0–60 bar",
            "2300",
            *figures,
            f"{figures[3]} bar or more [calc {k}, shop tolerance]",
            f"{figures[0]} at 62 °C, 2026-03-{k + 1:02d}",
        ]
        for k in range(13)
    ]
    return {
        "number": f"W-{number:05d}", "state": "In work", "supersedes": "",
        "customer": [["Customer", f"Estate {number}"], ["Reach", sentence(number, 4)], ["Site", "Home yard"], ["May approve", "Åse Brinkholm up to 2 500.00 EUR"]],
        "machine": [["Machine", f"M-{number:05d} Windrower"], ["Serial", f"HW180-{number:05d}"], ["Tyres", "–"], ["Hours", f"{number * 13.5} h"], ["Taken in", "2026-03-02"]],
        "units": [["Main drive", f"D-{number:05d}", f"H75-{number}", "H75", "New", f"{number * 11.5} h", "none"]],
        "intake": [["Does it stand safely?", "yes"], ["One direction or both?", "both"]],
        "complaint": sentence(number, 24), "cause": sentence(number + 1, 30), "correction": sentence(number + 2, 40), "failure": [],
        "tasks": [["☐", str(k + 1), f"{sentence(number + k, 9)}\nCautions C2 C3 C4", "Now", f"{number + k}.50 EUR"] for k in range(8)],
        "parts": [["☐", f"F-{number + k} {sentence(k, 4)}", "2", "1", "", "", f"{k * 11}.00 EUR"] for k in range(6)],
        "others": [["☐", "Labour", sentence(number + k, 7), "1.5", f"{95 + k}.00 EUR"] for k in range(4)],
        "quote": [], "quote_sum": "",
        "labour": {"rows": [["2026-03-02 08:00", "2026-03-02 10:30", "Tilde Invented", "Repair", "2.50 h", sentence(number, 5)]] * 3, "sums": [["Repair", "7.50 h"]]},
        "cautions": [[c.word, c.code, c.title, c.words, c.source] for c in list(CAUTIONS.values())[:10]],
        "fluid": [["2026-03-02", "Change", "Fenoil Hydrol 46 VG 46", "45.00", "44.00", f"B{number}"]] * 2,
        "tests": {"title": f"Test sheet: D-{number:05d}", "rows": tests, "remarks": [sentence(number, 20)], "working": [], "cautions": []},
        "findings": [[sentence(number, 8), sentence(number + 3, 14)]], "deferred": [], "approvals": [], "release": [], "warranty": [["Payer", "–"]],
        "next_due": [[f"Task {k}", f"{number + k * 100} h", "2026-09-18", "not due"] for k in range(6)], "total": "1 234.50 EUR",
    }  # fmt: skip


class NotingCanvas(Canvas):
    """A canvas that also notes every mark put on it, by the names of `NOTED`."""

    marks: list = []

    def __getattribute__(self, name):
        found = super().__getattribute__(name)
        if name not in NOTED or super().__getattribute__("__dict__").get("inside"):
            return found

        def noted(*args, **kwargs):
            self.marks.append((name, args, kwargs))
            self.__dict__["inside"] = True
            try:
                return found(*args, **kwargs)
            finally:
                self.__dict__["inside"] = False

        return noted


def ours(orders) -> bytes:
    return paper.make_pdf([order_paper(one) for one in orders])


def bare(marks) -> bytes:
    """The same marks with nothing but the canvas."""
    out = io.BytesIO()
    canvas = Canvas(out, pagesize=paper.SIZES["A4"], invariant=1, pageCompression=1, initialFontName="Shop")
    for name, args, kwargs in marks:
        getattr(canvas, name)(*args, **kwargs)
    canvas.save()
    return out.getvalue()


def noted_marks(orders) -> list:
    NotingCanvas.marks = []
    paper.Canvas, before = NotingCanvas, paper.Canvas
    try:
        ours(orders)
    finally:
        paper.Canvas = before
    return NotingCanvas.marks


def timed(do, *given) -> float:
    begun = time.perf_counter()
    do(*given)
    return time.perf_counter() - begun


def main() -> None:
    argparse.ArgumentParser(description=__doc__).parse_args()
    fonts()
    orders = [kept(number) for number in range(1, ORDERS + 1)]
    marks = noted_marks(orders)
    pairs = [(timed(ours, orders), timed(bare, marks)) for _ in range(ROUNDS)]
    cold = [kept(number + 5000) for number in range(1, ORDERS + 1)]
    paper.code_squares.cache_clear()
    cold_s = timed(ours, cold)
    best_ours, best_bare = (min(column) for column in zip(*pairs, strict=True))
    pages = sum(name == "showPage" for name, _, _ in marks)
    print(f"{ORDERS} orders, {pages} pages, {len(marks)} marks, {len(ours(orders)) / 1024:.0f} kB")
    print(
        f"ours {best_ours:.2f} s, bare canvas with the same marks {best_bare:.2f} s, ratio {best_ours / best_bare:.2f} (best of {ROUNDS}, in turn)"
    )
    print(f"ours with words and codes never seen before: {cold_s:.2f} s, ratio {cold_s / best_bare:.2f}")


if __name__ == "__main__":
    main()

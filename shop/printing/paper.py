"""Sheets of paper: one letterhead, page x of y, an order number that a scanner reads, and the one way in which words get on to a sheet."""

import io
from dataclasses import dataclass
from functools import lru_cache

from django.conf import settings
from reportlab.graphics.barcode import qrencoder
from reportlab.lib.pagesizes import A4, LETTER
from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas

from shop.printing.letters import BOLD, LOST, LOST_NOTE, PLAIN, fonts, printable
from shop.printing.pages import MARGIN, TOP, NewPage, laid_pages, parts_of
from shop.printing.ruled import Column, Look, Ruled, draw_words, line_width

__all__ = ["Head", "NewPage", "code_of", "draw_code", "make_pdf", "paper_of", "text", "MARGIN", "SIZES"]
SIZES = {"A4": A4, "Letter": LETTER}
CODE = 15 * mm
SETTLED = "The machine maker's manual, local law and qualified people come before this sheet."


@dataclass(frozen=True)
class Head:
    """What stands at the top of every page of one paper."""

    title: str
    number: str = ""
    state: str = ""
    note: str = ""
    code: str = ""


def text(words, *, size: float = 9.0, bold: bool = False, space: float = 4.0, keeps_next: bool = False) -> Ruled:
    """Return words as a piece of a sheet; `keeps_next` for a heading that must not stand alone at the foot of a page.

    They are drawn sign by sign and never read as markup: this is the only way free words get on to paper.
    """
    piece = Ruled([Column(bold=bold)], [[words]], look=Look(size=size, rules="none"), space=space)
    piece.keeps_next = keeps_next
    return piece


def paper_of(user, wanted: str = "") -> str:
    """The paper somebody prints on: as asked for, else as preferred, else the shop's."""
    if wanted in SIZES:
        return wanted
    person = getattr(user, "person", None)
    return person.paper if person else settings.SHOP_PAPER if settings.SHOP_PAPER in SIZES else "A4"


def code_of(number: str) -> str:
    """What the square code says: the number, or the address that finds it where the settings give the shop's own; a full address as it is."""
    if number.startswith(("http://", "https://")):
        return number
    address = settings.SHOP_ADDRESS.rstrip("/")
    return f"{address}/find/?q={number}" if address else number


@lru_cache(maxsize=2_000)
def code_squares(words: str) -> tuple[int, tuple[tuple[int, int, int], ...]]:
    """Return the side of a square code and its dark stretches: row, first column, length."""
    code = qrencoder.QRCode(None, qrencoder.QRErrorCorrectLevel.M)
    code.addData(words)
    code.make()
    side, stretches = code.getModuleCount(), []
    for row in range(side):
        column = 0
        while column < side:
            start = column
            while column < side and code.isDark(row, column):
                column += 1
            if column > start:
                stretches.append((row, start, column - start))
            column += 1
    return side, tuple(stretches)


def draw_code(canvas, words: str, x: float, y: float, size: float) -> None:
    """Draw a square code with its lower left corner at x, y."""
    side, stretches = code_squares(words)
    step = size / side
    path = canvas.beginPath()
    for row, column, length in stretches:
        path.rect(x + column * step, y + size - (row + 1) * step, length * step, step)
    canvas.drawPath(path, stroke=0, fill=1)


def make_pdf(papers, paper: str = "A4", title: str = "") -> bytes:
    """Return one PDF holding papers, each a head and its pieces; page x of y counts within each paper. Same input, same bytes."""
    fonts()
    out = io.BytesIO()
    canvas = Canvas(out, pagesize=SIZES[paper], invariant=1, pageCompression=1, initialFontName=PLAIN)
    canvas.setTitle(title or "Drive book")
    canvas.setCreator("Swashbook")
    for head, pieces in papers:
        pages = [page for size, part in parts_of(pieces, SIZES[paper]) for page in laid_pages(part, canvas, size)]
        for number, (size, page) in enumerate(pages, start=1):
            canvas.setPageSize(size)
            draw_page(canvas, size, head, page, f"page {number} of {len(pages)}")
            canvas.showPage()
    canvas.save()
    return out.getvalue()


def draw_page(canvas, size, head: Head, page: list, count: str) -> None:
    draw_head(canvas, size, head)
    lost = any(LOST in printable(words) for words in (head.title, head.note))
    for piece, down, tall in page:
        lost = lost or getattr(piece, "has_lost", False)
        piece.drawOn(canvas, MARGIN, size[1] - TOP - down - tall)
    draw_foot(canvas, size, head, count, lost)


def draw_head(canvas, size, head: Head) -> None:
    wide, high = size
    right = wide - MARGIN
    if head.code:
        draw_code(canvas, code_of(head.code), right - CODE, high - 8 * mm - CODE, CODE)
        right -= CODE + 4 * mm
    draw_words(canvas, MARGIN, high - 13 * mm, printable(settings.SHOP_NAME)[:70], BOLD, 9)
    draw_words(canvas, MARGIN, high - 20 * mm, printable(head.title)[:60], BOLD, 15)
    number, state = printable(head.number)[:24], printable(head.state)[:40]
    draw_words(canvas, right - line_width(number, BOLD) * 17, high - 14 * mm, number, BOLD, 17)
    draw_words(canvas, right - line_width(state, BOLD) * 10, high - 20 * mm, state, BOLD, 10)
    if head.note:
        draw_words(canvas, MARGIN, high - 23.6 * mm, printable(head.note)[:110], PLAIN, 7.5)
    for down, thick in ((24.6, 1.1), (25.3, 0.4)):
        canvas.setLineWidth(thick)
        canvas.line(MARGIN, high - down * mm, wide - MARGIN, high - down * mm)


def draw_foot(canvas, size, head: Head, count: str, lost: bool) -> None:
    wide, low = size[0], 9 * mm
    canvas.setLineWidth(0.4)
    canvas.line(MARGIN, low + 8, wide - MARGIN, low + 8)
    draw_words(canvas, MARGIN, low, LOST_NOTE if lost else SETTLED, PLAIN, 7)
    words = " · ".join(part for part in (printable(head.number)[:24], count) if part)
    draw_words(canvas, wide - MARGIN - line_width(words, BOLD) * 8, low, words, BOLD, 8)

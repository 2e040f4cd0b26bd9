"""Small papers: the next-service label for the reservoir and the tag that is tied to a part."""

import io
from dataclasses import dataclass, field

from django.conf import settings
from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas

from shop.printing.letters import BOLD, PLAIN, fonts, printable, wrapped
from shop.printing.paper import code_of, draw_code
from shop.printing.ruled import draw_words, line_width

LABEL, TAG = (60 * mm, 40 * mm), (100 * mm, 70 * mm)
EDGE = 2.4 * mm


@dataclass(frozen=True)
class NextService:
    """What the label says: the machine, what was done when, what is due next (words, and whether it comes first), the oil, the order."""

    machine: str
    done: str
    due: tuple[tuple[str, bool], ...]
    fluid: str
    number: str
    phone: str = ""


@dataclass(frozen=True)
class PartTag:
    """What the tag says; the part stays open until it is settled."""

    tag: str
    kind: str
    words: str
    number: str
    rows: tuple[tuple[str, str], ...] = field(default_factory=tuple)


def labels_pdf(labels, draw, size) -> bytes:
    """One label a page. Same input, same bytes."""
    fonts()
    out = io.BytesIO()
    canvas = Canvas(out, pagesize=size, invariant=1, pageCompression=1, initialFontName=PLAIN)
    canvas.setTitle("Labels")
    canvas.setCreator("Swashbook")
    for label in labels:
        draw(canvas, label, size)
        canvas.showPage()
    canvas.save()
    return out.getvalue()


def service_labels(labels) -> bytes:
    return labels_pdf(labels, draw_service_label, LABEL)


def part_tags(tags) -> bytes:
    return labels_pdf(tags, draw_part_tag, TAG)


def draw_service_label(canvas, label: NextService, size) -> None:
    wide, high = size
    code = 15 * mm
    draw_code(canvas, code_of(label.number), wide - EDGE - code, high - EDGE - code, code)
    left = wide - 3 * EDGE - code
    y = put(canvas, EDGE, high - EDGE - 9, label.machine, BOLD, 10, left)
    y = put(canvas, EDGE, y - 1, label.done, PLAIN, 6.5, left)
    y = put(canvas, EDGE, y - 1, label.number, BOLD, 8, left)
    y = min(y, high - EDGE - code) - 9
    canvas.setLineWidth(0.6)
    canvas.line(EDGE, y + 7, wide - EDGE, y + 7)
    for words, is_first in label.due[:4]:
        y = put(canvas, EDGE, y - 2, words, BOLD if is_first else PLAIN, 7.5, wide - 2 * EDGE)
    put(canvas, EDGE, EDGE + 8, label.fluid, BOLD, 6.5, wide - 2 * EDGE)
    put(canvas, EDGE, EDGE, " · ".join(part for part in (settings.SHOP_NAME, label.phone) if part), PLAIN, 6, wide - 2 * EDGE)


def draw_part_tag(canvas, tag: PartTag, size) -> None:
    wide, high = size
    code = 20 * mm
    canvas.circle(wide / 2, high - 5 * mm, 2.5 * mm)
    draw_code(canvas, code_of(tag.number), wide - EDGE - code, high - 10 * mm - code, code)
    left = wide - 3 * EDGE - code
    y = put(canvas, EDGE, high - 15 * mm, tag.tag, BOLD, 15, left)
    y = put(canvas, EDGE, y - 3, tag.kind, BOLD, 9, left)
    y = put(canvas, EDGE, y - 2, tag.number, BOLD, 9, left)
    y = min(y, high - 10 * mm - code) - 9
    for line in wrapped(printable(tag.words), BOLD, 9, wide - 2 * EDGE)[:2]:
        y = put(canvas, EDGE, y - 2, line, BOLD, 9, wide - 2 * EDGE)
    for name, words in tag.rows[:6]:
        y = put(canvas, EDGE, y - 1, f"{name}: {words}", PLAIN, 7.5, wide - 2 * EDGE)
    put(canvas, EDGE, EDGE, settings.SHOP_NAME, PLAIN, 6.5, wide - 2 * EDGE)


def put(canvas, x: float, y: float, words: str, font: str, size: float, width: float) -> float:
    """Draw one line that fits: smaller first, then cut with a visible mark; return where the next line goes."""
    words = " ".join(printable(words).split())
    while size > 5.5 and line_width(words, font) * size > width:
        size -= 0.5
    while len(words) > 1 and line_width(words, font) * size > width:
        words = words[:-2].rstrip() + "…"
    draw_words(canvas, x, y, words, font, size)
    return y - size * 1.2

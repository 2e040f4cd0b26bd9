"""Letters on paper: the fonts that lie with the program, what they can show, and how wide words run."""

import unicodedata
from functools import cache, lru_cache
from pathlib import Path

from django.conf import settings
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont

from shop.printing.scripts import in_reading_order

FONTS = Path(__file__).resolve().parent / "fonts"
PLAIN, BOLD = "Shop", "ShopBold"
LOST = "\ufffd"
LOST_NOTE = f"A sign printed as {LOST} is not in the font of this sheet; the screen shows it."
KEPT_CONTROLS = "\n\t"


@cache
def fonts() -> tuple[str, str]:
    """Make the fonts known once and return their names."""
    plain, bold = FONTS / "DejaVuSans.ttf", FONTS / "DejaVuSans-Bold.ttf"
    pdfmetrics.registerFont(TTFont(PLAIN, str(plain)))
    pdfmetrics.registerFont(TTFont(BOLD, str(bold)))
    pdfmetrics.registerFontFamily(PLAIN, normal=PLAIN, bold=BOLD, italic=PLAIN, boldItalic=BOLD)
    return PLAIN, BOLD


@cache
def extra_font() -> str | None:
    """The name of one more font, where the settings give the path of one, for signs the own fonts do not have."""
    path = settings.SHOP_FONT_EXTRA
    if not path:
        return None
    pdfmetrics.registerFont(TTFont("ShopExtra", path))
    return "ShopExtra"


@cache
def known_signs(font: str) -> frozenset[int]:
    fonts()
    return frozenset(pdfmetrics.getFont(font).face.charToGlyph)


@lru_cache(maxsize=20_000)
def printable(words: str) -> str:
    """Return words with the signs that this font has; others stand as a visible mark, controls fall away."""
    if words.isascii() and words.isprintable():
        return words
    known = known_signs(PLAIN) | (known_signs(extra_font()) if extra_font() else frozenset())
    return "".join(_shown(sign, known) for sign in unicodedata.normalize("NFC", words))


def _shown(sign: str, known: frozenset[int]) -> str:
    if sign in KEPT_CONTROLS:
        return " " if sign == "\t" else sign
    if unicodedata.category(sign) in ("Cc", "Cf", "Cs", "Zl", "Zp"):
        return ""
    return sign if ord(sign) in known else LOST


@lru_cache(maxsize=50_000)
def width_of(word: str, font: str) -> float:
    """Width of a word at size one."""
    fonts()
    return pdfmetrics.stringWidth(word, font, 1)


def runs_of(words: str, font: str) -> list[tuple[str, str]]:
    """Words split into stretches of one font each."""
    other = extra_font()
    if other is None or words.isascii():
        return [(words, font)]
    own, runs = known_signs(font), []
    for sign in words:
        wanted = font if ord(sign) in own else other
        if runs and runs[-1][1] == wanted:
            runs[-1][0].append(sign)
        else:
            runs.append(([sign], wanted))
    return [("".join(signs), wanted) for signs, wanted in runs]


@lru_cache(maxsize=20_000)
def wrapped(words: str, font: str, size: float, width: float) -> tuple[str, ...]:
    """Return words as lines no wider than `width`, as they are drawn; a word that is wider than a line is cut."""
    lines = []
    for paragraph in words.split("\n"):
        lines += _wrapped_paragraph(paragraph, font, size, width)
    return tuple(line if line.isascii() else in_reading_order(line) for line in lines)


def _wrapped_paragraph(words: str, font: str, size: float, width: float) -> list[str]:
    lines, line, used, space = [], [], 0.0, width_of(" ", font) * size
    for word in words.split():
        for piece, wide in _pieces(word, font, size, width):
            if line and used + space + wide > width:
                lines.append(" ".join(line))
                line, used = [], 0.0
            used += wide + (space if line else 0.0)
            line.append(piece)
    return [*lines, " ".join(line)]


def _pieces(word: str, font: str, size: float, width: float) -> list[tuple[str, float]]:
    wide = width_of(word, font) * size
    if wide <= width:
        return [(word, wide)]
    pieces, start, used = [], 0, 0.0
    for place, sign in enumerate(word):
        step = width_of(sign, font) * size
        if used + step > width and place > start:
            pieces.append((word[start:place], used))
            start, used = place, 0.0
        used += step
    return [*pieces, (word[start:], used)]

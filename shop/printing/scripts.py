"""Words of scripts that run from right to left, in the order in which a sheet is drawn, with Arabic letters joined.

The sheet is drawn from left to right, sign by sign, so such words are turned round here: whole stretches, with the figures inside them left as they
are. This is the plain part of the Unicode Bidirectional Algorithm (UAX #9) without embeddings, enough for names and short notes; the joined letter
shapes are read from the Unicode character tables (Arabic Presentation Forms-B).
"""

import unicodedata
from functools import cache

RIGHT_TO_LEFT = {"R", "AL"}
FIGURES = {"EN", "AN", "ES", "ET", "CS"}
MIRRORED = str.maketrans("()[]{}<>«»", ")(][}{><»«")
FORMS = ("isolated", "final", "initial", "medial")


@cache
def joined_shapes() -> dict[str, dict[str, str]]:
    """Shapes by letter: isolated, final, initial, medial."""
    shapes: dict[str, dict[str, str]] = {}
    for point in range(0xFE80, 0xFEF5):
        form, *letters = unicodedata.decomposition(chr(point)).strip("<").replace(">", "").split()
        if form in FORMS and len(letters) == 1:
            shapes.setdefault(chr(int(letters[0], 16)), {})[form] = chr(point)
    return shapes


def in_reading_order(words: str) -> str:
    """Return words as they are drawn from left to right; words of left-to-right scripts come back as they are."""
    if not any(unicodedata.bidirectional(sign) in RIGHT_TO_LEFT for sign in words):
        return words
    return "\n".join(_line(line) for line in words.split("\n"))


def _line(line: str) -> str:
    kinds = [unicodedata.bidirectional(sign) for sign in line]
    strong = [place for place, kind in enumerate(kinds) if kind in RIGHT_TO_LEFT]
    if not strong:
        return line
    line = _joined(line)
    if not any(kind == "L" for kind in kinds):
        return _turned(line, kinds)
    out, place = [], 0
    while place < len(line):
        end = _end_of_stretch(kinds, place)
        out.append(_turned(line[place:end], kinds[place:end]) if end > place else line[place])
        place = max(end, place + 1)
    return "".join(out)


def _end_of_stretch(kinds: list[str], place: int) -> int:
    """The end of the stretch of right-to-left signs that begins here; `place` itself if none begins."""
    if kinds[place] not in RIGHT_TO_LEFT:
        return place
    end = place + 1
    for ahead in range(place + 1, len(kinds)):
        if kinds[ahead] == "L":
            break
        if kinds[ahead] in RIGHT_TO_LEFT:
            end = ahead + 1
    return end


def _turned(stretch: str, kinds: list[str]) -> str:
    out, figures = [], []
    for sign, kind in zip(stretch, kinds, strict=True):
        if kind in FIGURES:
            figures.append(sign)
            continue
        out += ["".join(figures), sign.translate(MIRRORED)]
        figures = []
    return "".join(reversed([*out, "".join(figures)]))


def _joined(line: str) -> str:
    shapes, out = joined_shapes(), []
    for place, sign in enumerate(line):
        forms = shapes.get(sign)
        if not forms:
            out.append(sign)
            continue
        before = "initial" in shapes.get(_neighbour(line, place, -1), {})
        after = "initial" in forms and _neighbour(line, place, 1) in shapes
        form = FORMS[before + 2 * after]
        out.append(forms.get(form, forms.get("final" if before else "isolated", sign)))
    return "".join(out)


def _neighbour(line: str, place: int, step: int) -> str:
    """The letter before or after, marks above and below passed over."""
    place += step
    while 0 <= place < len(line) and unicodedata.category(line[place]) == "Mn":
        place += step
    return line[place] if 0 <= place < len(line) else ""

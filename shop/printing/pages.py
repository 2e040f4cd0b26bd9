"""Pieces laid on pages: one under another, broken where they may be, a heading never alone at the foot of a page."""

from collections import deque
from dataclasses import dataclass

from reportlab.lib.units import mm

MARGIN, TOP, BOTTOM = 14 * mm, 27 * mm, 14 * mm


@dataclass(frozen=True)
class NewPage:
    """A mark among the pieces of a paper: what follows begins a new page, upright or lying."""

    is_lying: bool = False


def parts_of(pieces, size) -> list[tuple]:
    """Split pieces where a new page is called for; each part comes with its page size."""
    parts = [(size, [])]
    for piece in pieces:
        if isinstance(piece, NewPage):
            parts.append((size[::-1] if piece.is_lying else size, []))
        else:
            parts[-1][1].append(piece)
    return [part for part in parts if part[1]] or parts[:1]


class Pages:
    """Pages being filled: each its size and its pieces with how far down each begins and how tall it is."""

    def __init__(self, canvas, size):
        self.canvas, self.size = canvas, size
        self.width, self.height = size[0] - 2 * MARGIN, size[1] - TOP - BOTTOM
        self.pages, self.page, self.down = [], [], 0.0

    @property
    def room(self) -> float:
        return self.height - self.down

    def turn(self) -> None:
        self.pages.append((self.size, self.page))
        self.page, self.down = [], 0.0

    def tall(self, piece) -> float:
        return piece.wrapOn(self.canvas, self.width, self.room)[1]

    def place(self, piece, tall: float) -> None:
        self.page.append((piece, self.down, tall))
        self.down += tall + piece.getSpaceAfter()

    def must_turn(self, piece, tall: float, queue) -> bool:
        """Whether a heading would stand alone at the foot of this page."""
        if not (self.page and queue and getattr(piece, "keeps_next", False)):
            return False
        following = queue[0]
        whole = self.tall(following)
        return tall + piece.getSpaceAfter() + getattr(following, "least_height", whole) > self.room


def laid_pages(pieces: list, canvas, size) -> list[tuple]:
    """Place pieces one under another; return the pages."""
    pages, queue = Pages(canvas, size), deque(pieces)
    while queue:
        piece = queue.popleft()
        tall = pages.tall(piece)
        if pages.must_turn(piece, tall, queue):
            pages.turn()
        if tall <= pages.room + 0.01:
            pages.place(piece, tall)
        else:
            break_piece(piece, tall, pages, queue)
    pages.turn()
    return pages.pages


def break_piece(piece, tall: float, pages: Pages, queue) -> None:
    """Put back what fits and what is left, or the whole piece for the next page."""
    parts = piece.splitOn(pages.canvas, pages.width, pages.room)
    if len(parts) > 1:
        queue.extendleft(reversed(parts))
    elif pages.page:
        pages.turn()
        queue.appendleft(piece)
    else:
        raise ValueError(f"piece must fit a page of {pages.height:.0f} points, got {tall:.0f}")

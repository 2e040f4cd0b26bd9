"""Ruled blocks: a title, heads that come again on every page, rows of cells. All words go through here, as words: nothing in them is read as markup."""

from dataclasses import dataclass, field
from functools import lru_cache

from reportlab.platypus import Flowable

from shop.printing.letters import BOLD, LOST, PLAIN, printable, runs_of, width_of, wrapped

PAD_X, PAD_Y, LEADING, TITLE_SIZE = 3.0, 2.4, 1.24, 10.5
FAINT, STRONG = 0.4, 0.9
FITS_ANY_PAGE = 300.0  # a row no higher than this waits for the next page; a higher one is broken


@dataclass(frozen=True)
class Column:
    """Share of the width, how words stand in it, and its head."""

    share: float = 1.0
    head: str = ""
    align: str = "left"
    bold: bool = False


@dataclass(frozen=True)
class Strong:
    """Words of one cell in bold."""

    words: str


@dataclass(frozen=True)
class Laid:
    """A row laid out: for each cell its lines, font, and the height it takes."""

    cells: tuple[tuple[tuple[str, ...], str], ...]
    height: float


@dataclass
class Look:
    """How a block is drawn."""

    size: float = 8.5
    rules: str = "grid"  # grid, under or none
    row_height: float = 0.0
    shade_heads: bool = True
    rest: str = ""  # title of what follows on the next page

    @property
    def leading(self) -> float:
        return self.size * LEADING


@dataclass
class _Block:
    title: str
    columns: list[Column]
    heads: Laid | None = None
    rows: list[Laid] = field(default_factory=list)


def words_of(cell) -> str:
    if cell is None:
        return "–"
    return printable(cell.words if isinstance(cell, Strong) else cell if isinstance(cell, str) else str(cell))


class Ruled(Flowable):
    """Rows under heads. A row higher than the rest of the page is broken between its lines."""

    def __init__(self, columns, rows, title="", look=None, space=7.0):
        super().__init__()
        self.look = look or Look()
        self.columns, self.cells, self.title = list(columns), rows, printable(title or "")
        self.laid, self.heads, self.laid_width = None, None, None
        self.spaceBefore, self.spaceAfter = 0, space
        self.has_lost = False

    def _widths(self, width):
        whole = sum(column.share for column in self.columns)
        return [width * column.share / whole for column in self.columns]

    def _lay(self, width):
        if self.laid_width == width:
            return
        widths = self._widths(width)
        self.laid = [self._lay_row(row, widths) for row in self.cells]
        if any(column.head for column in self.columns):
            self.heads = self._lay_row([Strong(column.head) for column in self.columns], widths, least=0.0)
        self.laid_width = width

    def _lay_row(self, row, widths, least=None):
        cells, most = [], 0
        for cell, column, width in zip(row, self.columns, widths, strict=True):
            font = BOLD if column.bold or isinstance(cell, Strong) else PLAIN
            words = words_of(cell)
            self.has_lost = self.has_lost or LOST in words
            lines = wrapped(words, font, self.look.size, max(width - 2 * PAD_X, self.look.size))
            cells.append((lines, font))
            most = max(most, len(lines))
        least = self.look.row_height if least is None else least
        return Laid(tuple(cells), max(most * self.look.leading + 2 * PAD_Y, least))

    @property
    def _top(self):
        return (TITLE_SIZE * 1.5 if self.title else 0.0) + (self.heads.height if self.heads else 0.0)

    def wrap(self, width, height):
        self._lay(width)
        self.width = width
        self.height = self._top + sum(row.height for row in self.laid)
        return width, self.height

    @property
    def least_height(self):
        """What must fit at the foot of a page for this block to begin there."""
        first = self.laid[0].height if self.laid else 0.0
        return self._top + min(first, 4 * self.look.leading)

    def split(self, width, height):
        self._lay(width)
        room, count = height - self._top, 0
        while count < len(self.laid) and self.laid[count].height <= room:
            room -= self.laid[count].height
            count += 1
        if count == len(self.laid):
            return [self]
        first, rest = self.laid[:count], self.laid[count:]
        if not count and rest[0].height <= FITS_ANY_PAGE:
            return []
        if not count or (rest[0].height > 120 and room > 4 * self.look.leading):
            cut = self._cut(rest[0], room)
            if cut is None and not count:
                return []
            if cut is not None:
                first, rest = [*first, cut[0]], [cut[1], *rest[1:]]
        return [self._part(first, self.title), self._part(rest, self.look.rest or (f"{self.title}, continued" if self.title else ""))]

    def _cut(self, row, room):
        lines = int((room - 2 * PAD_Y) / self.look.leading)
        if lines < 1 or max(len(cell[0]) for cell in row.cells) <= lines:
            return None
        upper = tuple((cell[0][:lines], cell[1]) for cell in row.cells)
        lower = tuple((cell[0][lines:], cell[1]) for cell in row.cells)
        rest = max(len(cell[0]) for cell in lower)
        return Laid(upper, lines * self.look.leading + 2 * PAD_Y), Laid(lower, rest * self.look.leading + 2 * PAD_Y)

    def _part(self, laid, title):
        part = Ruled(self.columns, [], look=self.look, space=self.spaceAfter)
        part.title = title if title.endswith(", continued") or title == self.title else printable(title)
        part.title = part.title.replace(", continued, continued", ", continued")
        part.laid, part.heads, part.laid_width, part.has_lost = laid, self.heads, self.laid_width, self.has_lost
        return part

    def draw(self):
        canvas, top = self.canv, self.height
        canvas.setLineWidth(FAINT)
        if self.title:
            canvas.setFont(BOLD, TITLE_SIZE)
            top -= TITLE_SIZE * 1.5
            draw_words(canvas, 0, top + TITLE_SIZE * 0.45, self.title, BOLD, TITLE_SIZE)
        start = top
        if self.heads:
            top = self._draw_heads(top)
        for row in self.laid:
            self._draw_cells(row, top)
            top -= row.height
            if self.look.rules != "none":
                canvas.line(0, top, self.width, top)
        if self.look.rules == "grid":
            self._draw_grid(start, top)

    def _draw_heads(self, top):
        bottom = top - self.heads.height
        if self.look.shade_heads:
            self.canv.setFillGray(0.9)
            self.canv.rect(0, bottom, self.width, self.heads.height, stroke=0, fill=1)
            self.canv.setFillGray(0)
        self._draw_cells(self.heads, top)
        self.canv.setLineWidth(STRONG)
        self.canv.line(0, bottom, self.width, bottom)
        self.canv.setLineWidth(FAINT)
        return bottom

    def _draw_cells(self, row, top):
        left, size = 0.0, self.look.size
        for (lines, font), column, width in zip(row.cells, self.columns, self._widths(self.width), strict=True):
            y = top - PAD_Y - size * 0.95
            for line in lines:
                if line:
                    x = left + PAD_X
                    if column.align == "right":
                        x = left + width - PAD_X - line_width(line, font) * size
                    draw_words(self.canv, x, y, line, font, size)
                y -= self.look.leading
            left += width

    def _draw_grid(self, start, bottom):
        self.canv.line(0, start, self.width, start)
        left = 0.0
        for width in [0.0, *self._widths(self.width)]:
            left += width
            self.canv.line(left, start, left, bottom)


@lru_cache(maxsize=20_000)
def line_width(line: str, font: str) -> float:
    return sum(width_of(run, wanted) for run, wanted in runs_of(line, font))


def draw_words(canvas, x, y, words, font, size):
    """Draw one line of words as they are."""
    for run, wanted in runs_of(words, font):
        canvas.setFont(wanted, size)
        canvas.drawString(x, y, run)
        x += width_of(run, wanted) * size

"""A frame with two axes: figures to places on the picture, round ticks, labels with units."""

import math
from dataclasses import dataclass

from shop.printing.picture import Picture


def round_ticks(low: float, high: float, about: int = 5) -> list[float]:
    """Return about that many ticks at 1, 2 or 5 times a power of ten, inside the range."""
    if not high > low:
        return [low]
    raw = (high - low) / about
    power = 10 ** math.floor(math.log10(raw))
    step = next(factor * power for factor in (1, 2, 5, 10) if factor * power >= raw * 0.999)
    first = math.ceil(low / step - 1e-9)
    last = math.floor(high / step + 1e-9)
    return [round(k * step, 10) for k in range(first, last + 1)]


def tick_words(value: float) -> str:
    return f"{value:,.10g}".replace(",", "\u202f").replace("-", "\u2212")


@dataclass
class Axes:
    """Places on a picture for figures between the given ends."""

    picture: Picture
    x_ends: tuple[float, float]
    y_ends: tuple[float, float]
    left: float = 58
    right: float = 16
    top: float = 26
    bottom: float = 46

    def x(self, value: float) -> float:
        low, high = self.x_ends
        return self.left + (value - low) / ((high - low) or 1) * (self.picture.width - self.left - self.right)

    def y(self, value: float) -> float:
        low, high = self.y_ends
        return self.picture.height - self.bottom - (value - low) / ((high - low) or 1) * (self.picture.height - self.top - self.bottom)

    def points(self, xs, ys) -> list[tuple[float, float]]:
        return [(self.x(x), self.y(y)) for x, y in zip(xs, ys, strict=True)]

    def frame(self, x_words: str, y_words: str, about: int = 5) -> None:
        """Draw the axes with ticks, and what they measure."""
        picture = self.picture
        base, ceiling = self.y(self.y_ends[0]), self.y(self.y_ends[1])
        start, end = self.x(self.x_ends[0]), self.x(self.x_ends[1])
        for tick in round_ticks(*self.y_ends, about):
            picture.line([(start, self.y(tick)), (end, self.y(tick))], "grid")
            picture.text(start - 6, self.y(tick) + 4, tick_words(tick), "note", "end")
        for tick in round_ticks(*self.x_ends, about):
            picture.line([(self.x(tick), base), (self.x(tick), base + 5)], "axis")
            picture.text(self.x(tick), base + 18, tick_words(tick), "note", "middle")
        picture.line([(start, ceiling), (start, base), (end, base)], "axis")
        picture.text(start - 44, ceiling - 10, y_words, "note")
        picture.text(end, base + 36, x_words, "note", "end")

    def limit(self, value: float, words: str, role: str = "limit") -> None:
        """Draw a line across at a figure, with its words on the line at the left."""
        if self.y_ends[0] <= value <= self.y_ends[1]:
            self.picture.line([(self.x(self.x_ends[0]), self.y(value)), (self.x(self.x_ends[1]), self.y(value))], role)
            self.picture.text(self.x(self.x_ends[0]) + 6, self.y(value) - 5, words, "note")

    def event(self, value: float, words: str, row: int = 0) -> None:
        """Mark an event on the lower axis with a dashed upright and its words at the top."""
        if self.x_ends[0] <= value <= self.x_ends[1]:
            self.picture.line([(self.x(value), self.y(self.y_ends[0])), (self.x(value), self.y(self.y_ends[1]))], "event")
            self.picture.text(self.x(value) + 3, self.y(self.y_ends[1]) + 10 + 13 * row, words, "note")

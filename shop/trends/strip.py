"""Drive models side by side: one dot a unit, the same test under the same conditions."""

from shop.printing.axes import Axes, round_ticks, tick_words
from shop.printing.picture import Picture

ROW_HEIGHT = 54


def strip_picture(models: list[tuple[str, list]], worn: float, width: int = 760) -> Picture:
    """Draw one strip a model; a unit's dot stands at its latest ratio to a new drive."""
    picture = Picture(width, 70 + ROW_HEIGHT * len(models))
    ratios = [ratio for _, rows in models for _, ratio, _ in rows if ratio < 4]
    axes = Axes(picture, (min([0.9, *ratios]) * 0.98, max([1.2, worn, *ratios]) * 1.04), (0, len(models)), left=110)
    axes.picture.line([(axes.x(axes.x_ends[0]), axes.y(0)), (axes.x(axes.x_ends[1]), axes.y(0))], "axis")
    for tick in round_ticks(*axes.x_ends, 6):
        picture.line([(axes.x(tick), axes.y(0)), (axes.x(tick), axes.y(len(models)))], "grid")
        picture.text(axes.x(tick), axes.y(0) + 18, tick_words(tick), "note", "middle")
    picture.text(axes.x(axes.x_ends[1]), axes.y(0) + 36, "reading against a new drive, worse to the right", "note", "end")
    picture.line([(axes.x(worn), axes.y(0)), (axes.x(worn), axes.y(len(models)))], "limit")
    for place, (name, rows) in enumerate(models):
        middle = len(models) - place - 0.5
        picture.text(axes.left - 8, axes.y(middle) + 4, f"{name}, n = {len(rows)}", "label", "end")
        for k, (unit, ratio, on) in enumerate(rows):
            at = min(ratio, axes.x_ends[1])
            picture.dot(axes.x(at), axes.y(middle + 0.22 * ((k % 3) - 1)), "dot", f"{unit.tag}: {ratio:.2f} x new on {on:%-d %b %Y}", 4)
    return picture

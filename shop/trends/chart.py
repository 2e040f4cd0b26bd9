"""The picture of one quantity's life: readings with their uncertainty, healthy band, lines, limit, the fan of the forecast, events with words."""

import numpy as np

from calcs.thousands import grouped
from shop.printing.axes import Axes, round_ticks
from shop.printing.picture import Picture
from shop.trends.life_of_quantity import LifeOfQuantity, Stretch

SIZES = {"large": (760, 360), "small": (360, 300)}
FEW_TICKS = 3
OFF_THE_LINE = 0.5
HEALTHY = 0.05  # shop default, from memory


def wear_picture(life: LifeOfQuantity, size: str = "large") -> Picture:
    """Draw the ratio to a new drive (worse up) over component hours."""
    picture = Picture(*SIZES[size])
    marks = marks_of(life)
    axes = Axes(picture, (_first_hour(life), _last_hour(life)), _reach(life), top=44 if marks else 26, bottom=62)
    ticks = 6 if size == "large" else FEW_TICKS
    axes.frame("", "Reading against a new drive (1 = new, worse up)", ticks)
    _dates(axes, life, ticks)
    _healthy_band(axes)
    if life.limit_ratio:
        axes.limit(life.limit_ratio, f"limit {life.limit_ratio:.2f}")
    for row, (hours, words) in enumerate(marks):
        axes.event(hours, words, row % 2)
    for stretch in life.stretches:
        _line_of(axes, stretch)
    _fan(axes, life)
    _dots(axes, life)
    return picture


def marks_of(life: LifeOfQuantity) -> list[tuple[float, str]]:
    """Return what befell the unit, and where its record jumped, by hours."""
    marks = [(float(event.component_h), event.get_kind_display().lower()) for event in life.events]
    if life.state and life.state.has_jumped:
        marks.append((life.state.jump_to_h, f"{'jumped' if life.state.jump_ratio > 1 else 'fell'} {life.state.jump_on:%b %Y}"))
    return sorted(marks)


def _dates(axes: Axes, life: LifeOfQuantity, about: int) -> None:
    """Write under the hours about when they were, or will be, run; what lies ahead is marked."""
    base = axes.y(axes.y_ends[0])
    for tick in round_ticks(*axes.x_ends, about):
        day = life.day_at(tick)
        if day is not None:
            words = f"{'~ ' if tick > life.last_h else ''}{day:%b %Y}"
            axes.picture.text(axes.x(tick), base + 33, words, "note", "middle")
    words = "Component hours, and about when (~ ahead, at the pace so far)" if about > FEW_TICKS else "Component hours, and about when"
    axes.picture.text(axes.x(axes.x_ends[1]), base + 52, words, "note", "end")


def _first_hour(life: LifeOfQuantity) -> float:
    """Begin at zero, or near the first reading of a unit that was old when it was first read."""
    first = float(life.all_rows.component_h.min()) if len(life.all_rows) else 0.0
    return 0.0 if first < 0.4 * life.last_h else first - 0.15 * (life.last_h - first)


def _last_hour(life: LifeOfQuantity) -> float:
    """Room for what lies ahead, but never more than as much again as what is known."""
    ahead = life.state.high_h or life.state.likely_h if life.state else None
    known = max(life.last_h, 100.0)
    return known + min(ahead or known * 0.15, known)


def _reach(life: LifeOfQuantity) -> tuple[float, float]:
    ratios = life.all_rows.ratio.dropna()
    far = ratios[ratios < 4.0]
    top = max([1.15, (life.limit_ratio or 1.0) * 1.08, *(far * 1.06)])
    return min([0.9, *(far * 0.96)]), min(top, 4.2)


def _healthy_band(axes: Axes) -> None:
    low, high = (min(max(v, axes.y_ends[0]), axes.y_ends[1]) for v in (1 - HEALTHY, 1 + HEALTHY))
    left, right = axes.x_ends
    axes.picture.area(
        [(axes.x(left), axes.y(low)), (axes.x(right), axes.y(low)), (axes.x(right), axes.y(high)), (axes.x(left), axes.y(high))], "healthy"
    )
    axes.picture.line([(axes.x(left), axes.y(1.0)), (axes.x(right), axes.y(1.0))], "expected")


def _line_of(axes: Axes, stretch: Stretch) -> None:
    if stretch.line is None:
        return
    hours = np.linspace(stretch.rows.life_h.min(), stretch.rows.life_h.max(), 24)
    middle, low, high = (np.clip(v, *axes.y_ends) for v in stretch.line.predict(hours))
    at = hours + stretch.from_h
    axes.picture.area([*axes.points(at, low), *axes.points(at, high)[::-1]], "band")
    axes.picture.line(axes.points(at, middle), "line")


def _fan(axes: Axes, life: LifeOfQuantity) -> None:
    """Draw from where the drive stands to where its limit lies, early and late."""
    state = life.state
    if state is None or state.likely_h is None or not state.limit_ratio or state.state == "steady":
        return
    start = (state.last_component_h, min(max(state.level_ratio, axes.y_ends[0]), axes.y_ends[1]))
    end = axes.x_ends[1]
    limit = min(state.limit_ratio, axes.y_ends[1])
    early, late = (_towards(start, state.last_component_h, hours, limit, end) for hours in (state.low_h, state.high_h))
    corner = [(end, limit)] if late[0] >= end > early[0] and late[1] < limit else []
    axes.picture.area([(axes.x(x), axes.y(y)) for x, y in (start, early, *corner, late)], "fan")
    likely = _towards(start, state.last_component_h, state.likely_h, limit, end)
    axes.picture.line([(axes.x(start[0]), axes.y(start[1])), (axes.x(likely[0]), axes.y(likely[1]))], "expected")
    if early[1] >= limit:
        axes.picture.text(axes.x(min(late[0], end)), axes.y(limit) - 6, "limit reached here", "note", "end")


def _towards(start: tuple[float, float], from_h: float, hours: float | None, limit: float, end: float) -> tuple[float, float]:
    """Return where the straight way from the start to the limit in so many hours ends: at the limit, or at the edge of the picture."""
    if hours is None:
        return end, start[1]
    if from_h + hours <= end:
        return from_h + hours, limit
    return end, start[1] + (limit - start[1]) * (end - start[0]) / hours


def _dots(axes: Axes, life: LifeOfQuantity) -> None:
    for row in life.all_rows.itertuples():
        if not np.isfinite(row.ratio):
            continue
        y = min(max(row.ratio, axes.y_ends[0]), axes.y_ends[1])
        if row.weight > 0 and np.isfinite(row.cv):
            half = 2 * row.cv * row.ratio
            ends = [min(max(v, axes.y_ends[0]), axes.y_ends[1]) for v in (row.ratio - half, row.ratio + half)]
            axes.picture.line([(axes.x(row.component_h), axes.y(v)) for v in ends], "bar")
        axes.picture.dot(axes.x(row.component_h), axes.y(y), "dot" if row.weight >= OFF_THE_LINE else "dot open", dot_words(life, row))


def dot_words(life: LifeOfQuantity, row) -> str:
    """Return what a dot says: hours, date, figure, and whether it counts."""
    part = "" if row.weight >= OFF_THE_LINE else f", takes no part: {row.state}" if row.weight == 0 else ", off the line, counted in part"
    return f"{grouped(row.component_h, 0)} h, {row.tested_at:%-d %b %Y}: {row.value:.4g} {life.quantity.unit}, {row.ratio:.2f} x new{part}"

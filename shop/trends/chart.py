"""The picture of one quantity's life: readings with their uncertainty, healthy band, lines, limit, the fan of the forecast, events with words."""

import numpy as np

from shop.printing.axes import Axes
from shop.printing.picture import Picture
from shop.trends.life_of_quantity import LifeOfQuantity, Stretch

SIZES = {"large": (760, 360), "small": (360, 300)}
OFF_THE_LINE = 0.5
HEALTHY = 0.05  # shop default, from memory


def wear_picture(life: LifeOfQuantity, size: str = "large") -> Picture:
    """Draw the ratio to a new drive (worse up) over component hours."""
    picture = Picture(*SIZES[size])
    axes = Axes(picture, (0.0, _last_hour(life)), _reach(life), top=44 if life.events else 26)
    axes.frame("Component hours", "Reading against a new drive (1 = new, worse up)", 6 if size == "large" else 3)
    _healthy_band(axes)
    if life.limit_ratio:
        axes.limit(life.limit_ratio, f"limit {life.limit_ratio:.2f}")
    for row, event in enumerate(life.events):
        axes.event(float(event.component_h), event.get_kind_display().lower(), row % 2)
    for stretch in life.stretches:
        _line_of(axes, stretch)
    _fan(axes, life)
    _dots(axes, life)
    return picture


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
    early, late = (min(state.last_component_h + h, end) if h is not None else end for h in (state.low_h, state.high_h))
    limit = min(state.limit_ratio, axes.y_ends[1])
    axes.picture.area([(axes.x(start[0]), axes.y(start[1])), (axes.x(early), axes.y(limit)), (axes.x(late), axes.y(limit))], "fan")
    axes.picture.text(axes.x(min(early, end)), axes.y(limit) + 14, "limit reached here", "note", "middle" if early < end * 0.85 else "end")


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
    return f"{row.component_h:,.0f} h, {row.tested_at:%Y-%m-%d}: {row.value:.4g} {life.quantity.unit}, {row.ratio:.2f} x new{part}"

"""Wear metals of the machine that a drive is in: rates by sample, against the usual rate of its kin, as rows and pictures."""

from dataclasses import dataclass

import numpy as np
import pandas as pd

from calcs.thousands import grouped
from fleet.metal_series import METALS, metal_rates
from fleet.models import Machine, MetalState
from shop.printing.axes import Axes
from shop.printing.picture import Picture

NAMES = {"Fe": "Iron", "Cu": "Copper", "Sn": "Tin", "Pb": "Lead", "Al": "Aluminium", "Cr": "Chromium"}
SIZES = {"large": (760, 260), "small": (360, 260)}


@dataclass(frozen=True)
class MetalChart:
    """One metal of one machine: its state, its samples, and the picture of its rate."""

    metal: str
    state: MetalState | None
    rows: list
    large: Picture | None
    small: Picture | None
    story: str

    @property
    def name(self) -> str:
        return NAMES[self.metal]

    @property
    def is_open(self) -> bool:
        return self.state is not None and self.state.rises


def metal_charts(machine: Machine | None) -> list[MetalChart]:
    """Return the metals found in a machine's oil, those that rise first; a fixed number of queries."""
    if machine is None:
        return []
    found = metal_rates(machine.pk)
    states = {state.metal: state for state in MetalState.objects.filter(machine=machine).select_related("group")}
    charts = [_chart(metal, found[found.metal == metal], states.get(metal)) for metal in METALS if (found.metal == metal).any()]
    return sorted(charts, key=lambda chart: not chart.is_open)


def _chart(metal: str, rows: pd.DataFrame, state: MetalState | None) -> MetalChart:
    told = rows[rows.rate.notna()]
    pictures = [rate_picture(told, state, size) for size in SIZES] if len(told) > 1 else [None, None]
    return MetalChart(metal, state, _table(rows), *pictures, story_of_metal(metal, state))


def _table(rows: pd.DataFrame) -> list[dict]:
    """Return the samples as a table, latest first."""
    return [
        {
            "label": row.label, "on": row.drawn_at, "life_h": row.life_h, "typed": row.typed, "oil_h": None if pd.isna(row.fill_h) else row.fill_h,
            "rate": None if pd.isna(row.rate) else row.rate, "doubt": None if pd.isna(row.doubt) else 2 * row.doubt,
        }
        for row in rows.iloc[::-1].itertuples()
    ]  # fmt: skip


def story_of_metal(metal: str, state: MetalState | None) -> str:
    if state is None:
        return "Too few machines of this drive model were sampled to say what is usual."
    group = state.group
    told = f"{NAMES[metal]}: {state.level_ratio:.2f} x the usual rate of {group.usual_rate:.1f} ppm in 100 h, {state.samples} samples."
    if state.alarm:
        told += f" Against {group.machines} machines of its kin (limits {group.limit_form}): {state.alarm}."
    return told


def rate_picture(rows: pd.DataFrame, state: MetalState | None, size: str) -> Picture:
    """Draw the rate at which a metal is made over machine hours, with the usual rate and the limits of the fleet."""
    picture = Picture(*SIZES[size])
    hours, rate, half = rows.life_h.to_numpy(float), rows.rate.to_numpy(float), 2 * rows.doubt.to_numpy(float)
    lines = _lines(state)
    top = max([*rate, *(value for value, _, _ in lines)]) * 1.15
    span = max(np.ptp(hours), 50.0)
    axes = Axes(picture, (hours.min() - 0.08 * span, hours.max() + 0.08 * span), (min(0.0, rate.min()), max(top, 0.1)))
    axes.frame("Machine hours", "Rate, ppm in 100 h", 6 if size == "large" else 3)
    for value, words, role in lines:
        axes.limit(value, "", role)
        below = words != "critical"  # caution lies close under critical: one is lettered above its line, the other below
        picture.text(axes.x(axes.x_ends[1]) - 4, axes.y(value) + (12 if below else -4), words, "note", "end")
    for row, value, bar in zip(rows.itertuples(), rate, half, strict=True):
        ends = np.clip([value - bar, value + bar], *axes.y_ends)
        x = axes.x(row.life_h)
        picture.line([(x, axes.y(end)) for end in ends], "bar")
        says = f"{grouped(row.life_h, 0)} h, {row.drawn_at:%-d %b %Y}: {value:.2f} ppm in 100 h, ± {bar:.2f}; found {row.typed} ppm"
        picture.dot(x, axes.y(value), "dot", says.replace(",", "\u202f", 1) if row.life_h >= 1000 else says)
    return picture


def _lines(state: MetalState | None) -> list[tuple[float, str, str]]:
    if state is None:
        return []
    group = state.group
    named = ((group.usual_rate, "usual", "expected"), (group.caution_rate, "caution", "event"), (group.critical_rate, "critical", "limit"))
    return [line for line in named if line[0] is not None]

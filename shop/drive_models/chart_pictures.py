"""The two pictures of the chart: speed over control, and pull over speed with its limits."""

import numpy as np

from calcs.drive_chart import ChartSetting, DriveCurve
from shop.printing.axes import Axes
from shop.printing.picture import Picture

KILO = 1000.0
W, H = 640, 400
PULLS = (
    ("relief_pull_n", "limit", "relief"),
    ("power_pull_n", "expected", "engine power"),
    ("traction_pull_n", "event", "grip of the ground"),
)


def over_control(curve: DriveCurve, setting: ChartSetting) -> Picture:
    """Draw speed over the control position, with the two stages and the place of the slider."""
    picture = Picture(W, H)
    top = nice(float(np.nanmax(curve.speed_kmh)))
    axes = Axes(picture, (0, 2), (0, top), right=24)
    axes.frame("Control position", "Ground speed, km/h")
    axes.event(1.0, "pump at full stroke")
    picture.text(axes.x(0.5), axes.y(top) + 26, "pump is stroked", "note", "middle")
    picture.text(axes.x(1.5), axes.y(top) + 26, "motor is flattened", "note", "middle")
    picture.line(axes.points(curve.command, curve.speed_kmh), "line")
    for at, speed in zip(curve.command[::8], curve.speed_kmh[::8], strict=True):
        picture.dot(axes.x(at), axes.y(speed), "dot open", f"Control {at:g}: {speed:.1f} km/h", 3)
    here = float(np.interp(setting.command, curve.command, curve.speed_kmh))
    picture.dot(axes.x(setting.command), axes.y(here), "dot", f"Here: control {setting.command:g}, {here:.1f} km/h", 6)
    return picture


def over_speed(curve: DriveCurve, now: dict) -> Picture:
    """Draw the pull over speed with its limits and the corner."""
    picture = Picture(W, H)
    if not np.isfinite(curve.relief_pull_n).any():
        picture.text(W / 2, H / 2, "No pull: the motor's hydromechanical efficiency is not known", "note", "middle")
        return picture
    top, fastest = nice(float(np.nanmax(curve.relief_pull_n)) * 1.15 / KILO), nice(float(np.nanmax(curve.speed_kmh)))
    axes = Axes(picture, (0, fastest), (0, top), right=24)
    axes.frame("Ground speed, km/h", "Pull, kN")
    for row, (name, role, words) in enumerate(PULLS):
        pulls = getattr(curve, name) / KILO
        seen = np.isfinite(pulls) & (pulls <= top)
        if seen.sum() > 1:
            picture.line(axes.points(curve.speed_kmh[seen], pulls[seen]), role)
            at = np.flatnonzero(seen)[int(seen.sum() * (0.12, 0.45, 0.8)[row])]
            picture.text(axes.x(curve.speed_kmh[at]) + 6, axes.y(pulls[at]) - 6, words, "note")
    kept = np.isfinite(curve.pull_n)
    picture.line(axes.points(curve.speed_kmh[kept], curve.pull_n[kept] / KILO), "line")
    for at in range(8, len(curve.command), 8):
        says = f"{curve.speed_kmh[at]:.1f} km/h: {curve.pull_n[at] / KILO:.1f} kN"
        picture.dot(axes.x(curve.speed_kmh[at]), axes.y(curve.pull_n[at] / KILO), "dot open", says, 3)
    mark_corner(axes, curve, fastest)
    picture.dot(
        axes.x(now["speed_kmh"]),
        axes.y(now["pull_n"] / KILO),
        "dot",
        f"Here: {now['speed_kmh']:.1f} km/h, {now['pull_n'] / KILO:.1f} kN",
        6,
    )
    return picture


def mark_corner(axes: Axes, curve: DriveCurve, fastest: float) -> None:
    corner = curve.corner_speed_kmh
    if np.isfinite(corner) and corner < fastest:
        axes.event(corner, f"corner {corner:.1f} km/h")


def nice(value: float) -> float:
    """Return a round figure at or above a value for the end of an axis."""
    if not value > 0:
        return 1.0
    power = 10 ** np.floor(np.log10(value))
    return float(next(step * power for step in (1, 1.5, 2, 2.5, 3, 4, 5, 6, 8, 10) if step * power >= value * 0.9999))

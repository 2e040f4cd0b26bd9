"""The two pictures of the chart: speed over control, and pull over speed with its limits, in the reader's own units."""

from dataclasses import dataclass

import numpy as np

from calcs.drive_chart import DriveCurve
from calcs.thousands import grouped
from calcs.units import from_house
from shop.measures import spoken
from shop.printing.axes import Axes
from shop.printing.picture import Picture

SIZES = {"large": (640, 400), "small": (360, 300)}
LIMITS = (
    ("relief", "limit", "relief", 0.1, -6),
    ("power", "expected", "engine power", 0.8, -6),
    ("grip", "event", "grip of the ground", 0.35, 14),
)
NO_PULL = "No pull: the motor's hydromechanical efficiency is not known"


@dataclass(frozen=True)
class Shown:
    """A curve in the units it is shown in; what is not known is NaN."""

    command: np.ndarray
    speed: np.ndarray
    relief: np.ndarray
    power: np.ndarray
    grip: np.ndarray
    pull: np.ndarray
    corner: float
    speed_unit: str
    force_unit: str

    @property
    def fastest(self) -> float:
        return nice(float(np.nanmax(self.speed)))


def shown_curve(curve: DriveCurve, units: dict[str, str]) -> Shown:
    """Return a curve in the reader's own units; newtons are told by the thousand."""
    speed_unit, force_unit = units["ground speed"], units["force"]

    def force(newton):
        return newton / 1000.0 if force_unit == "N" else from_house(newton, force_unit, "force")

    forces = (curve.relief_pull_n, curve.power_pull_n, curve.traction_pull_n, curve.pull_n)
    speed, corner = (from_house(value, speed_unit, "ground speed") for value in (curve.speed_kmh, curve.corner_speed_kmh))
    return Shown(
        curve.command, speed, *(force(row) for row in forces), corner, spoken(speed_unit), "kN" if force_unit == "N" else force_unit
    )


def over_control(curve: Shown, command: float, size: str = "large") -> Picture:
    """Draw speed over the control position, with the two stages and the place of the slider."""
    picture = Picture(*SIZES[size])
    end = float(curve.command[-1])
    axes = Axes(picture, (0, end), (0, curve.fastest), right=24)
    axes.frame("Control position", f"Ground speed, {curve.speed_unit}")
    if end > 1:
        axes.event(1.0, "pump full" if size == "small" else "pump at full stroke")
    for at, words in ((0.5, "pump is stroked"), (1.5, "motor is flattened"))[: 2 if end > 1 else 1]:
        picture.text(axes.x(at), axes.y(curve.fastest) + 26, words, "note", "middle")
    picture.line(axes.points(curve.command, curve.speed), "line")
    for at, speed in zip(curve.command[::8], curve.speed[::8], strict=True):
        picture.dot(axes.x(at), axes.y(speed), "dot open", f"Control {at:g}: {speed:.1f} {curve.speed_unit}", 3)
    here = float(np.interp(command, curve.command, curve.speed))
    picture.dot(axes.x(command), axes.y(here), "dot", f"Here: control {command:g}, {here:.1f} {curve.speed_unit}", 6)
    return picture


def over_speed(curve: Shown, command: float, size: str = "large") -> Picture:
    """Draw the pull over speed with its limits and the corner."""
    picture = Picture(*SIZES[size])
    if not np.isfinite(curve.relief).any():
        picture.text(picture.width / 2, picture.height / 2, NO_PULL, "note", "middle")
        return picture
    axes = Axes(picture, (0, curve.fastest), (0, nice(float(np.nanmax(curve.relief)) * 1.15)), right=24)
    axes.frame(f"Ground speed, {curve.speed_unit}", f"Pull, {curve.force_unit}")
    for limit in LIMITS:
        draw_limit(axes, curve, *limit)
    if np.isfinite(curve.corner):
        axes.event(curve.corner, f"corner {curve.corner:.1f} {curve.speed_unit}")
    kept = np.isfinite(curve.pull)
    picture.line(axes.points(curve.speed[kept], curve.pull[kept]), "line")
    for at in range(8, len(curve.command), 8):
        put_dot(axes, curve, curve.command[at], "dot open", "", 3)
    put_dot(axes, curve, command, "dot", "Here: ", 6)
    return picture


def draw_limit(axes: Axes, curve: Shown, name: str, role: str, words: str, along: float, below: float) -> None:
    """Draw one limit of the pull as far as it is on the sheet, with its words at the line."""
    pulls = getattr(curve, name)
    seen = np.flatnonzero(np.isfinite(pulls) & (pulls <= axes.y_ends[1]))
    if len(seen) > 1:
        axes.picture.line(axes.points(curve.speed[seen], pulls[seen]), role)
        at = seen[int(len(seen) * along)]
        axes.picture.text(axes.x(curve.speed[at]) + 6, axes.y(pulls[at]) + below, words, "note")


def put_dot(axes: Axes, curve: Shown, command: float, role: str, first: str, radius: float) -> None:
    """Mark one control position on the pull, with its figures."""
    speed, pull = (float(np.interp(command, curve.command, row)) for row in (curve.speed, curve.pull))
    says = f"{first}{speed:.1f} {curve.speed_unit}, {grouped(pull, 1, fixed=True)} {curve.force_unit}"
    axes.picture.dot(axes.x(speed), axes.y(pull), role, says, radius)


def nice(value: float) -> float:
    """Return a round figure at or above a value for the end of an axis."""
    if not value > 0:
        return 1.0
    power = 10 ** np.floor(np.log10(value))
    return float(next(step * power for step in (1, 1.5, 2, 2.5, 3, 4, 5, 6, 8, 10) if step * power >= value * 0.9999))

"""The chart of a drive model: two pictures, a table, and in words what changes and why."""

from dataclasses import dataclass, replace

import numpy as np

from calcs.drive_chart import ChartSetting, DriveCurve, chart_readings, drive_curve, one_by_one, what_moves
from calcs.drive_spec import DriveSpec, Oil
from calcs.healthy import NotComparable
from fleet.judging_facts import spec_of
from fleet.models import DriveModel, FluidProduct, Machine
from shop.measures import HOUSE_UNITS, shown_with_unit
from shop.printing.axes import Axes
from shop.printing.picture import Picture

COMMANDS = np.round(np.linspace(0, 2, 81), 3)
TABLE_ROWS = (0.25, 0.5, 0.75, 1.0, 1.25, 1.5, 1.75, 2.0)
GRAVITY = 9.80665
DRIVEN_SHARE = 0.65  # weight on the driven wheels; common practice, no source
KILO = 1000.0


@dataclass(frozen=True)
class Chart:
    """What the page and the paper show; `refusal` says why there is no chart."""

    setting: ChartSetting
    curve: DriveCurve | None
    over_control: Picture | None
    over_speed: Picture | None
    rows: tuple
    sentences: tuple[str, ...]
    now: dict
    refusal: str = ""


def base_setting(model: DriveModel, machine: Machine) -> ChartSetting:
    """Return where the sliders stand before anybody moves them: full control, half the relief setting, 60 °C, as new."""
    return ChartSetting(
        load_bar=round((model.relief_forward_bar or 400) / 2, -1),
        engine_speed_rpm=machine.engine_rated_speed_rpm,
        engine_power_kw=machine.engine_power_kw,
        driven_load_n=machine.mass_kg * GRAVITY * DRIVEN_SHARE if machine.mass_kg else None,
        pump_hydromechanical_efficiency=model.pump_hydromechanical_efficiency,
        motor_hydromechanical_efficiency=model.motor_hydromechanical_efficiency,
        loops=2 if model.is_dual else 1,
    )


def chart_of(model: DriveModel, machine: Machine, product: FluidProduct, given: dict, units=None) -> Chart:
    """Return the chart with the sliders as given, told against the setting nobody moved."""
    units = units or HOUSE_UNITS
    base = base_setting(model, machine)
    setting = replace(base, **given)
    spec, oil = spec_of(model, machine), Oil(str(product), product.nu40_mm2s, product.nu100_mm2s, product.density15_kgm3)
    try:
        curve = drive_curve(spec, oil, setting, COMMANDS)
    except (NotComparable, ValueError) as refused:
        return Chart(setting, None, None, None, (), (), {}, f"There is no chart: {refused}.")
    told = tuple(told_step(spec, oil, *step, units) for step in one_by_one(base, setting))
    now = point_of(spec, oil, setting)
    return Chart(
        setting,
        curve,
        over_control(curve, setting, units),
        over_speed(curve, now, units),
        rows_of(curve),
        told + limits_told(curve, setting, units),
        now,
    )


def point_of(spec: DriveSpec, oil: Oil, setting: ChartSetting) -> dict:
    """Return speed, pull and leakage at the control position of the setting."""
    here = drive_curve(spec, oil, setting, np.array([0.0, setting.command]))
    names = ("speed_kmh", "relief_pull_n", "power_pull_n", "traction_pull_n", "pull_n", "load_pull_n")
    return {name: float(getattr(here, name)[1]) for name in names} | {"leakage_lpm": here.leakage_lpm}


# words

CHANGES = {
    "oil_temp_c": ("Oil", "temperature"),
    "wear_times": ("Leakage by wear", None),
    "load_bar": ("Load", "pressure"),
    "command": ("Control", None),
    "traction_coefficient": ("Grip of the ground", None),
}
SHORT = {
    "pump_case_flow": "pump case drain", "motor_case_flow": "motor case drain", "charge_neutral": "charge in neutral", "charge_stroked": "charge stroked",
    "main_relief": "main relief", "output_speed": "motor speed without load",
}  # fmt: skip


def told_step(spec, oil, name: str, before: ChartSetting, after: ChartSetting, units) -> str:
    """Return in words what one slider changes, why, and which reading would show it."""
    was, now = point_of(spec, oil, before), point_of(spec, oil, after)
    label, kind = CHANGES[name]
    old, new = getattr(before, name), getattr(after, name)
    moved = f"{label} {_figure(old, kind, units)} → {_figure(new, kind, units)}: "
    if name == "command":
        return moved + _command_words(was, now, new, units)
    if name == "traction_coefficient":
        return moved + "the pull at which the wheels spin follows in proportion; no gauge on the drive moves."
    leak = f"leakage {_figure(was['leakage_lpm'], 'flow', units)} → {_figure(now['leakage_lpm'], 'flow', units)}"
    moves = what_moves(chart_readings(spec, oil, before), chart_readings(spec, oil, after))
    return f"{moved}{leak}, so speed under load {_share_words(was['speed_kmh'], now['speed_kmh'])}; {moves_words(moves)}."


def _command_words(was, now, command: float, units) -> str:
    speed = f"speed {_figure(was['speed_kmh'], 'ground speed', units)} → {_figure(now['speed_kmh'], 'ground speed', units)}"
    stage = (
        "the pump alone is stroked, the motor stands at its largest"
        if command <= 1
        else "the pump is at full stroke, the motor is flattened"
    )
    if np.isnan(was["relief_pull_n"]):
        return f"{speed}; {stage}."
    return f"{speed}, pull at relief {was['relief_pull_n'] / KILO:.1f} → {now['relief_pull_n'] / KILO:.1f} kN; {stage}."


def _share_words(before: float, after: float) -> str:
    if before <= 0:
        return "stays at nothing: all flow leaks"
    if after <= 0:
        return "falls to nothing: all flow leaks"
    share = after / before - 1
    return "stays" if abs(share) < 0.0005 else f"{'rises' if share > 0 else 'falls'} {abs(share):.1%}".replace("%", " %")


def moves_words(moves: list[tuple[str, float]]) -> str:
    """Return which reading moves most and which next."""
    if not moves:
        return "no reading on the drive moves enough for a gauge"
    first = f"{SHORT[moves[0][0]]} is the reading that moves most ({_signed(moves[0][1])})"
    return first + (f", {SHORT[moves[1][0]]} next ({_signed(moves[1][1])})" if len(moves) > 1 else "")


def _signed(share: float) -> str:
    return (
        f"{share:+.0%}".replace("-", "\u2212").replace("%", " %")
        if abs(share) >= 0.01
        else f"{share:+.1%}".replace("-", "\u2212").replace("%", " %")
    )


def _figure(value, kind, units) -> str:
    if kind:
        return shown_with_unit(value, kind, units)
    return f"{value:g}"


def limits_told(curve: DriveCurve, setting: ChartSetting, units) -> tuple[str, ...]:
    """Return what bounds the pull, and what is not known."""
    lines = []
    if np.isfinite(curve.corner_speed_kmh):
        lines.append(
            f"Up to {_figure(curve.corner_speed_kmh, 'ground speed', units)} the relief bounds the pull, above it the engine's power: that is the corner."
        )
    if setting.engine_power_kw is None:
        lines.append("The engine power of this machine is not known: no power limit is drawn.")
    if setting.driven_load_n is None:
        lines.append("The mass of this machine is not known: no grip limit is drawn.")
    if setting.motor_hydromechanical_efficiency is None:
        lines.append("The hydromechanical efficiency of the motor is not known: no pull is drawn.")
    if setting.loops > 1:
        lines.append("Pull is that of both loops together.")
    return tuple(lines)


# pictures

W, H = 640, 400
PULLS = (
    ("relief_pull_n", "limit", "relief"),
    ("power_pull_n", "expected", "engine power"),
    ("traction_pull_n", "event", "grip of the ground"),
)


def over_control(curve: DriveCurve, setting: ChartSetting, units) -> Picture:
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


def over_speed(curve: DriveCurve, now: dict, units) -> Picture:
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


def rows_of(curve: DriveCurve) -> tuple:
    """Return the rows of the table under the pictures."""
    rows = []
    for command in TABLE_ROWS:
        at = int(np.argmin(np.abs(curve.command - command)))
        limits = {words: float(getattr(curve, name)[at]) for name, _, words in PULLS if np.isfinite(getattr(curve, name)[at])}
        pull = float(curve.pull_n[at])
        rows.append(
            {
                "command": command,
                "speed_kmh": float(curve.speed_kmh[at]),
                "relief_kn": _kilo(curve.relief_pull_n[at]),
                "power_kn": _kilo(curve.power_pull_n[at]),
                "traction_kn": _kilo(curve.traction_pull_n[at]),
                "pull_kn": _kilo(pull),
                "bound_by": min(limits, key=limits.get) if limits else "",
            }
        )
    return tuple(rows)


def _kilo(newton) -> float | None:
    return float(newton) / KILO if np.isfinite(newton) else None

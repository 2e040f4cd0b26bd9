"""The chart in words: what a moved slider changes, why, and which reading would show it."""

import numpy as np

from calcs.drive_chart import ChartSetting, DriveCurve, chart_readings, drive_curve, what_moves
from calcs.drive_spec import DriveSpec, Oil
from shop.measures import shown_with_unit

CHANGES = {
    "oil_temp_c": ("Oil", "temperature"),
    "wear_times": ("Leakage by wear", None),
    "load_bar": ("Load", "pressure"),
    "command": ("Control", None),
    "traction_coefficient": ("Grip of the ground", None),
}
DRAINS = {"pump_case_flow": "pump", "motor_case_flow": "motor"}
SHORT = {
    "charge_neutral": "charge in neutral",
    "charge_stroked": "charge stroked",
    "main_relief": "main relief",
    "output_speed": "motor speed without load",
}


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
    pull = f"pull at relief {_pull(was['relief_pull_n'], units)} → {_pull(now['relief_pull_n'], units)}"
    return f"{speed}, {pull}; {stage}."


def _pull(newton: float, units) -> str:
    return f"{newton / 1000:.1f} kN" if units["force"] == "N" else shown_with_unit(newton, "force", units)


def _share_words(before: float, after: float) -> str:
    if before <= 0:
        return "stays at nothing: all flow leaks"
    if after <= 0:
        return "falls to nothing: all flow leaks"
    share = after / before - 1
    return "stays" if abs(share) < 0.0005 else f"{'rises' if share > 0 else 'falls'} {abs(share):.1%}".replace("%", "\u00a0%")


def moves_words(moves: list[tuple[str, float]]) -> str:
    """Return which reading moves most and which next; the case drains count as one place to look."""
    drains = ", ".join(f"{DRAINS[code]} {_signed(share)}" for code, share in moves if code in DRAINS)
    others = [f"{SHORT[code]} ({_signed(share)})" for code, share in moves if code in SHORT]
    if not moves:
        return "no reading on the drive moves enough for a gauge"
    if moves[0][0] in DRAINS:
        return f"case drain is the reading that moves most ({drains})" + (f", {others[0].replace(' (', ' next (')}" if others else "")
    return f"{others[0].replace(' (', ' is the reading that moves most (')}" + (
        f", {others[1].replace(' (', ' next (')}" if others[1:] else ""
    )


def _signed(share: float) -> str:
    return (
        f"{share:+.0%}".replace("-", "\u2212").replace("%", "\u00a0%")
        if abs(share) >= 0.01
        else f"{share:+.1%}".replace("-", "\u2212").replace("%", "\u00a0%")
    )


def _figure(value, kind, units) -> str:
    if kind:
        return shown_with_unit(value, kind, units, 0 if kind == "pressure" else None)
    return f"{value:g}"


def limits_told(curve: DriveCurve, setting: ChartSetting, units) -> tuple[str, ...]:
    """Return what bounds the pull, and what is not known."""
    lines = []
    if np.isfinite(curve.corner_speed_kmh):
        lines.append(
            f"Up to {_figure(curve.corner_speed_kmh, 'ground speed', units)} the relief opens first, "
            "above it the engine lugs first: that is the corner."
        )
    elif np.isfinite(curve.power_pull_n).any():
        lines.append("The relief opens before the engine lugs at every speed: there is power to spare, so the curve has no corner.")
    if np.any(curve.traction_pull_n < curve.relief_pull_n):
        lines.append(f"On this ground the wheels spin at {_pull(curve.traction_pull_n[-1], units)}, before the relief opens at low speed.")
    return (*lines, *_not_told(curve, setting))


def _not_told(curve: DriveCurve, setting: ChartSetting) -> list[str]:
    """Return what is left out of the chart, and how it is to be read."""
    lines = []
    if setting.engine_power_kw is None:
        lines.append("The engine power of this machine is not known: no power limit is drawn.")
    if setting.driven_load_n is None:
        lines.append("The mass of this machine is not known: no grip limit is drawn.")
    if setting.motor_hydromechanical_efficiency is None:
        lines.append("The hydromechanical efficiency of the motor is not known: no pull is drawn.")
    if curve.command[-1] <= 1:
        lines.append("The motor is fixed: control runs from neutral to full pump stroke.")
    if setting.loops > 1:
        lines.append("Pull is that of both loops together.")
    return lines


def point_of(spec: DriveSpec, oil: Oil, setting: ChartSetting) -> dict:
    """Return speed, pull and leakage at the control position of the setting."""
    here = drive_curve(spec, oil, setting, np.array([0.0, setting.command]))
    names = ("speed_kmh", "relief_pull_n", "power_pull_n", "traction_pull_n", "pull_n", "load_pull_n")
    return {name: float(getattr(here, name)[1]) for name in names} | {"leakage_lpm": here.leakage_lpm}

"""The chart of a drive model: two pictures, a table, and in words what changes and why."""

from dataclasses import dataclass, field, replace

import numpy as np

from calcs.drive_chart import ChartSetting, drive_curve, one_by_one
from calcs.drive_spec import Oil
from calcs.healthy import NotComparable
from fleet.judging_facts import spec_of
from fleet.models import DriveModel, FluidProduct, Machine
from shop.drive_models.chart_pictures import LIMITS, Shown, over_control, over_speed, shown_curve
from shop.drive_models.chart_words import limits_told, point_of, told_step
from shop.measures import HOUSE_UNITS
from shop.printing.picture import Picture

TABLE_ROWS = (0.25, 0.5, 0.75, 1.0, 1.25, 1.5, 1.75, 2.0)
GRAVITY = 9.80665
DRIVEN_SHARE = 0.65  # weight on the driven wheels; common practice, no source


@dataclass(frozen=True)
class Chart:
    """What the page and the paper show; `refusal` says why there is no chart."""

    setting: ChartSetting
    curve: Shown | None = None
    over_control: Picture | None = None
    over_speed: Picture | None = None
    small_over_control: Picture | None = None
    small_over_speed: Picture | None = None
    rows: tuple = ()
    sentences: tuple[str, ...] = ()
    now: dict = field(default_factory=dict)
    refusal: str = ""


def full_command(model: DriveModel) -> float:
    """Return the end of the control: with a fixed motor there is nothing past full pump stroke."""
    return 2.0 if model.motor_displacement_min_cc < model.motor_displacement_max_cc else 1.0


def base_setting(model: DriveModel, machine: Machine) -> ChartSetting:
    """Return where the sliders stand before anybody moves them: full control, half the relief setting, 60 °C, as new."""
    return ChartSetting(
        command=full_command(model),
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
        curve = drive_curve(spec, oil, setting, np.round(np.linspace(0, base.command, 81), 4))
    except (NotComparable, ValueError) as refused:
        return Chart(setting, refusal=f"There is no chart: {refused}.")
    told = tuple(told_step(spec, oil, *step, units) for step in one_by_one(base, setting))
    shown = shown_curve(curve, units)
    return Chart(
        setting,
        shown,
        over_control(shown, setting.command),
        over_speed(shown, setting.command),
        over_control(shown, setting.command, "small"),
        over_speed(shown, setting.command, "small"),
        rows_of(shown),
        told + limits_told(curve, setting, units),
        point_of(spec, oil, setting),
    )


def rows_of(curve: Shown) -> tuple:
    """Return the rows of the table under the pictures; a limit that is not known is left out."""
    rows = []
    for command in (row for row in TABLE_ROWS if row <= curve.command[-1]):
        at = int(np.argmin(np.abs(curve.command - command)))
        limits = {words: float(getattr(curve, name)[at]) for name, _, words, _, _ in LIMITS if np.isfinite(getattr(curve, name)[at])}
        known = {name: _known(getattr(curve, name)[at]) for name in ("relief", "power", "grip", "pull")}
        rows.append(
            {"command": command, "speed": float(curve.speed[at]), "bound_by": min(limits, key=limits.get) if limits else "", **known}
        )
    return tuple(rows)


def _known(figure) -> float | None:
    return float(figure) if np.isfinite(figure) else None
